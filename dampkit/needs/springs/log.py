"""A log of load against deflection, read as any bench's log is."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from dampkit.bench.channels import Channel, assign_channels
from dampkit.bench.declared import BenchSpec
from dampkit.bench.record import open_record
from dampkit.bench.units import UNITS, to_si
from dampkit.errors import UnreadableLog
from dampkit.quantities import Array


def read_spring_log(path: str | Path, spec: BenchSpec | None = None) -> tuple[Array, Array]:
    """Deflection [m] and load [N] in the order read, shape (rows,), both turned so that they grow together.

    Headings and units are found as in a bench log; `spec` declares what they leave open ([columns] displacement and
    force, [units]). Rows with a gap are left out. Raises UnreadableLog where the log cannot be read so.
    """
    record = open_record(Path(path), spec or BenchSpec())
    where, layout = record.where, record.layout
    channels = assign_channels(layout, record.spec, where)
    both = [_with_unit(channels.get(kind), kind, where) for kind in ("displacement", "force")]
    table = record.table(layout, sorted(c.column for c in both))
    x, load = (to_si(table.columns[c.column], c.unit or "", c.kind) for c in both)
    whole = np.isfinite(x) & np.isfinite(load)
    x, load = x[whole], load[whole]
    if x.size < 2 or np.ptp(x) == 0:
        raise UnreadableLog(
            where, "the deflection never changes", "a spring loaded and unloaded in steps", "check the columns"
        )
    load = load if load.mean() >= 0 else -load
    return (x if np.polyfit(x, load, 1)[0] > 0 else -x), load


def _with_unit(channel: Channel | None, kind: str, where: str) -> Channel:
    word = "deflection" if kind == "displacement" else "load"
    if channel is None:
        raise UnreadableLog(where, f"no column for the {word}", f"a heading such as '{kind} [mm]'" if kind == "displacement"
                            else "a heading such as 'force [N]'", f"name it in a bench file: [columns] {kind} = \"...\"")  # fmt: skip
    if channel.unit is None:
        units = ", ".join(UNITS[channel.kind])
        raise UnreadableLog(where, f"column {channel.heading!r} has no unit", f"one of {units}",
                            f'put it in the heading, or in a bench file: [units] {kind} = "..."')  # fmt: skip
    return channel
