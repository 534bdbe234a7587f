"""Closed loops without time: displacement or crank angle and force over whole turns, at a frequency that is told.

One loop a record, or several side by side under repeated headings. The frequency stands in bench.toml, in a heading of
the loop (`Force N, 90 rpm`) or in the lines above the table; a crank's angle asks for its stroke besides.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.assemble import assemble
from dampkit.bench.cell import cell_checks
from dampkit.bench.channels import Channel, Channels, assign_channels, declared_column, require_units
from dampkit.bench.corrections import corrected
from dampkit.bench.declared import BenchSpec
from dampkit.bench.headings import read_heading
from dampkit.bench.kinematics import (
    closing_row,
    even_in_place,
    place_of_crank,
    turns_of_angle,
    turns_of_sine,
    whole_turns,
)
from dampkit.bench.layout import Layout
from dampkit.bench.plausible import with_doubts
from dampkit.bench.record import Reading, Record
from dampkit.bench.run import Notes
from dampkit.bench.signs import work_share
from dampkit.bench.split import side_by_side, trimmed
from dampkit.bench.table import Table
from dampkit.bench.timing import rate_in_preamble
from dampkit.bench.told import run_with
from dampkit.bench.turning_rate import rate_of, stroke_m
from dampkit.bench.units import factor_of
from dampkit.errors import UnreadableLog
from dampkit.quantities import Array, number

FEWEST_ROWS = 24
CLEARER = 2.0  # times the work of the other way of counting an angle
TIME_COLUMN = -1  # where the time that is worked out is put beside the log's own columns


def refusal(record: Record) -> str | None:
    """None where the record is of closed loops, else why not."""
    if any("time" in h.by_word or "clock" in h.by_word for h in record.headings) or record.layout.clock_columns:
        return "there is a time column"
    if record.spec.timing.sample_rate_hz is not None or rate_in_preamble(record.layout.preamble) is not None:
        return "the sample rate is given, so the rows are in time"
    layout = _layouts(record)[0]
    try:
        channels = assign_channels(*_with_angle(record, layout), record.where)
    except UnreadableLog as error:
        return error.found
    if "displacement" not in channels:
        return "no column is the displacement or the crank's angle"
    if rate_of(_own(layout), layout.preamble, record.spec) is None:
        return "nothing says how often a second it is gone round ([timing] frequency_hz or crank_rpm)"
    return None


def read(record: Record) -> tuple[Reading, ...]:
    """Raises UnreadableLog naming line or column."""
    return tuple(_read_loop(record, layout) for layout in _layouts(record))


def _layouts(record: Record) -> tuple[Layout, ...]:
    return side_by_side(record.layout, record.headings, timed=False)


def _own(layout: Layout) -> list[str]:
    return [h for i, h in enumerate(layout.headings) if h != f"column {i + 1}"]


def _angle_column(record: Record, layout: Layout) -> int | None:
    """The column of the crank's angle, where the log has one and no displacement."""
    named = declared_column(
        "angle", [read_heading(h) for h in layout.headings], record.spec, record.where, layout.headings
    )
    if named is not None:
        return named
    own = [i for i, h in enumerate(layout.headings) if h.strip().casefold() != f"column {i + 1}"]
    fitting = [i for i in own if record.headings[i].names_angle]
    displaced = any("displacement" in record.headings[i].by_word for i in own)
    return fitting[0] if len(fitting) == 1 and not displaced else None


def _with_angle(record: Record, layout: Layout) -> tuple[Layout, BenchSpec]:
    """The layout with the angle's column as the displacement that is worked out from it, and a spec that fits."""
    column, spec = _angle_column(record, layout), record.spec
    if column is None:
        return layout, spec
    heads = tuple("displacement [m]" if i == column else h for i, h in enumerate(layout.headings))
    below = tuple("" if i == column else u for i, u in enumerate(layout.units))
    columns = spec.columns.model_copy(update={"displacement": None})
    units = spec.units.model_copy(update={"displacement": None})
    return replace(layout, headings=heads, units=below), spec.model_copy(update={"columns": columns, "units": units})


def _read_loop(record: Record, layout: Layout) -> Reading:
    where, notes = record.where, Notes()
    angle = _angle_column(record, layout)
    known, spec = _with_angle(record, layout)
    channels = assign_channels(known, spec, where)
    if "displacement" not in channels:
        raise UnreadableLog(where, "no column is the displacement or the crank's angle", "one of them", "name it")
    channels = {kind: c for kind, c in channels.items() if kind not in ("time", "velocity")}
    require_units(channels, where)
    notes.did("loop read", layout.described(), headings=", ".join(layout.headings))
    table = record.table(layout, sorted(c.column for c in channels.values()))
    rows_read = table.columns[channels["force"].column].size
    table = _complete(trimmed(table), channels, where, notes)
    moved, force = (table.columns[channels[kind].column] for kind in ("displacement", "force"))
    place, turns = _by_place(moved, force, record, notes) if angle is None else _by_angle(moved, force, record, notes)
    stroke = float(np.ptp(place)) * (1.0 if angle is not None else _metres(channels))
    rate = rate_of(_own(layout), layout.preamble, record.spec)
    if rate is None:
        raise UnreadableLog(where, "nothing says how often a second this loop is gone round", "a frequency", _ASK)
    frequency_hz = rate.turns_a_second(stroke)
    notes.did("time from the turns", f"closed loop; speed from {rate.source}", frequency_hz=frequency_hz)
    notes.noticed(
        "time_from_turns",
        "note",
        f"The log has no time: speeds are as exact as {number(frequency_hz, 4)} turns a second, from {rate.source}.",
        "declare",
    )
    order = np.flatnonzero(np.diff(turns, prepend=-1.0) > 0)
    if order.size < FEWEST_ROWS * max(1.0, round(float(turns.max()))):
        few = f"{order.size} rows in {max(1, round(float(turns.max())))} turns"
        raise UnreadableLog(where, few, f"at least {FEWEST_ROWS} rows a turn", "log more rows a turn")
    kept = {c: values[order] for c, values in table.columns.items()}
    kept |= {channels["displacement"].column: place[order], TIME_COLUMN: turns[order] / frequency_hz}
    channels["time"] = Channel("time", TIME_COLUMN, "turns", "s", f"from {rate.source}")
    found = assemble(
        Table(kept), channels, layout, spec, notes=notes, file=record.file, digest=record.sha256, where=where
    )
    run = replace(found.run, form="loops", closed_hz=frequency_hz, rows_read=rows_read)
    run = with_doubts(replace(run, quality=(*run.quality, *cell_checks(run))))
    shown: Channels = {kind: c for kind, c in found.channels.items() if kind != "time"}
    if angle is not None:
        how = "worked out from the crank's angle and the stroke"
        shown["displacement"] = replace(shown["displacement"], heading=layout.headings[angle], how=how)
    return Reading(run_with(record.told, corrected(run, spec)), layout, shown, found.orientation)


_ASK = "state it in bench.toml: [timing] frequency_hz = 1.5, or crank_rpm = 90.0"


def _metres(channels: Channels) -> float:
    return factor_of(str(channels["displacement"].unit), "displacement")


def _complete(table: Table, channels: Channels, where: str, notes: Notes) -> Table:
    """Only the rows that have place and force."""
    there = np.isfinite(table.columns[channels["force"].column])
    there &= np.isfinite(table.columns[channels["displacement"].column])
    if there.sum() < FEWEST_ROWS:
        raise UnreadableLog(where, f"{int(there.sum())} complete rows in a loop", f"at least {FEWEST_ROWS}", "log more")
    if not there.all():
        rows = int((~there).sum())
        notes.noticed("rows_missing", "note", f"{rows} of {there.size} rows lack a reading and were left out.")
    if table.damaged:
        notes.noticed("damaged_cells", "warning", f"Left out: {table.damaged}.")
    return Table({c: values[there] for c, values in table.columns.items()})


def _by_place(place: Array, force: Array, record: Record, notes: Notes) -> tuple[Array, Array]:
    """Place and turns of the rows of a loop of displacement; rows even in time unless they lie along the stroke."""
    if not np.ptp(place) > 0:
        raise UnreadableLog(record.where, "the displacement does not change", "a whole turn", "check the column")
    drive = record.spec.motion.drive
    if even_in_place(place) and drive is None:
        raise UnreadableLog(
            record.where,
            "the rows lie at even steps of displacement: taken along the stroke of a crank, or at constant speed",
            "the drive, since speeds at mid-stroke differ by half",
            'state it in bench.toml: [motion] drive = "sine", or "constant-speed"',
        )
    if even_in_place(place) and drive == "sine":
        notes.did("turns from the place", "rows along the stroke; sine drive declared in bench.toml")
        return place, turns_of_sine(place)
    rows = place.size - int(closing_row(place, force))
    turns = np.arange(rows) * (whole_turns(place) / rows)
    return place, np.concatenate([turns, np.full(place.size - rows, -1.0)])  # the closing row is the first one again


def _by_angle(angle: Array, force: Array, record: Record, notes: Notes) -> tuple[Array, Array]:
    """Place and turns of the rows of a loop of crank angle."""
    motion, stroke = record.spec.motion, stroke_m(record.layout.preamble, record.spec)
    if stroke is None:
        raise UnreadableLog(
            record.where, "a crank's angle without a stroke", "the stroke", "state it: [motion] stroke_mm = 50.0"
        )
    column = _angle_column(record, record.layout)
    unit = "" if column is None else record.headings[column].unit_text.strip().lower()
    rad = angle if unit.startswith("rad") else np.radians(angle)
    turns = turns_of_angle(rad)
    if not turns[-1] > 0.9:
        found = f"the angle covers {number(float(turns[-1]), 2)} of a turn"
        raise UnreadableLog(record.where, found, "one whole turn or more", "log a whole turn; check the angle's unit")
    ways = {end: place_of_crank(rad, stroke, motion.rod_ratio, end) for end in (True, False)}
    share = {end: abs(work_share(np.append(x, x[0]), np.append(force, force[0]))) for end, x in ways.items()}
    from_end = motion.rod_ratio is not None or share[True] > share[False]
    if motion.rod_ratio is None and max(share.values()) < CLEARER * min(share.values()):
        raise UnreadableLog(
            record.where,
            "whether the angle counts from the end or the middle of the stroke does not show",
            "a crank's angle from its dead centre",
            "state the rod: [motion] rod_ratio = 4.0 (its length over the crank's radius); angles then count from there",
        )
    said = "the end" if from_end else "the middle"
    notes.did(
        f"displacement from the crank's angle, counted from {said} of the stroke", "work taken in", stroke_m=stroke
    )
    last = np.floor(turns[-1] + 0.5 * turns[-1] / turns.size + 1e-9)
    return ways[from_end], np.where(turns < max(last, 1.0) - 1e-9, turns, -1.0)
