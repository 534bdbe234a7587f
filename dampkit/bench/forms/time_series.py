"""A time series: force and motion, a row a sample, with a time column or a known sample rate."""

from __future__ import annotations

from dampkit.bench.assemble import assemble
from dampkit.bench.channels import assign_channels
from dampkit.bench.checks import bench_checks
from dampkit.bench.corrections import corrected
from dampkit.bench.forms import hand_test
from dampkit.bench.notes import Notes
from dampkit.bench.plausible import with_doubts
from dampkit.bench.record import Reading, Record
from dampkit.bench.table import parse, rows_of
from dampkit.bench.temperature import with_trusted_temperature
from dampkit.bench.timing import rate_in_preamble
from dampkit.errors import UnreadableLog


def refusal(record: Record) -> str | None:
    """None where the record is a time series, else why not."""
    try:
        channels = assign_channels(record.layout, record.spec, record.where)
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
    layout, spec, where = record.layout, record.spec, record.where
    channels = assign_channels(layout, spec, where)
    table = parse(rows_of(record.text, layout), layout, sorted(c.column for c in channels.values()), where)
    notes = Notes()
    notes.did("log read", layout.described(), headings=", ".join(layout.headings))
    if table.damaged:
        notes.noticed("damaged_cells", "warning", f"Left out: {table.damaged}.")
    found = assemble(table, channels, layout, spec, notes=notes, file=record.file, digest=record.sha256, where=where)
    looked_at = with_trusted_temperature(with_doubts(bench_checks(found.run)))  # as logged, before anything is moved
    return (Reading(corrected(looked_at, spec), layout, found.channels, found.orientation),)
