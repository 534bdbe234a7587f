"""What a damper does within one step to the speed between body and wheel, as a table: stable however steep it is."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from dampkit.needs.wheel_curve import TOP_M_S, WheelCurves
from dampkit.quantities import Array, Index

EASY = 0.4  # of a step over the fastest rate, in which the table is worked out; own choice


def held_slope(curves: WheelCurves) -> Array:
    """Damping coefficient of each case that goes into the exact part of a step: rise over the middle 1 m/s, (cases,)."""
    points = curves.force_n.shape[1]
    middle, reach = points // 2, max(1, round(0.5 / TOP_M_S * (points // 2)))
    rise = curves.force_n[:, middle + reach] - curves.force_n[:, middle - reach]
    return np.asarray(rise / (2 * reach * curves.step_m_s))


def speed_change(curves: WheelCurves, per_mass: Array, held: Array, step_s: float) -> Array:
    """Change of the speed between the masses in one step under the damper alone, on the curves' own speeds.

    Solves du/dt = -(F(u) - c u) / m for every entry, shape (cases, K); `per_mass` is 1/m of each case, the sum of
    the reciprocals of both masses, `held` the c that is dealt with elsewhere. Fourth-order Runge-Kutta in small parts.
    """
    grid = curves.grid_m_s()
    force = WheelCurves(curves.force_n - held[:, None] * grid)
    steepest = float(np.abs(np.diff(force.force_n, axis=1)).max() / curves.step_m_s * per_mass.max())
    parts = max(1, math.ceil(step_s * steepest / EASY))
    h, u = step_s / parts, np.tile(grid, (curves.cases, 1))
    for _ in range(parts):
        k1 = force.over(u) * -per_mass[:, None]
        k2 = force.over(u + 0.5 * h * k1) * -per_mass[:, None]
        k3 = force.over(u + 0.5 * h * k2) * -per_mass[:, None]
        k4 = force.over(u + h * k3) * -per_mass[:, None]
        u = u + h / 6 * (k1 + 2 * (k2 + k3) + k4)
    return u - grid


def looker(table: Array, case: Index) -> Callable[[Array, Array], None]:
    """A function that writes the value of a table over speed for each column, of its own case and at its own speed.

    `case` and both arrays of the function have shape (columns,), the table (cases, K) on equal steps from -TOP_M_S to
    TOP_M_S; straight between the points and beyond the ends. Made once and asked often: every cell is kept as a line.
    """
    points = table.shape[1]
    step = 2 * TOP_M_S / (points - 1)
    slopes = np.diff(table, axis=1) / step
    levels = (table[:, :-1] - slopes * np.linspace(-TOP_M_S, TOP_M_S, points)[:-1]).ravel()
    slopes = slopes.ravel()
    first = case * (points - 1)
    last, middle = first + points - 2, first + 0.5 * (points - 1)
    ends = first.astype(np.float64), last.astype(np.float64)
    multiply, add = np.multiply, np.add
    most, least = np.fmax, np.fmin  # of a case that runs away to no number, the first cell
    per_step, place, cell = np.full(case.size, 1 / step), np.empty(case.size), np.empty(case.size, dtype=np.intp)

    def look(speed_m_s: Array, out: Array) -> None:
        multiply(speed_m_s, per_step, place)
        add(place, middle, place)
        most(place, ends[0], out=place)
        least(place, ends[1], out=place)
        cell[:] = place
        slopes.take(cell, None, out, "clip")  # in range already; "clip" spares a copy
        multiply(out, speed_m_s, out)
        levels.take(cell, None, place, "clip")
        add(out, place, out)

    return look
