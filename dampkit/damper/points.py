"""The loop points that the valve is fitted to: those where the valve, and not the spring of oil and bushes, makes the force."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.frozen import frozen
from dampkit.quantities import SIGN, Array, Direction, Index, Mask, median

SLOW_M_S = 0.02  # a stage below this peak speed is a slow pass: friction and gas, hardly any valve
LATE = 0.5  # share of the peak speed down to which points after mid-stroke are used (pressure falls, oil is stiff)
EARLY = 0.9  # and up from which points before mid-stroke are used (take-up of lost motion must be over)
TAKEN_UP = 0.97  # share of a half-stroke's peak force from which it counts as taken up
SMOOTH = 5  # points over which the force is averaged before its rate is taken


@frozen
class Points:
    """All arrays have shape (N,); signed as inside the package. `sigma_n` is the standard deviation of `force_n`."""

    velocity_m_s: Array
    force_n: Array
    force_rate_n_s: Array
    displacement_m: Array
    acceleration_m_s2: Array
    jerk_m_s3: Array
    sigma_n: Array
    stage: Array

    @property
    def direction(self) -> Array:
        """+1 rebound, -1 compression."""
        return np.sign(self.velocity_m_s)

    def earlier(self, delay_s: float) -> Points:
        """The points with the motion as it was so much earlier, to second order; force and its rate stay."""
        if delay_s == 0:
            return self
        x, v, a, j = self.displacement_m, self.velocity_m_s, self.acceleration_m_s2, self.jerk_m_s3
        half = 0.5 * delay_s**2
        return replace(
            self,
            displacement_m=x - delay_s * v + half * a,
            velocity_m_s=v - delay_s * a + half * j,
            acceleration_m_s2=a - delay_s * j,
        )

    def where(self, keep: Mask | Index) -> Points:
        return Points(*(getattr(self, name)[keep] for name in self.__dataclass_fields__))


def fitted_points(loops: tuple[Loop, ...], resolution_n: float) -> Points:
    """Points of all loops that count for the fit; a slow pass gives all of its points."""
    return joined([loop_points(loop, resolution_n).where(quasi_static(loop)) for loop in loops])


def loop_points(loop: Loop, resolution_n: float) -> Points:
    """Every point of one loop, mean over its settled cycles."""
    n = loop.velocity_m_s.size
    force = loop.mean_force_n
    return Points(
        loop.velocity_m_s,
        force,
        force_rate(loop),
        loop.displacement_m,
        loop.acceleration_m_s2,
        jerk(loop),
        np.full(n, noise_n(loop, resolution_n)),
        np.full(n, float(loop.stage.index)),
    )


def joined(parts: list[Points]) -> Points:
    return Points(*(np.concatenate([getattr(p, name) for p in parts]) for name in Points.__dataclass_fields__))


def quasi_static(loop: Loop) -> Mask:
    """True where the loop's force is made by the valve; shape (P,).

    Not before the half-stroke's force has come up to its peak: until then travel goes into oil, bubbles and bushes.
    """
    v, a = loop.velocity_m_s, loop.acceleration_m_s2
    peak = loop.peak_velocity_m_s
    if peak < SLOW_M_S:
        return np.ones(v.size, dtype=bool)
    late = v * a < 0
    fast = np.abs(v) > np.where(late, LATE, EARLY) * peak
    return np.asarray(fast & (_taken_up(loop, "rebound") | _taken_up(loop, "compression")))


def _taken_up(loop: Loop, direction: Direction) -> Mask:
    """Points of one direction from where its force first comes up to its peak."""
    speed, force = SIGN[direction] * loop.velocity_m_s, SIGN[direction] * smoothed(loop.mean_force_n)
    begin = loop.begins(direction)
    order = (begin + np.arange(speed.size)) % speed.size
    moving = order[: int(np.count_nonzero(speed > 0))]
    reach = force[moving] - float(force[moving].min())  # of the swing: gas and an offset of the cell are not in it
    mask = np.zeros(speed.size, dtype=bool)
    mask[moving[int(np.argmax(reach >= TAKEN_UP * reach.max())) :]] = True
    return mask


def smoothed(force_n: Array) -> Array:
    """Mean over a few neighbouring points round a closed loop, same shape."""
    kernel = np.zeros(force_n.size)
    kernel[:SMOOTH] = 1.0 / SMOOTH
    return np.fft.irfft(np.fft.rfft(force_n) * np.fft.rfft(np.roll(kernel, -(SMOOTH // 2))), force_n.size)


def force_rate(loop: Loop) -> Array:
    """Time derivative of the mean force, smoothed over a few points round the loop; shape (P,)."""
    smooth = smoothed(loop.mean_force_n)
    return np.asarray((np.roll(smooth, -1) - np.roll(smooth, 1)) / (2 * loop.period_s / smooth.size))


def jerk(loop: Loop) -> Array:
    """Time derivative of the acceleration [m/s3] from its harmonics, which are few; shape (P,)."""
    n = loop.acceleration_m_s2.size
    turn = 2j * np.pi * np.arange(n // 2 + 1) / loop.period_s
    return np.fft.irfft(np.fft.rfft(loop.acceleration_m_s2) * turn, n)


def noise_n(loop: Loop, resolution_n: float) -> float:
    """Standard deviation of the mean force at one point: from second differences, which motion hardly enters."""
    f = loop.mean_force_n
    rough = f - 0.5 * (np.roll(f, 1) + np.roll(f, -1))
    spread = 1.4826 * median(np.abs(rough)) / 1.5**0.5
    return float(max(spread, resolution_n / 12**0.5, 1e-9))
