"""The curve of one direction after a change, with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.unit import Law, Unit
from dampkit.damper.valve import Valve
from dampkit.frozen import frozen
from dampkit.outcome.change.levers import WORKMANSHIP, Lever, Move, Ratios, by_logarithm, changed, side_by_side
from dampkit.quantities import Array, Direction, Estimate

STEP = 0.02  # of a ratio, for the effect of workmanship
LEAST_M_S = 0.02  # below this the relative interval of the curve is taken from here


@frozen
class Changeable:
    """One direction as measured: valve with its interval, friction, and the declared bench uncertainty (95 %).

    A curve that its valve does not explain moves in proportion to what the valve does.
    """

    fit: Law
    friction_n: Estimate
    bench_percent: float = 0.0
    bench_n: float = 0.0

    def reading_n(self, velocity_m_s: Array, ratios: Ratios) -> Array:
        """What the bench would read, friction in and gas out, same shape."""
        return np.asarray(self._oil_n(velocity_m_s, [ratios])[0] + self.friction_n.value)

    def slopes_n(self, velocity_m_s: Array, ratios: Ratios, moves: Sequence[Move]) -> Array:
        """What the logarithm of each move's ratio adds to that reading, shape (N, K)."""
        valve = changed(self.fit.valve, ratios)
        by_parameter = valve.solve(velocity_m_s, self._root(valve, velocity_m_s))[2]
        by_move = [by_parameter @ by_logarithm(valve, move) for move in moves]
        return np.asarray(self._measured(velocity_m_s)[:, None] * np.stack(by_move, axis=1))

    def half_width_n(self, velocity_m_s: Array, ratios: Ratios) -> Array:
        """95 % half-width of that reading, same shape.

        The measured curve's relative interval, friction, the bench, and what workmanship does through every lever that
        is moved, combined as independent. Source: [jcgm100] 5.1.2.
        """
        levers = moved(ratios)
        worked = (ratios.times(lever, f) for lever in levers for f in (1 + STEP, 1 - STEP))
        force, *shifted = self._oil_n(velocity_m_s, [ratios, *worked])
        parts = [force * self._relative(velocity_m_s), np.full_like(force, self.friction_n.half_width)]
        parts.append(np.hypot(0.01 * self.bench_percent * (force + self.friction_n.value), self.bench_n))
        for lever, up, down in zip(levers, shifted[::2], shifted[1::2], strict=True):
            parts.append((up - down) / (2 * STEP) * WORKMANSHIP[lever])
        return np.asarray(np.sqrt(np.sum(np.square(parts), axis=0)))

    def _oil_n(self, velocity_m_s: Array, several: Sequence[Ratios]) -> Array:
        """The oil's force for each of several changes, side by side, of which the first is where a search stands."""
        valve, *others = (changed(self.fit.valve, ratios) for ratios in several)
        roots = self._root(valve, velocity_m_s)[None]
        if others:
            many = np.broadcast_to(velocity_m_s, (len(others), *velocity_m_s.shape))
            roots = np.concatenate([roots, side_by_side(others, velocity_m_s.ndim).root(many, roots)])
        return np.asarray((roots**2 + self.fit.valve.loss * velocity_m_s**2) * self._measured(velocity_m_s))

    def _root(self, valve: Valve, velocity_m_s: Array) -> Array:
        speeds = velocity_m_s.shape, velocity_m_s.tobytes()
        last, near = self._last.get(speeds, (None, None))
        if near is not None and valve == last:
            return near
        root = valve.root(velocity_m_s, near)
        self._last[speeds] = valve, root
        return root

    def _measured(self, velocity_m_s: Array) -> Array:
        return np.interp(velocity_m_s, self.fit.velocity_m_s, self._measured_ratio)

    @cached_property
    def _last(self) -> dict[tuple[tuple[int, ...], bytes], tuple[Valve, Array]]:
        """By speeds that were asked for, the valve and its root there, where a search begins the next time."""
        return {}

    @cached_property
    def _measured_ratio(self) -> Array:
        """The curve as measured over the valve's, along the law."""
        return np.asarray(self.fit.force_n[1:] / self.fit.valve.force(self.fit.velocity_m_s[1:]))[
            [0, *range(self.fit.force_n.size - 1)]
        ]

    def _relative(self, velocity_m_s: Array) -> Array:
        f = self.fit
        half = 0.5 * (f.high_n - f.low_n) / np.maximum(f.force_n, 1e-9)
        return np.interp(np.maximum(velocity_m_s, LEAST_M_S), f.velocity_m_s, half)


def changeable(unit: Unit, record: Run | Points, way: Direction) -> Changeable | None:
    """None where no valve was fitted."""
    law = unit.side(way).law
    if law is None:
        return None
    return Changeable(law, unit.friction_or_bound_n, record.force_percent or 0.0, record.force_uncertainty_n or 0.0)


def hole_shared(spec: DamperSpec | None) -> bool:
    """A plain hole in the piston of a monotube is open both ways, unless a check valve is declared over it."""
    if spec is None or spec.damper.bleed_check:
        return False
    return facts_of(spec.damper.kind).foot_valve is False


def moved(ratios: Ratios) -> tuple[Lever, ...]:
    """The levers that are not left as they are."""
    names: tuple[Lever, ...] = ("bleed", "preload", "spring", "leak")
    return tuple(name for name in names if abs(getattr(ratios, name) - 1.0) > 1e-9)
