"""How a bench writes its log: pure formatting of channels that are already recorded."""

from __future__ import annotations

from typing import Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import INCH_M, KILOGRAM_FORCE_N, POUND_FORCE_N, ZERO_CELSIUS_K, Array
from dampkit.virtual.rig import Log

Channel = Literal["time", "clock", "count", "displacement", "velocity", "force", "temperature"]
PER_UNIT: dict[str, float] = {
    "": 1.0,
    "s": 1.0,
    "ms": 1e-3,
    "min": 60.0,
    "m": 1.0,
    "cm": 1e-2,
    "mm": 1e-3,
    "in": INCH_M,
    "m/s": 1.0,
    "mm/s": 1e-3,
    "in/s": INCH_M,
    "N": 1.0,
    "kN": 1e3,
    "daN": 10.0,
    "kgf": KILOGRAM_FORCE_N,
    "lbf": POUND_FORCE_N,
}


@frozen
class Column:
    """One column: what it holds, its header, the unit of its numbers, and decimals."""

    channel: Channel
    header: str
    unit: str
    decimals: int


@frozen
class Dialect:
    """A habit of writing. `force_sign` and `displacement_sign` are +1 for tension and extension positive."""

    name: str
    columns: tuple[Column, ...]
    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    newline: str = "\n"
    preamble: tuple[str, ...] = ()
    units_row: tuple[str, ...] = ()
    footer: tuple[str, ...] = ()
    force_sign: int = 1
    displacement_sign: int = 1
    clock_start_s: float = 32400.0


PLAIN = Dialect(
    "plain",
    (
        Column("time", "time_s", "s", 3),
        Column("displacement", "displacement_mm", "mm", 3),
        Column("force", "force_N", "N", 1),
        Column("temperature", "temperature_C", "degC", 1),
    ),
)
GERMAN = Dialect(
    "german",
    (
        Column("time", "Zeit", "s", 3),
        Column("displacement", "Weg", "mm", 3),
        Column("force", "Kraft", "kN", 4),
        Column("temperature", "Temperatur", "degC", 1),
    ),
    delimiter=";",
    decimal=",",
    encoding="cp1252",
    newline="\r\n",
    preamble=("Prüfstand 2;erfundene Daten", "Prüfer;K. Moosgrün", "Bemerkung;Dämpfer stehend geprüft", ""),
    units_row=("s", "mm", "kN", "°C"),
)
INCH = Dialect(
    "inch",
    (
        Column("time", "Time (s)", "s", 4),
        Column("displacement", "Stroke (in)", "in", 5),
        Column("force", "Load (lbf)", "lbf", 2),
        Column("temperature", "Body temp (degF)", "degF", 1),
    ),
    delimiter="\t",
    preamble=("# made-up data", "# bench: tall frame, cell at the top"),
    footer=("# end of log",),
    force_sign=-1,
    displacement_sign=-1,
)
CLOCK = Dialect(
    "clock",
    (
        Column("clock", "clock", "hh:mm:ss", 4),
        Column("displacement", "stroke [mm]", "mm", 3),
        Column("force", "load [N]", "N", 1),
        Column("temperature", "oil temp [degC]", "degC", 1),
    ),
    preamble=("made-up data", "rows follow"),
)
SPEED_ONLY = Dialect(
    "speed-only",
    (
        Column("time", "t [ms]", "ms", 1),
        Column("velocity", "v [mm/s]", "mm/s", 2),
        Column("force", "F [daN]", "daN", 3),
    ),
    delimiter=";",
)
DIALECTS = {d.name: d for d in (PLAIN, GERMAN, INCH, CLOCK, SPEED_ONLY)}


def write_csv(log: Log, dialect: Dialect) -> bytes:
    """The log as bytes. A column whose channel the log lacks is left out, with its place in the units row."""
    present = [i for i, c in enumerate(dialect.columns) if _channel(log, c, dialect) is not None]
    columns = [dialect.columns[i] for i in present]
    texts = [_text(log, c, dialect) for c in columns]
    head = list(dialect.preamble)
    head.append(dialect.delimiter.join(c.header for c in columns))
    if dialect.units_row:
        head.append(dialect.delimiter.join(dialect.units_row[i] for i in present))
    body = map(dialect.delimiter.join, zip(*texts, strict=True))
    text = dialect.newline.join([*head, *body, *dialect.footer])
    return (text + dialect.newline).encode(dialect.encoding)


def _channel(log: Log, column: Column, dialect: Dialect) -> Array | None:
    """The column's numbers in its unit and sign; None where the log has no such channel."""
    along = {"displacement": log.displacement_m, "velocity": log.velocity_m_s}
    if column.channel in along:
        values = along[column.channel]
        return None if values is None else values * (dialect.displacement_sign / PER_UNIT[column.unit])
    if column.channel == "force":
        return log.force_n * (dialect.force_sign / PER_UNIT[column.unit])
    if column.channel == "temperature":
        celsius = log.temperature_c
        if celsius is None or column.unit == "degC":
            return celsius
        return celsius * 1.8 + 32.0 if column.unit == "degF" else celsius + ZERO_CELSIUS_K
    if column.channel == "count":
        return np.arange(log.time_s.size, dtype=np.float64)
    return log.time_s / PER_UNIT["s" if column.channel == "clock" else column.unit]


def _text(log: Log, column: Column, dialect: Dialect) -> list[str]:
    values = _channel(log, column, dialect)
    assert values is not None
    if column.channel == "clock":
        return _clock(values + dialect.clock_start_s, column.decimals)
    rounded = np.round(values, column.decimals) + 0.0  # no minus before a zero
    joined = "\n".join([f"%.{column.decimals}f"] * rounded.size) % tuple(rounded.tolist())
    return joined.replace(".", dialect.decimal).split("\n")


def _clock(seconds: Array, decimals: int) -> list[str]:
    ticks = np.round(seconds * 10**decimals).astype(np.int64)
    whole, part = np.divmod(ticks, 10**decimals)
    minutes, second = np.divmod(whole, 60)
    hour, minute = np.divmod(minutes, 60)
    parts = zip(hour.tolist(), minute.tolist(), second.tolist(), part.tolist(), strict=True)
    return [f"{h:02d}:{m:02d}:{s:02d}.{p:0{decimals}d}" for h, m, s, p in parts]


def bench_toml(dialect: Dialect, zero_known: bool = True, extra: str = "") -> str:
    """What a reader needs to be told about a log in this dialect."""
    force = "tension" if dialect.force_sign > 0 else "compression"
    travel = "extension" if dialect.displacement_sign > 0 else "compression"
    text = f'[signs]\nforce_positive = "{force}"\ndisplacement_positive = "{travel}"\n'
    if zero_known:
        text += "\n[zero]\nforce_n = 0.0\n"
    return text + (f"\n{extra}" if extra else "")
