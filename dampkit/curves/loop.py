"""A stage of the log, folded on its cycles into one loop."""

from __future__ import annotations

from dataclasses import asdict, field
from typing import TYPE_CHECKING, Literal

import numpy as np

from dampkit.bench.run import Quality, Run
from dampkit.frozen import frozen
from dampkit.quantities import Array, number

if TYPE_CHECKING:
    import pandas as pd


@frozen
class Stage:
    """A stretch of constant amplitude and frequency; `start` and `stop` are rows of the run (whole cycles)."""

    index: int
    start: int
    stop: int
    frequency_hz: float
    cycles: int
    stroke_m: float  # peak to peak
    temperature_c: float | None = None


@frozen
class Loop:
    """One stage folded on its cycles.

    P = 512 points of equal time over one period, starting at mid-stroke moving into extension; C cycles.
    `displacement_m`, `velocity_m_s`, `acceleration_m_s2`: shape (P,), from the measured displacement: from its harmonics
    where `velocity_window` is 0, else slopes over that share of a period to both sides.
    `velocity_bias`: share by which the speed in mid-stroke is more than the rows', integrated back; to be added to errors.
    `force_n`: shape (C, P), each cycle on its own; gas force and friction still in it.
    """

    stage: Stage
    displacement_m: Array
    velocity_m_s: Array
    acceleration_m_s2: Array
    force_n: Array
    harmonics: int
    run_in_force_n: Array = field(default_factory=lambda: np.empty((0, 512)))  # first cycles, left out of the mean loop
    velocity_window: float = 0.0
    velocity_bias: float = 0.0

    def __repr__(self) -> str:
        stage, top = self.stage, number(self.peak_velocity_m_s)
        return f"<Loop {stage.index}: {top} m/s, {number(1e3 * stage.stroke_m)} mm, {stage.cycles} cycles>"

    def middle(self, direction: str) -> int:
        """Index of the point nearest mid-stroke on the way into "rebound" (extension) or "compression"."""
        way = 1.0 if direction == "rebound" else -1.0
        x = self.displacement_m
        off = np.abs(x - 0.5 * (x.max() + x.min()))
        return int(np.argmin(np.where(way * self.velocity_m_s > 0, off, np.inf)))

    @property
    def turns(self) -> tuple[int, int]:
        """Indices of the two reversals: out of extension into compression, and out of compression into extension."""
        return int(np.argmax(self.displacement_m)), int(np.argmin(self.displacement_m))

    def begins(self, direction: str) -> int:
        """Index of the first point on the way into "rebound" or "compression": of the crossings of zero speed, which may
        be several beside a corner or a dwell, the last before the half-stroke's own middle."""
        speed = self.velocity_m_s if direction == "rebound" else -self.velocity_m_s
        crossings = np.flatnonzero((speed > 0) & (np.roll(speed, 1) <= 0))
        return int(crossings[np.argmin((self.middle(direction) - crossings) % speed.size)])

    @property
    def mean_force_n(self) -> Array:
        """Mean over the cycles, shape (P,)."""
        return np.asarray(self.force_n.mean(axis=0))

    @property
    def period_s(self) -> float:
        return 1.0 / self.stage.frequency_hz

    @property
    def peak_velocity_m_s(self) -> float:
        return float(0.5 * (self.velocity_m_s.max() - self.velocity_m_s.min()))

    @property
    def energy_j(self) -> Array:
        """Work done on the damper in each cycle of the stage, first ones included: closed integral of force over displacement."""
        force = np.vstack([self.run_in_force_n, self.force_n])
        return np.asarray(force @ self.velocity_m_s * (self.period_s / self.velocity_m_s.size))

    @property
    def force_rate_n_s(self) -> Array:
        """Time derivative of the mean force, shape (P,), by central differences round the closed loop."""
        f = self.mean_force_n
        return (np.roll(f, -1) - np.roll(f, 1)) / (2 * self.period_s / f.size)


RowUse = Literal["stage", "run-up", "rest", "not used"]


@frozen
class RowSpan:
    """What the rows `from_row` to `to_row` (not included) of a run are used for; counted from 0, as used, not as read.

    Of several recordings rows are counted within their `file`. `why`: short and plain. `stage`: index of the stage where the use is "stage".
    """

    from_row: int
    to_row: int
    use: RowUse
    why: str
    stage: int | None = None
    file: str = ""


@frozen
class Curves:
    """All loops of a run in the order they were run, what was noticed on the way, and each row's use, once.

    Examples
    --------
    >>> dampkit.curves(dampkit.read_run("sample_runs/sound_twin_tube.csv"))
    <Curves of 'sound_twin_tube.csv': ... loops
     <Loop 0: ... m/s, ... mm, ... cycles>
     ...
    """

    run: Run
    loops: tuple[Loop, ...]
    quality: tuple[Quality, ...] = ()
    rows: tuple[RowSpan, ...] = ()

    def __repr__(self) -> str:
        return (
            f"<Curves of {self.run.file!r}: {len(self.loops)} loops{''.join(f'{chr(10)} {o!r}' for o in self.loops)}>"
        )

    def frames(self) -> dict[str, pd.DataFrame]:
        """`stages`: a row a stage. `loops`: 512 points a stage, the force the mean over its cycles. SI."""
        import pandas as pd

        stages = [{**asdict(o.stage), "peak_velocity_m_s": o.peak_velocity_m_s} for o in self.loops]
        loops = [
            pd.DataFrame(
                {
                    "stage": o.stage.index,
                    "displacement_m": o.displacement_m,
                    "velocity_m_s": o.velocity_m_s,
                    "force_n": o.mean_force_n,
                }
            )
            for o in self.loops
        ]
        return {"stages": pd.DataFrame(stages), "loops": pd.concat(loops, ignore_index=True)}
