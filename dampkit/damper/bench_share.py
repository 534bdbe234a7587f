"""What the bench's own uncertainty, as declared, and that of the oil's density add to the interval of an estimate."""

from __future__ import annotations

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.curves.loop import Loop
from dampkit.damper.areas import EXPANSION_PER_K
from dampkit.frozen import frozen
from dampkit.quantities import Z95, Array, Estimate, propagated

# How an estimate answers to: a share of force, newtons of offset, a share of displacement (and so of speed), a share
# of the oil's density. All but the second are relative to its value. Gas force takes up an offset whole, so nothing
# else feels it.
ANSWERS: dict[str, tuple[float, float, float, float]] = {
    "gas_force": (1.0, 1.0, 0.0, 0.0),
    "friction": (1.0, 0.0, 0.0, 0.0),
    "blowoff_force": (1.0, 0.0, 0.0, 0.0),
    "blowoff_velocity": (0.0, 0.0, 1.0, 0.0),
    "bleed_area": (-0.5, 0.0, 1.0, 0.5),
    "bleed_coefficient": (1.0, 0.0, -2.0, 0.0),
    "leak_coefficient": (1.0, 0.0, -1.0, 0.0),
    "slope": (1.0, 0.0, -1.0, 0.0),
    "lost_motion": (0.0, 0.0, 1.0, 0.0),
}

# Standard uncertainty of the oil's density, relative: oil of unknown temperature may be anywhere from 15 to 60 degC
# (uniform, with the expansion of `areas`); where the log tells it, the shell still differs from the oil by some kelvin.
DENSITY_UNSURE = EXPANSION_PER_K * 45 / 12**0.5
DENSITY_KNOWN = EXPANSION_PER_K * 5 / 3**0.5


@frozen
class BenchShare:
    """Covariance of (share of force, newtons, share of displacement, share of density)."""

    covariance: Array

    @classmethod
    def of(cls, run: Run, loops: tuple[Loop, ...]) -> BenchShare:
        """Declared values are 95 %; a displacement error counts against the shortest stroke."""
        stroke = min(loop.stage.stroke_m for loop in loops)
        return cls._of(run, (run.displacement_uncertainty_m or 0) / stroke)

    @classmethod
    def of_points(cls, points: Points) -> BenchShare:
        """Of a table or a hand test; what its speeds leave open is in its points."""
        return cls._of(points, 0.0)

    @classmethod
    def _of(cls, record: Run | Points, travel: float) -> BenchShare:
        force, newtons = record.force_percent or 0, record.force_uncertainty_n or 0
        declared = np.array([force / 100, newtons, travel]) / Z95
        density = DENSITY_UNSURE if record.temperature_c is None else DENSITY_KNOWN
        return cls(np.diag([*declared, density]) ** 2)

    def widen(self, estimate: Estimate | None, what: str) -> Estimate | None:
        """The estimate with the bench's part added to its interval. Source: [jcgm100] 5.1.2, independent inputs."""
        if estimate is None or not self.covariance.any():
            return estimate
        share, newtons, travel, density = ANSWERS[what]
        gradient = np.array([[share * estimate.value, newtons, travel * estimate.value, density * estimate.value]])
        bench = Z95 * float(np.sqrt(propagated(gradient, self.covariance)[0, 0]))
        down, up = estimate.value - estimate.low, estimate.high - estimate.value
        return Estimate(
            estimate.value, estimate.value - float(np.hypot(down, bench)), estimate.value + float(np.hypot(up, bench))
        )

    def widened_half(self, half: Array, force: Array, stiffness: Array, speed: Array) -> Array:
        """Half-widths of a force-velocity curve with the bench's part; all shape (K,)."""
        gradient = np.stack([force, np.zeros_like(force), -stiffness * speed, np.zeros_like(force)], axis=1)
        return np.hypot(half, Z95 * np.sqrt(np.diag(propagated(gradient, self.covariance))))
