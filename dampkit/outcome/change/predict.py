"""The curve of one direction after a change, with its interval."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.damper.unit import Law
from dampkit.outcome.change.levers import WORKMANSHIP, Lever, Ratios, changed
from dampkit.quantities import Array, Estimate

STEP = 0.02  # of a ratio, for the effect of workmanship
LEAST_M_S = 0.02  # below this the relative interval of the curve is taken from here


@dataclass(frozen=True)
class Changeable:
    """One direction as measured: valve with its interval, friction, and the declared bench uncertainty (95 %)."""

    fit: Law
    friction_n: Estimate
    bench_percent: float = 0.0
    bench_n: float = 0.0

    def reading_n(self, velocity_m_s: Array, ratios: Ratios, friction_ratio: float = 1.0) -> Array:
        """What the bench would read, friction in and gas out, same shape."""
        return np.asarray(changed(self.fit.valve, ratios).force(velocity_m_s) + self.friction_n.value * friction_ratio)

    def half_width_n(self, velocity_m_s: Array, ratios: Ratios, friction_ratio: float = 1.0) -> Array:
        """95 % half-width of that reading, same shape.

        The measured curve's relative interval, friction, the bench, and what workmanship does through every lever that
        is moved, combined as independent. Source: [jcgm100] 5.1.2.
        """
        force = changed(self.fit.valve, ratios).force(velocity_m_s)
        parts = [force * self._relative(velocity_m_s), np.full_like(force, self.friction_n.half_width * friction_ratio)]
        parts.append(np.hypot(0.01 * self.bench_percent * (force + self.friction_n.value), self.bench_n))
        for lever in moved(ratios):
            up, down = (
                changed(self.fit.valve, ratios.times(lever, f)).force(velocity_m_s) for f in (1 + STEP, 1 - STEP)
            )
            parts.append((up - down) / (2 * STEP) * WORKMANSHIP[lever])
        return np.asarray(np.sqrt(np.sum(np.square(parts), axis=0)))

    def _relative(self, velocity_m_s: Array) -> Array:
        f = self.fit
        half = 0.5 * (f.high_n - f.low_n) / np.maximum(f.force_n, 1e-9)
        return np.interp(np.maximum(velocity_m_s, LEAST_M_S), f.velocity_m_s, half)


def moved(ratios: Ratios) -> tuple[Lever, ...]:
    """The levers that are not left as they are."""
    names: tuple[Lever, ...] = ("bleed", "preload", "spring", "leak")
    return tuple(name for name in names if abs(getattr(ratios, name) - 1.0) > 1e-9)
