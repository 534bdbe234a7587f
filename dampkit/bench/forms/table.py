"""A force-velocity table: a speed and the force read at it, a row a point."""

from __future__ import annotations

import math
import re

import numpy as np

from dampkit.bench.forms.point_columns import (
    PointColumn,
    PointColumns,
    columns_or_why,
    numbers,
    point_columns,
    positive_way,
    step_of,
)
from dampkit.bench.points import Points, PointSet
from dampkit.bench.record import Record
from dampkit.bench.run import Notes
from dampkit.bench.signs import OUTWARD
from dampkit.bench.timing import rate_in_preamble
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, OTHER, SIGN, Array, Direction

PLAIN_M_S, PLAIN_MM_S = (0.02, 4.0), (20.0, 4000.0)  # tops of tables in these units; common practice, no source
STROKE = re.compile(r"(?:stroke|hub|course|travel)\W*?(\d+(?:[.,]\d+)?)\s*(mm|cm|m|in)\b", re.IGNORECASE)


@frozen
class Sides:
    """Speeds and forces as written, by direction, in SI; forces positive where they resist. NaN where a cell is empty."""

    velocity_m_s: dict[Direction, Array]
    force_n: dict[Direction, Array]
    known: bool
    how: str


def refusal(record: Record) -> str | None:
    """None where the record is a force-velocity table, else why not."""
    columns = columns_or_why(record)
    if isinstance(columns, str):
        return columns
    held = {c.holds for c in columns.columns}
    if "duration" in held or record.layout.clock_columns:
        return "it has a time column"
    if record.spec.timing.sample_rate_hz is not None or rate_in_preamble(record.layout.preamble) is not None:
        return "it has a sample rate"
    if "force" not in held:
        return "no column is recognised as a force"
    if "velocity" not in held and "rate" not in held:
        return "no column is recognised as a speed, or as the crank's turns a minute"
    if "velocity" not in held and "travel" not in held and _stroke_m(columns) is None:
        return "turns a minute without a stroke ([motion] stroke_mm)"
    travel = next((c for c in columns.columns if c.holds == "travel"), None)
    if travel is not None and any(cell.startswith("-") for cell in travel.cells):
        return f"column {travel.heading.text!r} goes both ways, as a motion does"
    return None


def read(record: Record) -> tuple[Points, ...]:
    """Raises UnreadableLog naming line or column."""
    columns, notes = point_columns(record), Notes()
    sides = _sides(columns, notes)
    temperature, setting = (_values(columns, holds) for holds in ("temperature", "setting"))
    sets = {d: _set(sides, d, temperature, setting, columns) for d in sides.force_n}
    used = sum(s.velocity_m_s.size for s in sets.values() if s is not None)
    if not used:
        raise UnreadableLog(
            record.where, "no row with a speed and a force", "speeds with their forces", "fill the table"
        )
    notes.did("table read", record.layout.described(), headings=", ".join(record.layout.headings))
    notes.did("directions settled", sides.how)
    return (columns.points("table", sets, notes, stroke_m=_stroke_m(columns), direction_known=sides.known),)


def _sides(columns: PointColumns, notes: Notes) -> Sides:
    """Speeds and forces of each direction, whichever way the table is laid out."""
    forces = {d: c for d in DIRECTIONS if (c := columns.of("force", d)) is not None}
    if forces:
        velocity = {d: np.abs(_velocity(columns, d, notes)) for d in forces}
        raw = {d: columns.si(c, _plain_force(columns, c, notes)) for d, c in forces.items()}
        force = {d: f * (np.sign(f[np.nanargmax(np.abs(f))]) if np.isfinite(f).any() else 1.0) for d, f in raw.items()}
        return _less_zero(Sides(velocity, force, True, "by the headings"), columns)
    column = columns.of("force")
    if column is None:
        raise UnreadableLog(columns.record.where, "no column of forces", "a force", "name it: [columns] force")
    v, f = _velocity(columns, None, notes), columns.si(column, _plain_force(columns, column, notes))
    ways = columns.of("direction")
    if ways is not None:
        force = {d: np.where(m, np.abs(f), np.nan) for d, m in columns.masks(ways).items() if m.any()}
        return _less_zero(Sides({d: np.abs(v) for d in force}, force, True, "by the column of directions"), columns)
    return _less_zero(_by_signs(v, f, column, columns, notes), columns)


def _by_signs(v: Array, f: Array, column: PointColumn, columns: PointColumns, notes: Notes) -> Sides:
    """One column of signed forces: speed's sign tells the directions apart where it has one, else the force's."""
    signed = np.nanmin(v) < 0 < np.nanmax(v)
    if not signed and not np.nanmin(f) < 0 < np.nanmax(f):
        raise UnreadableLog(
            f"{columns.record.where}, column {column.heading.text!r}",
            "all forces have one sign, and so have all speeds: nothing says which direction they are of",
            "columns headed rebound and compression, signed speeds, or a column with the direction",
            "head the columns so, or name them in bench.toml: [columns] rebound_force, compression_force",
        )
    first = v if signed else f
    resists = float(np.sign(np.nansum(v * f))) if signed else 1.0
    positive = _positive(columns, column, resists if signed else None)
    if positive is None:
        notes.noticed(
            "direction_unknown",
            "warning",
            "Nothing says whether positive is rebound or compression: rebound was assumed. State it in bench.toml,"
            ' [signs] velocity_positive = "extension" (or "compression").',
            "declare",
        )
    way: Direction = positive or "rebound"
    masks = {way: first > 0, OTHER[way]: first < 0}
    force = {d: np.where(m, f * (np.sign(first) * resists), np.nan) for d, m in masks.items() if m.any()}
    how = "by sign, as declared or headed" if positive else "by sign; positive was taken as rebound"
    return Sides({d: np.abs(v) for d in force}, force, positive is not None, how)


def _positive(columns: PointColumns, force: PointColumn, resists: float | None) -> Direction | None:
    """Which direction a positive speed is (a positive force, where speeds have no sign); None where nothing says it.

    `resists`: sign of force times speed, None where speeds have no sign.
    """
    signs, velocity = columns.record.spec.signs, columns.of("velocity")
    of_speed = signs.velocity_positive or signs.displacement_positive
    if resists is not None and of_speed is not None:
        return "rebound" if OUTWARD[of_speed] > 0 else "compression"
    headed = positive_way(velocity.heading) if velocity is not None and resists is not None else None
    if headed is not None:
        return headed
    of_force: Direction | None = positive_way(force.heading)
    if signs.force_positive is not None:
        of_force = "rebound" if OUTWARD[signs.force_positive] > 0 else "compression"
    if of_force is None:
        return None
    return OTHER[of_force] if resists is not None and resists < 0 else of_force


def _less_zero(sides: Sides, columns: PointColumns) -> Sides:
    """Without the cell's zero, which stands in one direction's forces with a plus and in the other's with a minus."""
    spec = columns.record.spec
    if not spec.zero.force_n:
        return sides
    if spec.signs.force_positive is None:
        raise UnreadableLog(
            columns.record.where,
            f"the cell's zero is {spec.zero.force_n:g} N, but not which way it counts",
            "the sign of the force",
            'state it in bench.toml: [signs] force_positive = "tension" (or "compression")',
        )
    out = OUTWARD[spec.signs.force_positive] * spec.zero.force_n
    return Sides(sides.velocity_m_s, {d: f - SIGN[d] * out for d, f in sides.force_n.items()}, sides.known, sides.how)


def _velocity(columns: PointColumns, way: Direction | None, notes: Notes) -> Array:
    """Speeds of a direction: its own column, else the one of both, else the peak speed of the crank's sine, pi s f.

    Source: a sine of stroke s and frequency f has its peak at pi s f; [rao] ch. 1.
    """
    column = columns.of("velocity", way) or (columns.of("velocity") if way else None)
    if column is not None:
        return columns.si(column, None if columns.has_unit(column) else _plain_speed(column, columns, notes))
    rate, travel, stroke = columns.of("rate"), columns.of("travel"), _stroke_m(columns)
    if rate is None or (travel is None and stroke is None):
        name = f"{way} forces" if way else "forces"
        raise UnreadableLog(
            columns.record.where, f"no speeds for the {name}", "a column of speeds", "name it: [columns] velocity"
        )
    strokes = columns.si(travel) if travel is not None else np.full(columns.rows, stroke or math.nan)
    notes.did("speed worked out", "peak speed of a sine: pi times stroke times turns a second")
    return math.pi * strokes * columns.si(rate)


def _plain_speed(column: PointColumn, columns: PointColumns, notes: Notes) -> str:
    """The unit of speeds that have none, by their size; asked for where that leaves it open."""
    top = float(np.nanmax(np.abs(numbers(column, columns.record)), initial=0.0))
    for unit, (low, high) in (("m/s", PLAIN_M_S), ("mm/s", PLAIN_MM_S)):
        if low <= top < high:
            _assumed(column, unit, notes)
            return unit
    raise UnreadableLog(
        f"{columns.record.where}, column {column.heading.text!r}",
        f"nothing says the unit of the speed, and {top:g} fits neither m/s nor mm/s",
        "a unit in the heading",
        'write it there, or in bench.toml: [units] velocity = "m/s"',
    )


def _plain_force(columns: PointColumns, column: PointColumn, notes: Notes) -> str | None:
    if columns.has_unit(column):
        return None
    _assumed(column, "N", notes)
    return "N"


def _assumed(column: PointColumn, unit: str, notes: Notes) -> None:
    notes.noticed(
        f"unit_assumed_{column.holds}",
        "warning",
        f"Column {column.heading.text!r} has no unit: {unit} was taken. Write the unit into the heading.",
        "declare",
    )


def _stroke_m(columns: PointColumns) -> float | None:
    """Stroke, peak to peak: declared, one column's single value, or said above the table."""
    declared = columns.record.spec.motion.stroke_mm
    if declared is not None:
        return 1e-3 * declared
    travel = next((c for c in columns.columns if c.holds == "travel"), None)
    if travel is not None and columns.has_unit(travel):
        values = columns.si(travel)
        return float(np.nanmax(values)) if np.nanmax(values) - np.nanmin(values) < 1e-6 else None
    for line in columns.record.layout.preamble:
        match = STROKE.search(line)
        if match:
            factor = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254}[match[2].lower()]
            return factor * float(match[1].replace(",", "."))
    return None


def _values(columns: PointColumns, holds: str) -> Array | None:
    column = next((c for c in columns.columns if c.holds == holds), None)
    return None if column is None else columns.si(column, "degC" if holds == "temperature" else None)


def _set(
    sides: Sides, way: Direction, temperature_c: Array | None, setting: Array | None, columns: PointColumns
) -> PointSet | None:
    """The rows of one direction that have speed and force; a speed of nothing shows nothing."""
    v, f = sides.velocity_m_s[way], sides.force_n[way]
    keep = np.isfinite(v) & np.isfinite(f) & (v > 0)
    if not keep.any():
        return None
    warm = None if temperature_c is None or np.isnan(temperature_c[keep]).any() else temperature_c
    group = np.zeros(v.size) if setting is None else np.nan_to_num(setting)
    column = columns.of("force", way) or columns.of("force")
    half = np.full(v.size, 0.0 if column is None else 0.5 * step_of(column, columns, "N"))
    return PointSet(v, f, half, group, warm).where(keep)
