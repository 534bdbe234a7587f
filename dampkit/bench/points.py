"""What a force-velocity table or a hand test becomes: points of speed and force, a direction at a time, in SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from dampkit.bench.run import Quality, Step
from dampkit.quantities import Array, Direction

PointsForm = Literal["table", "hand-test"]


@dataclass(frozen=True)
class PointSet:
    """Points of one direction, in the order written; arrays of shape (N,), positive magnitudes, read-only.

    `half_width_n`: 95 % half-width of each force as far as the record tells (a rule, a stop-watch, the digits written).
    `group`: the setting of each point, 0 where there is none. `temperature_c`: None where the record has none.
    """

    velocity_m_s: Array
    force_n: Array
    half_width_n: Array
    group: Array
    temperature_c: Array | None = None


@dataclass(frozen=True)
class Points:
    """One record of points. `stroke_m`: peak to peak, of the sine it was taken with, None where not told.

    `zero_known` and `direction_known` as in `bench.run.Run`.
    """

    file: str
    sha256: str
    form: PointsForm
    rows_read: int
    rows_used: int
    rebound: PointSet | None
    compression: PointSet | None
    stroke_m: float | None = None
    zero_known: bool = False
    direction_known: bool = True
    force_percent: float | None = None  # 95 % bench uncertainty as declared
    force_uncertainty_n: float | None = None
    history: tuple[Step, ...] = ()
    quality: tuple[Quality, ...] = ()

    def points(self, direction: Direction) -> PointSet | None:
        return self.rebound if direction == "rebound" else self.compression
