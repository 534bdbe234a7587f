"""A bench's CSV becomes a Run: laid out, channels told apart, parsed, cleaned, turned to SI and the package's signs."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from dampkit.bench.assemble import assemble
from dampkit.bench.channels import Channels, assign_channels
from dampkit.bench.checks import bench_checks
from dampkit.bench.corrections import corrected
from dampkit.bench.declared import BenchSpec
from dampkit.bench.encoding import as_8_bit
from dampkit.bench.layout import Layout, find_layout
from dampkit.bench.notes import Notes
from dampkit.bench.plausible import with_doubts
from dampkit.bench.run import Run
from dampkit.bench.signs import Orientation
from dampkit.bench.table import parse, rows_of
from dampkit.bench.temperature import with_trusted_temperature
from dampkit.bench.toml_file import declared
from dampkit.errors import UnreadableLog


@dataclass(frozen=True)
class Reading:
    """A run and how its log was understood."""

    run: Run
    layout: Layout
    channels: Channels
    orientation: Orientation


def read_run(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Run:
    """A bench log in SI and the package's signs; `bench` is a bench.toml or what was read from one.

    Raises UnreadableLog naming file, line or column, and BadSettings for an unusable bench.toml.
    """
    return read_log(path, bench).run


def read_log(path: str | Path, bench: str | Path | BenchSpec | None = None) -> Reading:
    """As `read_run`, with how the log was understood."""
    spec = declared(bench, BenchSpec) or BenchSpec()
    path = Path(path)
    where = str(path)
    raw = _bytes(path)
    digest = hashlib.sha256(raw).hexdigest()
    raw, codec, encoding = as_8_bit(raw, spec.text.encoding, where)
    layout = replace(find_layout(raw, codec, spec.text, where), encoding=encoding)
    channels = assign_channels(layout, spec, where)
    rows = rows_of(raw, layout)
    del raw
    notes = Notes()
    table = parse(rows, layout, sorted(c.column for c in channels.values()), where)
    del rows
    notes.did("log read", layout.described(), headings=", ".join(layout.headings))
    if table.damaged:
        notes.noticed("damaged_cells", "warning", f"Left out: {table.damaged}.")
    found = assemble(table, channels, layout, spec, notes=notes, file=path.name, digest=digest, where=where)
    looked_at = with_trusted_temperature(with_doubts(bench_checks(found.run)))  # as logged, before anything is moved
    run = corrected(looked_at, spec)
    return Reading(run, layout, found.channels, found.orientation)


def _bytes(path: Path) -> bytes:
    if path.is_dir():
        raise UnreadableLog(str(path), "this is a directory", "one log file", "name the file itself")
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise UnreadableLog(str(path), "no such file", "a log file", "check the path and the spelling") from None
    except OSError as error:
        raise UnreadableLog(
            str(path), f"cannot be opened: {error.strerror or error}", "a readable log file", "check access"
        ) from None
