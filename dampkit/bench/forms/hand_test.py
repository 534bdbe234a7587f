"""A test by hand: a load, a travel and the time it took, a row a pull. For a workshop without a bench."""

from __future__ import annotations

import numpy as np

from dampkit.bench.forms.point_columns import Holds, PointColumn, PointColumns, columns_or_why, point_columns
from dampkit.bench.points import Points, PointSet
from dampkit.bench.record import Record
from dampkit.bench.run import Notes
from dampkit.errors import UnreadableLog
from dampkit.quantities import GRAVITY_M_S2, Z95, Array, Direction, Mask, read_only

NEEDED: tuple[Holds, ...] = ("force", "travel", "duration")
RULE_MM, WATCH_S = 2.0, 0.2  # 95 % of a travel by rule, and of a time by stop-watch; common practice, no source
STEEPEST = 2.0  # a valve's force rises at most with the square of speed (an orifice); [merritt1967] ch. 3


def refusal(record: Record) -> str | None:
    """None where the record is a test by hand, else why not."""
    columns = columns_or_why(record)
    if isinstance(columns, str):
        return columns
    held = {c.holds for c in columns.columns}
    for holds, name in (("direction", "direction"), ("force", "load"), ("travel", "travel"), ("duration", "time")):
        if holds not in held:
            return f"no column is recognised as the {name}"
    return None


def read(record: Record) -> tuple[Points, ...]:
    """Speed is travel over time, force the load's weight at standard gravity, less nothing.

    Raises UnreadableLog naming line or column. Source: [si2019] for standard gravity.
    """
    columns, notes, spec = point_columns(record), Notes(), record.spec
    needed = [_needed(columns, holds) for holds in NEEDED]
    load, travel, time = (_positive(columns, column) for column in needed)
    lever = _lever(columns)
    rule = spec.uncertainty.displacement_mm
    watch = spec.uncertainty.time_s
    share = np.hypot((RULE_MM if rule is None else rule) * 1e-3 / travel, (WATCH_S if watch is None else watch) / time)
    ways, setting = _ways(columns), columns.of("setting")
    group = np.zeros(load.size) if setting is None else np.nan_to_num(columns.si(setting))
    pulls = np.stack([travel / lever / time, load * lever, share, group])
    sets = {d: _repeated(pulls[:, of]) for d, of in ways.items() if of.any()}
    notes.did("test by hand read", record.layout.described(), headings=", ".join(record.layout.headings))
    notes.did("load turned to force", "weight at standard gravity", standard_gravity_m_s2=GRAVITY_M_S2)
    if rule is None or watch is None:
        assumed = f"{RULE_MM if rule is None else rule:g} mm and {WATCH_S if watch is None else watch:g} s"
        notes.noticed(
            "hand_uncertainty",
            "note",
            f"Travel and time are taken to be known to {assumed} (95 %). State yours in bench.toml: [uncertainty]"
            " displacement_mm and time_s.",
        )
    return (columns.points("hand-test", sets, notes),)


def _repeated(pulls: Array) -> PointSet:
    """Pulls of one direction (speed, force, share of the speed unsure, setting; shape (4, N)), those with one load and
    setting as their mean: its doubt is that of one pull over the root of their number, or their scatter's."""
    rows = []
    for force, group in dict.fromkeys(zip(pulls[1].tolist(), pulls[3].tolist(), strict=True)):
        speed, _, share, _ = pulls[:, (pulls[1] == force) & (pulls[3] == group)]
        count = speed.size
        scatter = Z95 * float(speed.std(ddof=1)) / count**0.5 / float(speed.mean()) if count > 1 else 0.0
        unsure = max(float(share.mean()) / count**0.5, scatter)
        rows.append((float(speed.mean()), force, STEEPEST * force * unsure, group))
    v, f, half, settings = np.array(rows, dtype=np.float64).T
    return PointSet(read_only(v), read_only(f), read_only(half), read_only(settings))


def _needed(columns: PointColumns, holds: Holds) -> PointColumn:
    column = columns.of(holds)
    if column is None:
        raise UnreadableLog(
            columns.record.where,
            f"no column is recognised as the {holds}",
            "direction, load, travel and time of each pull",
            "name them in bench.toml: [columns] direction, load, travel, duration",
        )
    return column


def _positive(columns: PointColumns, column: PointColumn) -> Array:
    values = columns.si(column)
    wrong = np.flatnonzero(~(values > 0))
    if wrong.size:
        row = int(wrong[0])
        raise UnreadableLog(
            column.spot(columns.record, row), f"found {column.cells[row]!r}", "a number above 0", "correct the cell"
        )
    return values


def _ways(columns: PointColumns) -> dict[Direction, Mask]:
    column = columns.of("direction")
    if column is None:
        raise UnreadableLog(
            columns.record.where,
            "no column says the direction of a pull",
            "rebound or compression in each row",
            "add a column headed direction",
        )
    return columns.masks(column)


def _lever(columns: PointColumns) -> Array:
    """Arm of the load over arm of the eye: the force at the eye is so many times the load, the travel so much less."""
    column, eye = columns.of("arm"), columns.record.spec.motion.eye_arm_mm
    if column is None:
        return np.ones(columns.rows)
    if eye is None:
        raise UnreadableLog(
            f"{columns.record.where}, column {column.heading.text!r}",
            "the load hangs on an arm of its own, and nothing says how long the unit's arm is",
            "the length from pivot to eye",
            "state it in bench.toml: [motion] eye_arm_mm; or hang the load at the eye and leave the column out",
        )
    return _positive(columns, column) / (1e-3 * eye)
