"""What a force-velocity table or a hand test becomes: points of speed and force, a direction at a time, in SI."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from dampkit.bench.run import Quality, Step
from dampkit.errors import BadSettings, CannotAnalyse
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array, Direction, Mask, distinct, read_only

if TYPE_CHECKING:
    import pandas as pd

PointsForm = Literal["table", "hand-test"]


@frozen
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

    def where(self, keep: Mask) -> PointSet | None:
        """Those kept; None where none is."""
        if not keep.any():
            return None
        kept = {name: read_only(values[keep]) for name, values in vars(self).items() if values is not None}
        return PointSet(**kept)


@frozen
class Points:
    """One record of points. `stroke_m`: peak to peak, of the sine it was taken with, None where not told.

    `zero_known`, `arm_m` and `direction_known` as in `bench.run.Run`.

    Examples
    --------
    >>> test = dampkit.read_test(["sample_runs/drawing_table.csv"])
    >>> test.points[0]
    <Points 'drawing_table.csv' (table): ... points in rebound, ... points in compression, ... remarks>
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
    arm_m: float | None = None
    direction_known: bool = True
    force_percent: float | None = None  # 95 % bench uncertainty as declared
    force_uncertainty_n: float | None = None
    history: tuple[Step, ...] = ()
    quality: tuple[Quality, ...] = ()
    parts: tuple[Points, ...] = ()  # of several records of one test, each on its own; else empty

    def frames(self) -> dict[str, pd.DataFrame]:
        """`points`: a row a point, SI, positive magnitudes; `half_width_n` is of a 95 % interval."""
        import pandas as pd

        held = {way: self.points(way) for way in DIRECTIONS}
        rows = [
            pd.DataFrame(
                {
                    "direction": way,
                    "velocity_m_s": s.velocity_m_s,
                    "force_n": s.force_n,
                    "half_width_n": s.half_width_n,
                    "setting": s.group,
                }
            )
            for way, s in held.items()
            if s is not None
        ]
        return {"points": pd.concat(rows, ignore_index=True)}

    def __repr__(self) -> str:
        counted = (f"{s.force_n.size} points in {way}" for way in DIRECTIONS if (s := self.points(way)) is not None)
        return f"<Points {self.file!r} ({self.form}): {', '.join(counted)}, {len(self.quality)} remarks>"

    def points(self, direction: Direction) -> PointSet | None:
        return self.rebound if direction == "rebound" else self.compression

    @property
    def temperature_c(self) -> Array | None:
        """Of all points that have one; None where none has."""
        known = [
            s.temperature_c for s in (self.rebound, self.compression) if s is not None and s.temperature_c is not None
        ]
        return np.concatenate(known) if known else None

    @property
    def groups(self) -> tuple[float, ...]:
        """The settings that the points were taken at, rising."""
        known = [s.group for s in (self.rebound, self.compression) if s is not None]
        return tuple(distinct(np.concatenate(known)).tolist()) if known else ()

    def of_group(self, group: float) -> Points:
        """The points of one setting. Raises BadSettings where there are none."""
        if group not in self.groups:
            listed = ", ".join(f"{g:g}" for g in self.groups)
            raise BadSettings(self.file, f"no points of setting {group:g}", listed, "correct [log] setting")
        kept = {d: s.where(s.group == group) for d in DIRECTIONS if (s := self.points(d)) is not None}
        return replace(self, rebound=kept.get("rebound"), compression=kept.get("compression"))


def joined_points(parts: Sequence[Points]) -> Points:
    """Several records of points of one unit as one, in their order; named after the first."""
    if len(parts) == 1:
        return parts[0]
    first = parts[0]
    for name, values in (("stroke", {p.stroke_m for p in parts}), ("zero", {p.zero_known for p in parts})):
        if len(values) > 1:
            raise CannotAnalyse(
                first.file, f"the records differ in their {name}", "tables of one bench", "analyse them apart"
            )
    sets = {d: [s for p in parts if (s := p.points(d)) is not None] for d in DIRECTIONS}
    return replace(
        first,
        rows_read=sum(p.rows_read for p in parts),
        rows_used=sum(p.rows_used for p in parts),
        rebound=_joined(sets["rebound"]),
        compression=_joined(sets["compression"]),
        direction_known=all(p.direction_known for p in parts),
        history=tuple(step for p in parts for step in p.history),
        quality=tuple(q for p in parts for q in p.quality),
        parts=tuple(parts),
    )


def _joined(sets: Sequence[PointSet]) -> PointSet | None:
    if not sets:
        return None
    warm = [s.temperature_c for s in sets if s.temperature_c is not None]
    columns = [[s.velocity_m_s, s.force_n, s.half_width_n, s.group] for s in sets]
    v, f, half, group = (read_only(np.concatenate(c)) for c in zip(*columns, strict=True))
    return PointSet(v, f, half, group, read_only(np.concatenate(warm)) if len(warm) == len(sets) else None)
