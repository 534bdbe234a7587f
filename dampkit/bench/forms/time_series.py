"""A time series: force and motion, a row a sample, with a time column or a known sample rate.

Several recordings may stand in one: side by side under repeated headings, or below one another, time beginning anew.
"""

from __future__ import annotations

from dataclasses import replace

from dampkit.bench.assemble import assemble
from dampkit.bench.cells import number_of, shown
from dampkit.bench.channels import Channels, assign_channels
from dampkit.bench.checks import with_row_checks
from dampkit.bench.corrections import corrected
from dampkit.bench.forms import hand_test
from dampkit.bench.layout import Layout
from dampkit.bench.plausible import with_doubts
from dampkit.bench.record import Reading, Record
from dampkit.bench.run import Notes
from dampkit.bench.split import recordings, side_by_side, trimmed
from dampkit.bench.table import Table
from dampkit.bench.temperature import with_trusted_temperature
from dampkit.bench.timing import rate_in_preamble
from dampkit.bench.told import run_with
from dampkit.errors import UnreadableLog


def refusal(record: Record) -> str | None:
    """None where the record is a time series, else why not."""
    try:
        channels = assign_channels(_layouts(record)[0], record.spec, record.where)
    except UnreadableLog as error:
        return error.found
    if hand_test.refusal(record) is None:
        return "each row is a pull, with its own direction and time"
    time = channels.get("time")
    timed = time is not None and time.form != "sample"
    if not timed and record.spec.timing.sample_rate_hz is None and rate_in_preamble(record.layout.preamble) is None:
        what = "no time column" if time is None else f"column {time.heading!r} only counts the rows"
        return f"{what}, and nothing gives the sample rate ([timing] sample_rate_hz)"
    return None


def read(record: Record) -> tuple[Reading, ...]:
    """Raises UnreadableLog naming line or column."""
    groups = [_parsed(record, layout) for layout in _layouts(record)]
    record.held.let_go()
    return tuple(reading for group in groups for reading in _readings(record, *group))


def _layouts(record: Record) -> tuple[Layout, ...]:
    return side_by_side(record.layout, record.headings, timed=True)


def _parsed(record: Record, layout: Layout) -> tuple[Layout, Channels, Table]:
    channels = assign_channels(layout, record.spec, record.where)
    columns = sorted(c.column for c in channels.values())
    table = record.table(layout, columns)
    return layout, channels, trimmed(table) if layout is not record.layout else table


def _readings(record: Record, layout: Layout, channels: Channels, table: Table) -> list[Reading]:
    """A reading for each recording in a group of columns."""
    time = channels.get("time")
    anew = None if time is None or time.form == "clock" else time.column
    apart = tuple(c.column for kind, c in channels.items() if kind in ("force", "displacement", "velocity"))
    return [
        _one_reading(record, replace(layout, first_line=layout.first_line + at), channels, part)
        for at, part in recordings(table, anew, apart)
    ]


def _one_reading(record: Record, layout: Layout, channels: Channels, table: Table) -> Reading:
    """A recording's columns as a run, with what its rows show about the bench, and what is declared taken out."""
    spec = record.spec
    notes = Notes()
    notes.did("log read", layout.described(), headings=", ".join(layout.headings))
    if table.damaged:
        notes.noticed("damaged_cells", "warning", f"Left out: {table.damaged}.")
    if _cut_off(layout):
        message = f"The last line, {shown(layout.footer[0])}, stops in the middle of a row: the record may have been cut short,"
        notes.noticed(
            "cut_short", "warning", f"{message} and what came after be missing. Take it from the bench again."
        )
    found = assemble(
        table, channels, layout, spec, notes=notes, file=record.file, digest=record.sha256, where=record.where
    )
    looked_at = with_trusted_temperature(with_doubts(with_row_checks(found.run)))  # as logged, before anything is moved
    return Reading(run_with(record.told, corrected(looked_at, spec)), layout, found.channels, found.orientation)


def _cut_off(layout: Layout) -> bool:
    """Whether the one line below the rows begins as one of them and has too few cells."""
    cells = [cell.strip() for cell in layout.footer[0].split(layout.delimiter)] if len(layout.footer) == 1 else []
    begun = len(cells) > 1 and number_of(cells[0], layout.marks) is not None
    return begun and sum(map(bool, cells)) < layout.width - layout.optional
