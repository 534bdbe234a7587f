"""One made-up log in the many forms in which benches hand out a test: files, sheets of columns, loops, JSON."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array, median
from dampkit.virtual.programme import Programme
from dampkit.virtual.rig import Log

SIGNS = '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n\n[zero]\nforce_n = 0.0\n'
REST_S = 0.3  # before and after a stage, as far as the bench rests so long
HEADS = ("time s", "displacement mm", "force N")


@frozen
class Written:
    """The files of one test in order, and what a reader must be told of them."""

    files: dict[str, bytes]
    bench: str = SIGNS


@frozen
class Turn:
    """One whole turn of a stage at even steps of time, the first row not repeated; arrays (N,)."""

    frequency_hz: float
    displacement_m: Array
    force_n: Array


Form = Callable[[Log, Programme], Written]


def stages(log: Log, programme: Programme) -> Iterator[Log]:
    """Each stage with the rests beside it, its time from zero."""
    for begin, end in zip(programme.starts_s, programme.stops_s, strict=True):
        rest = min(REST_S, 0.5 * programme.dwell_s)
        rows = (log.time_s > begin - rest) & (log.time_s < end + rest)
        warm = None if log.temperature_c is None else log.temperature_c[rows]
        yield Log(log.time_s[rows] - log.time_s[rows][0], log.displacement_m[rows], log.force_n[rows], None, warm)


def turns(log: Log, programme: Programme) -> Iterator[Turn]:
    """The last whole turn of each stage at full speed; stages of one cycle alone come up to speed within it."""
    step = median(np.diff(log.time_s))
    for end, drive in zip(programme.stops_s, programme.drives, strict=True):
        period = 1.0 / drive.frequency_hz
        first = end - (1.0 + 2.0 * programme.run_up_turns) * period - step
        t = first + period * np.arange(round(period / step)) / round(period / step)
        x, f = (np.interp(t, log.time_s, values) for values in (log.displacement_m, log.force_n))
        yield Turn(drive.frequency_hz, x, f)


def rows_of(log: Log) -> list[list[float]]:
    return [[round(t, 4), round(x, 4), round(f, 2)] for t, x, f in zip(*_columns(log), strict=True)]


def _columns(log: Log) -> tuple[list[float], list[float], list[float]]:
    return log.time_s.tolist(), (log.displacement_m / 1e-3).tolist(), log.force_n.tolist()


def table(heads: Sequence[str], rows: Sequence[Sequence[object]], above: Sequence[str] = ()) -> bytes:
    lines = [*above, ",".join(heads), *(",".join("" if c is None else str(c) for c in row) for row in rows)]
    return ("\n".join(lines) + "\n").encode()


def one_file(log: Log, programme: Programme) -> Written:
    return Written({"run.csv": table(HEADS, rows_of(log))})


def gzipped(log: Log, programme: Programme) -> Written:
    return Written({"run.csv.gz": gzip.compress(table(HEADS, rows_of(log)), mtime=0)})


def file_a_speed(log: Log, programme: Programme) -> Written:
    return Written({f"speed_{i}.csv": table(HEADS, rows_of(s)) for i, s in enumerate(stages(log, programme), start=1)})


def time_anew(log: Log, programme: Programme) -> Written:
    return Written({"run.csv": table(HEADS, [row for stage in stages(log, programme) for row in rows_of(stage)])})


def _beside(columns: Sequence[Sequence[Sequence[object]]]) -> list[list[object]]:
    """Groups of columns of unequal length side by side, the rows of each group as given."""
    longest, width = max(map(len, columns)), len(columns[0][0])
    return [[c for group in columns for c in (group[i] if i < len(group) else [None] * width)] for i in range(longest)]


def side_by_side(log: Log, programme: Programme) -> Written:
    groups = [rows_of(stage) for stage in stages(log, programme)]
    return Written({"run.csv": table(HEADS * len(groups), _beside(groups))})


def json_objects(log: Log, programme: Programme) -> Written:
    return Written({"run.json": json.dumps([dict(zip(HEADS, row, strict=True)) for row in rows_of(log)]).encode()})


def json_lists(log: Log, programme: Programme) -> Written:
    columns = dict(zip(HEADS, map(list, zip(*rows_of(log), strict=True)), strict=True))
    return Written({"run.json": json.dumps(columns).encode()})


def json_table(log: Log, programme: Programme) -> Written:
    text = json.dumps({"note": "made-up data", "columns": HEADS, "data": rows_of(log)})
    return Written({"run.json": text.encode()})


def loops_in_hertz(log: Log, programme: Programme) -> Written:
    """Loops side by side, their frequency in the headings."""
    found = list(turns(log, programme))
    heads = [head for t in found for head in (f"displacement mm ({t.frequency_hz:.5f} Hz)", "force [N]")]
    return Written({"loops.csv": table(heads, _beside([_loop_rows(t) for t in found]))})


def loops_in_rpm(log: Log, programme: Programme) -> Written:
    """A file a loop, closed by its first row once more, the crank's speed above the table."""
    files = {}
    for i, turn in enumerate(turns(log, programme), start=1):
        rows = _loop_rows(turn)
        above = ["made-up data", f"crank speed: {60 * turn.frequency_hz:.4f} rpm"]
        files[f"loop_{i}.csv"] = table(("displacement mm", "force N"), [*rows, rows[0]], above)
    return Written(files)


def loops_at_speed(log: Log, programme: Programme) -> Written:
    """A file a loop, its peak speed above the table."""
    files = {}
    for i, (turn, drive) in enumerate(zip(turns(log, programme), programme.drives, strict=True), start=1):
        above = [f"peak speed {1000 * drive.peak_velocity_m_s:.3f} mm/s"]
        files[f"loop_{i}.csv"] = table(("displacement mm", "force N"), _loop_rows(turn), above)
    return Written(files)


def _loop_rows(turn: Turn) -> list[list[object]]:
    pairs = zip(turn.displacement_m / 1e-3, turn.force_n, strict=True)
    return [[round(float(x), 4), round(float(f), 2)] for x, f in pairs]


def crank_angle(log: Log, programme: Programme) -> Written:
    """A file a loop of crank angle from the dead centre, the stroke above the table, the rod in bench.toml."""
    files = {}
    for i, (turn, drive) in enumerate(zip(turns(log, programme), programme.drives, strict=True), start=1):
        rows = turn.force_n.size
        start = _from_dead_centre(turn) if not programme.crank_ratio else _from_highest(turn)
        degrees = (start + 360.0 * np.arange(rows) / rows) % 360.0
        above = [f"stroke {1000 * drive.stroke_m:.3f} mm", f"crank {60 * drive.frequency_hz:.4f} rpm"]
        body = [[round(float(a), 3), round(float(f), 2)] for a, f in zip(degrees, turn.force_n, strict=True)]
        files[f"angle_{i}.csv"] = table(("crank angle deg", "force N"), body, above)
    if not programme.crank_ratio:
        return Written(files)
    inward = SIGNS.replace('"extension"', '"compression"')  # this bench's slider is furthest out at the dead centre
    return Written(files, f"{inward}\n[motion]\nrod_ratio = {1 / programme.crank_ratio:g}\n")


def _from_dead_centre(turn: Turn) -> float:
    """Angle of the first row [deg] of a sine: x ~ cos(t + a) has its lowest place at t + a = 180."""
    return (float(np.degrees(np.angle(np.fft.rfft(turn.displacement_m)[1]))) + 180.0) % 360.0


def _from_highest(turn: Turn) -> float:
    """Angle of the first row [deg] from where the slider is furthest out, by a parabola through the rows near it."""
    x, rows = turn.displacement_m, turn.displacement_m.size
    top = int(np.argmax(x))
    near = np.arange(-max(2, rows // 24), max(2, rows // 24) + 1)
    bend, slope, _ = np.polyfit(near, x[(top + near) % rows], 2)
    return float((-360.0 * (top - slope / (2 * bend)) / rows) % 360.0)


def logger_text(log: Log, programme: Programme) -> Written:
    """A device's header lines, a clock of twelve hours with a date, an event in few rows."""
    begin = datetime(2024, 5, 31, 11, 59, 50)
    above = ["Header size: 4", "Device: made up", f"Sample count: {log.time_s.size}"]
    lines = []
    for i, (t, x, f) in enumerate(zip(*_columns(log), strict=True), start=1):
        clock = begin + timedelta(seconds=round(t, 4))
        text = f"{clock:%m/%d/%Y %I:%M:%S}.{clock.microsecond // 100:04d} {clock:%p}"
        lines.append([i, f" {text}", f"{x:.4f}", f"{f:.2f}", *(["start"] if i == 1 else [])])
    heads = ("Sample Number", "Date/Time", "Displacement mm", "Force N", "Events")
    return Written({"run.txt": table(heads, lines, above)})


def _worded(encoding: str, heads: Sequence[str]) -> Form:
    def written(log: Log, programme: Programme) -> Written:
        return Written({"run.csv": table(heads, rows_of(log)).decode().encode(encoding)})

    return written


def _in_units(length: str, metres: float, force: str, newtons: float) -> Form:
    def written(log: Log, programme: Programme) -> Written:
        scaled = replace(log, displacement_m=log.displacement_m / metres, force_n=log.force_n / newtons)
        rows = zip(scaled.time_s, scaled.displacement_m, scaled.force_n, strict=True)
        body = [[f"{t:.4f}", f"{x:.8f}", f"{f:.8f}"] for t, x, f in rows]
        return Written({"run.csv": table(("time s", f"stroke [{length}]", f"load [{force}]"), body)})

    return written


# exact by definition: foot (international agreement, 1959), kip of a thousand pounds-force, tonne-force of a thousand
# kilograms-force; from memory
FORMS: dict[str, Form] = {
    "one file": one_file,
    "gzip": gzipped,
    "a file a speed": file_a_speed,
    "time beginning anew": time_anew,
    "stages side by side": side_by_side,
    "JSON objects": json_objects,
    "JSON lists": json_lists,
    "JSON table": json_table,
    "loops side by side, hertz": loops_in_hertz,
    "loops a file, rpm": loops_in_rpm,
    "loops a file, peak speed": loops_at_speed,
    "crank angle": crank_angle,
    "logger text": logger_text,
    "Cyrillic": _worded("cp1251", ("время [s]", "перемещение [mm]", "сила [N]")),
    "Japanese": _worded("cp932", ("時間 [s]", "変位 [mm]", "荷重 [N]")),
    "Chinese": _worded("gb18030", ("时间 [s]", "位移 [mm]", "力 [N]")),
    "Central European": _worded("cp1250", ("čas [s]", "dráha [mm]", "síla [N]")),
    "feet and kips": _in_units("ft", 0.3048, "kip", 4448.2216152605),
    "tonnes": _in_units("m", 1.0, "tf", 9806.65),
    "centinewtons": _in_units("cm", 0.01, "cN", 0.01),
}
