"""A valve's passages in thick and thin oil: how long they are, as far as the loops tell, and its force at a temperature.

An orifice passes by the root of density alone; a passage longer than wide adds laminar friction, which goes with viscosity.
"""

from __future__ import annotations

import numpy as np

from dampkit.damper.areas import DECLARED_AT_C, DENSITY_KG_M3, EXPANSION_PER_K
from dampkit.damper.oil import UnitOil, viscosity_mm2_s
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Law, Unit
from dampkit.damper.valve import Valve, rising_root
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction

PASSAGE_M = 1.5e-3  # width of a valve's passage; common practice, no source
LENGTHS = (0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)  # over their width, each as likely beforehand; own choice
ENTRY = 2.28  # of dynamic pressure, lost by a developing flow [merritt1967]
INDEPENDENT = 20.0  # so many of a direction's points tell for themselves: they follow one another; own choice
LEAST_POINTS = 8
LONGER = 3.0  # twice the logarithm by which a length must be likelier than none: 92 % of a normal error; own choice
MISREAD = 0.01  # of a force, besides a newton: what no valve's law follows; own choice
FOLLOWED = 0.0035  # of a force: what any length leaves over is no reason for another; own choice
ROOTS = np.geomspace(1e-2, 1e3, 400)  # of forces over a valve [sqrt(N)]
LIFTED = 0.05  # of the flow that may go through the lift of a point that still tells of the bleed; own choice


@frozen
class Flow:
    """A valve with another leak and bleed, in passages `length` widths long. Bleed as where friction in them is nothing.

    Of several at once, shape (H, 1) each, the forces are of shape (H, N).
    """

    valve: Valve
    leak: Array | float
    bleed: Array | float
    length: Array | float
    oil: UnitOil
    area_m2: float
    bent: bool = False  # what the law has as a loss in series is the lift's own bend

    def force_n(self, velocity_m_s: Array, from_c: Array, to_c: Array) -> Array:
        """Force at speeds with the oil at a temperature, of a valve that was seen at another; shapes (N,), or what goes with it."""
        own = (np.shape(x) for x in (self.leak, self.bleed, self.length))
        shape = np.broadcast_shapes(velocity_m_s.shape, to_c.shape, *own)
        near = self.valve.root(velocity_m_s)
        high = np.broadcast_to(np.sqrt(50.0 * near**2 + 1.0), shape)
        swollen = _swollen(from_c, to_c)
        seen = swollen, viscosity_mm2_s(self.oil.line, from_c), viscosity_mm2_s(self.oil.line, to_c)
        root = rising_root(lambda u: self._speed_and_slope(u, *seen), velocity_m_s, high, np.broadcast_to(near, shape))
        return np.asarray(root**2 if self.bent else root**2 + self.valve.loss * velocity_m_s**2 / swollen)

    def _speed_and_slope(
        self, u: Array, swollen: Array, before_mm2_s: Array, after_mm2_s: Array
    ) -> tuple[Array, Array]:
        """Speed at the root of a force, and its slope, of oil that has swollen and thinned."""
        lift, by_lift = (bent_lift if self.bent else lifted)(self.valve, u)
        was, now = (turbulent_share(u * u / self.area_m2, nu, self.length) for nu in (before_mm2_s, after_mm2_s))
        thins, more = ((1 - share**2) / (1 + share**2) for share in (was, now))  # d ln share / d ln u
        leak = self.leak * before_mm2_s * swollen / after_mm2_s
        holes = (self.bleed * u + lift / was) * now
        by_holes = (self.bleed * (1 + more) + (by_lift + lift * (more - thins) / np.maximum(u, 1e-300)) / was) * now
        return leak * u * u + swollen**0.5 * holes, 2 * leak * u + swollen**0.5 * by_holes


def _swollen(from_c: Array, to_c: Array) -> Array:
    """Volume of the oil over what it was."""
    return np.asarray((1 + EXPANSION_PER_K * (to_c - DECLARED_AT_C)) / (1 + EXPANSION_PER_K * (from_c - DECLARED_AT_C)))


def lifted(valve: Valve, u: Array) -> tuple[Array, Array]:
    """Flow through what lifts, as speed [m/s], at the root of a force over the valve, and its slope; same shape."""
    speed, slope = valve.speed_and_slope(u)
    return speed - (valve.leak * u + valve.bleed) * u, slope - 2 * valve.leak * u - valve.bleed


def bent_lift(valve: Valve, u: Array) -> tuple[Array, Array]:
    """The same against the root of the whole force, were nothing in series with the valve."""
    with np.errstate(over="ignore", invalid="ignore"):  # a steep lift runs out of numbers far above any force here
        speed, slope = valve.speed_and_slope(ROOTS)
        lift, by_lift = lifted(valve, ROOTS)
        whole = np.sqrt(ROOTS**2 + valve.loss * speed**2)
        by_whole = by_lift * whole / (ROOTS + valve.loss * speed * slope)
    told = np.isfinite(whole) & np.isfinite(by_whole)
    whole, lift, by_whole = whole[told], lift[told], by_whole[told]
    return np.interp(u, whole, lift), np.interp(u, whole, by_whole)


def discharge(reynolds: Array, length: Array | float) -> Array:
    """Discharge coefficient of a round passage `length` widths long, same shape.

    dp = (2.28 + 64 length / Re) rho u^2 / 2, Re of the mean speed u: entry of a developing flow, and laminar friction.
    `reynolds` is of the jet, sqrt(2 dp / rho), and the coefficient u over that: the root of the quadratic.
    Source: [merritt1967] ch. 3, short tubes. From memory.
    """
    friction = 64.0 * length / np.maximum(reynolds, 1e-9)
    return np.asarray(2.0 / (friction + np.sqrt(friction**2 + 4.0 * ENTRY)))


def turbulent_share(pressure_pa: Array, viscosity_mm2_s: Array | float, length: Array | float) -> Array:
    """Discharge coefficient over that of thin oil, at a pressure drop; same shape."""
    if not np.any(length):
        return np.ones_like(pressure_pa)
    jet_m_s = np.sqrt(2.0 * np.maximum(pressure_pa, 0.0) / DENSITY_KG_M3)
    return np.asarray(discharge(jet_m_s * PASSAGE_M / (1e-6 * viscosity_mm2_s), length) * ENTRY**0.5)


@frozen
class Seen:
    """Points of one direction that the bleed alone makes, as warm as the test was."""

    force_n: Array
    velocity_m_s: Array
    lift_m_s: Array
    stiffness_n_s_m: Array
    friction_error_n: float
    oil: UnitOil
    area_m2: float
    temperature_c: float

    def fitted(self, length: float) -> tuple[float, float, float, float]:
        """Leak and bleed that make the points with passages so long, the leak's standard uncertainty, the squares left.

        Weighted linear least squares in leak, bleed and what friction was read wrong by; the leak is none below nothing.
        """
        viscosity = viscosity_mm2_s(self.oil.line, self.temperature_c)
        hole = np.sqrt(self.force_n) * turbulent_share(self.force_n / self.area_m2, viscosity, length)
        per_n = 1.0 / self.stiffness_n_s_m
        scale = np.hypot(MISREAD * self.force_n, 1.0) * per_n * np.sqrt(self.force_n.size / INDEPENDENT)
        wanted = np.append((self.velocity_m_s - self.lift_m_s) / scale, 0.0)
        for columns in ((self.force_n, hole), (hole,)):
            rows = np.column_stack([*columns, -per_n]) / scale[:, None]
            rows = np.vstack([rows, [*np.zeros(len(columns)), 1.0 / self.friction_error_n]])
            found = np.linalg.lstsq(rows, wanted, rcond=None)[0]
            if found[0] >= 0:
                break
        left = float(np.sum((rows @ found - wanted) ** 2))
        leak = float(found[0]) if len(columns) == 2 else 0.0
        error = float(np.linalg.pinv(rows.T @ rows)[0, 0] * max(left / INDEPENDENT, 1.0)) ** 0.5
        return leak, max(float(found[-2]), 1e-9), error if len(columns) == 2 else 0.0, left


@frozen
class Passages:
    """`length`: over their width, none unless the loops show one. `weight`: how likely each of LENGTHS is, sums to 1."""

    length: float
    weight: Array
    seen: dict[Direction, Seen]


def passages(unit: Unit) -> Passages:
    """How long the passages of both valves are, alike in both: by what length the points below the knee are best made.

    Friction in a passage makes force rise with speed at first and with its square later, a leak beside an orifice the
    other way round: so cold loops tell them apart. In hot, thin oil neither shows. Source: own; criterion as [schwarz1978].
    """
    seen = {side.direction: s for side in unit.sides if side.law is not None and (s := _seen(unit, side.law, side.direction))}  # fmt: skip
    told = np.zeros(len(LENGTHS))
    for one in seen.values():
        left = np.array([one.fitted(length)[3] for length in LENGTHS]) + INDEPENDENT * (FOLLOWED / MISREAD) ** 2
        told -= 0.5 * INDEPENDENT * np.log(left / left.min())
    weight = np.exp(told - told.max())
    weight /= weight.sum()
    longer = bool(seen) and 2 * (told.max() - told[0]) > LONGER
    return Passages(float(weight @ np.array(LENGTHS)) if longer else 0.0, weight, seen)


def _seen(unit: Unit, law: Law, direction: Direction) -> Seen | None:
    valve, is_c = law.valve, unit.temperature_c
    if is_c is None and unit.heat is not None:
        is_c = unit.heat.mean_c
    v = law.point_velocity_m_s
    force = law.point_force_n - valve.loss * v**2
    keep = (v > 2 * SLOW_M_S) & (force > 0.1 * unit.friction_used_n + 1.0) & (force < 0.98 * valve.fully_open_force_n)
    v, force = v[keep], force[keep]
    lift = np.maximum(lifted(valve, np.sqrt(force))[0], 0.0)
    below = lift < LIFTED * v
    if is_c is None or below.sum() < LEAST_POINTS:
        return None
    v, force, lift = v[below], force[below], lift[below]
    friction = unit.friction_or_bound_n
    error = max((friction.high - friction.low) / (2 * Z95), 0.5)
    area = unit.oil.area_m2[DIRECTIONS.index(direction)]
    return Seen(force, v, lift, valve.solve(v)[1], error, unit.oil, area, is_c)
