"""`dampkit look`: how a record is understood, before any analysis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.options import AsLogged, Bench, Records
from dampkit.app.say import command_line, say
from dampkit.errors import CannotAnalyse
from dampkit.files import Output, check_outputs, text_output, write_all
from dampkit.frozen import frozen

if TYPE_CHECKING:
    from dampkit.bench.points import Points
    from dampkit.bench.record import Reading
    from dampkit.bench.run import Run
    from dampkit.quantities import Array

FIRST_ROWS = 5
SHADES = " .:*#"  # from no reading in a cell to many


@frozen
class Section:
    """A heading and its lines; `table` where the lines are rows of cells, the first being the heads."""

    title: str
    lines: tuple[str, ...] = ()
    table: tuple[tuple[str, ...], ...] = ()


def look_command(
    runs: Records,
    bench: Bench = None,
    save_bench: Annotated[
        Path | None, typer.Option(metavar="BENCH.toml", help="Write the reading down for the next logs of this bench.")
    ] = None,
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with pictures.")] = None,
    as_logged: AsLogged = False,
) -> None:
    from dampkit.bench.declared import BenchSpec
    from dampkit.bench.record import Reading
    from dampkit.bench.save import bench_toml
    from dampkit.bench.sense import odd_values
    from dampkit.bench.test import open_test
    from dampkit.bench.toml_file import declared, toml_text

    check_outputs([p for p in (save_bench, page) if p], [*runs, bench])
    spec = (declared(bench, BenchSpec) or BenchSpec()).used_as_logged(as_logged)
    seen = [part for found in open_test(runs, spec) for part in found]
    readings = [part for part in seen if isinstance(part, Reading)]
    points = [part for part in seen if not isinstance(part, Reading)]
    sections = sections_of(readings, points)
    odd = tuple(remark.message for remark in odd_values(spec, "bench"))
    sections += [Section("Declared, and seldom right", odd)] if odd else []
    outputs = []
    if save_bench and readings:
        first = readings[0]
        kept = "" if bench is None else toml_text(bench)
        text = bench_toml(first.channels, first.layout, first.orientation, spec, kept)
        outputs.append(text_output(save_bench, text))
    if page and readings:
        outputs.append(_page_output(page, readings[0], sections))
    write_all(outputs)
    say(answer(readings, points))
    if not readings:
        say(_tells())
    for section in sections:
        say(section.title)
        for line in section.lines or _aligned(section.table):
            say(f"  {line}")
    if readings:
        say("\n".join(loop_picture(readings)))
    for output in outputs:
        say(f"written: {output.path}")
    unwritten = [str(p) for p in (save_bench, page) if p and not readings]
    if unwritten:
        say(f"not written: {', '.join(unwritten)}, which are of logs; this is a table or a test by hand", err=True)
    say(_next_command(runs, (save_bench if readings else None) or bench))


def answer(readings: Sequence[Reading], points: Sequence[Points]) -> str:
    """The first line: whether an analysis can begin, or what a person has to say before."""
    unknown = not all(
        known for known in (*(r.run.direction_known for r in readings), *(p.direction_known for p in points))
    )
    try:
        holds = held(readings, points)
    except CannotAnalyse as error:
        return f"not ready: {error.found}"
    if unknown:
        return f"one question: which way is out? ({holds}; answer it in bench.toml: [signs])"
    return f"ready: {holds}"


def held(readings: Sequence[Reading], points: Sequence[Points]) -> str:
    """How much of what there is to analyse. Raises CannotAnalyse where there is no stage."""
    from dampkit.bench.join import joined
    from dampkit.curves.trace import trace
    from dampkit.quantities import DIRECTIONS

    if readings:
        count = len(trace(joined([r.run for r in readings])).loops)
        return f"{count} stage{'' if count == 1 else 's'}"
    sides = [p.points(d) for p in points for d in DIRECTIONS]
    return f"{sum(side.force_n.size for side in sides if side is not None)} points"


def _tells() -> str:
    """What points alone can tell, and which faults want whole strokes."""
    from dampkit.faults.causes import CAUSES
    from dampkit.report.sentences import name_of

    unseen = dict.fromkeys(name_of(cause.code) for cause in CAUSES if "loops" in cause.needs)
    return (
        "tells: curve, valve, damping ratio, comparison, pair, settings, advice; "
        f"not, since it takes whole strokes: {', '.join(unseen)}"
    )


def _next_command(runs: Sequence[Path], bench: Path | None) -> str:
    words = ["dampkit", "analyse", *map(str, runs), *(["--bench", str(bench)] if bench else [])]
    return f"next: {command_line([*words, '--damper', 'DAMPER.toml', '--report', 'RUN.html'])}"


def sections_of(readings: Sequence[Reading], points: Sequence[Points]) -> list[Section]:
    """Everything worth confirming about the records of a test, of whatever form they are."""
    doubts = tuple(f"{q.severity}: {q.message}" for p in points for q in p.quality)
    worth = [Section("Worth knowing", doubts)] if doubts else []
    return [*(understood(readings) if readings else []), *(_points_section(p) for p in points), *worth]


def _points_section(points: Points) -> Section:
    from dampkit.quantities import DIRECTIONS

    rows: list[tuple[str, ...]] = [("direction", "speed, m/s", "force, N")]
    for direction in DIRECTIONS:
        side = points.points(direction)
        pairs = [] if side is None else zip(side.velocity_m_s, side.force_n, strict=True)
        rows += [(direction, f"{v:.4g}", f"{f:.4g}") for v, f in pairs]
    return Section(
        f"{points.file}: a {points.form}, {points.rows_used} of {points.rows_read} rows used", table=tuple(rows)
    )


def understood(readings: Sequence[Reading]) -> list[Section]:
    """Everything worth confirming about the records of a test, in the order in which a person would check it."""
    from dampkit.bench.join import joined

    reading = readings[0]
    layout, run = reading.layout, joined([r.run for r in readings])
    text = [f"a test as {run.form}; {layout.described()}", f"rows of numbers from line {layout.first_line}"]
    text += [f"above them: {line}" for line in layout.preamble if line.strip()]
    text += [f"below them: {line}" for line in layout.footer]
    text += [
        f"and {r.run.file}: {r.run.rows_read} rows from line {r.layout.first_line}, "
        + ", ".join(f"{kind} from {c.heading!r}" for kind, c in r.channels.items())
        for r in readings[1:]
    ]
    return [
        Section(f"{run.file}: {run.rows_read} rows read, {run.rows_used} used", tuple(text)),
        Section("Columns", table=_channel_rows(reading)),
        Section("First rows, in these units and directions", table=_first_rows(reading)),
        Section("Direction", (reading.orientation.how, *_direction(reading))),
        Section("Stages", table=_stage_rows(run)),
        Section("Worth knowing", tuple(f"{q.severity}: {q.message}" for q in run.quality) or ("nothing",)),
    ]


def loop_picture(readings: Sequence[Reading]) -> list[str]:
    """Force against displacement of the whole test, in characters."""
    from dampkit.bench.join import joined

    run = joined([r.run for r in readings])
    return _character_picture(
        1000 * run.displacement_m, run.force_n, "displacement in mm, extension to the right", "force in N, tension"
    )


def _channel_rows(reading: Reading) -> tuple[tuple[str, ...], ...]:
    rows = [
        (kind, f"{channel.heading!r}, the {_ordinal(channel.column + 1)}", channel.unit or channel.form, channel.how)
        for kind, channel in reading.channels.items()
    ]
    return (("channel", "column", "unit", "how it was recognised"), *rows)


def _ordinal(n: int) -> str:
    return f"{n}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(n if n < 20 else n % 10, 'th') }"


def _first_rows(reading: Reading) -> tuple[tuple[str, ...], ...]:
    run = reading.run
    timed = {} if run.form == "loops" else {"time, s": run.time_s}
    columns = {**timed, "displacement, mm": 1000 * run.displacement_m, "force, N": run.force_n}
    if run.measured_velocity_m_s is not None:
        columns["velocity, m/s"] = run.measured_velocity_m_s
    if run.temperature_c is not None:
        columns["temperature, degC"] = run.temperature_c
    rows = [tuple(f"{values[i] + 0.0:.5g}" for values in columns.values()) for i in range(FIRST_ROWS)]
    return (tuple(columns), *rows)


def _direction(reading: Reading) -> tuple[str, ...]:
    turned = [
        name
        for name, factor in (("motion", reading.orientation.motion), ("force", reading.orientation.force))
        if factor < 0
    ]
    shown = "displacement counts extension, force counts tension as positive"
    return (shown, f"turned round for that: {' and '.join(turned) or 'nothing'}")


def _stage_rows(run: Run) -> tuple[tuple[str, ...], ...]:
    from dampkit.curves.trace import trace
    from dampkit.quantities import number

    try:
        loops = trace(run).loops
    except CannotAnalyse as error:
        return ((error.found,),)
    rows = [
        (
            str(loop.stage.index + 1),
            number(float(run.time_s[loop.stage.start]), 4),
            number(math.pi * loop.stage.frequency_hz * loop.stage.stroke_m, 3),
            number(1000 * loop.stage.stroke_m, 3),
            number(loop.stage.frequency_hz, 3),
            str(loop.stage.cycles),
        )
        for loop in loops
    ]
    return (("stage", "from, s", "top speed, m/s", "stroke, mm", "cycles a second", "cycles"), *rows)


def _aligned(table: tuple[tuple[str, ...], ...]) -> list[str]:
    widths = [max(len(cell) for cell in column) for column in zip(*table, strict=True)]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in table]


def _page_output(page: Path, reading: Reading, sections: list[Section]) -> Output:
    from dampkit.app.look_page import look_page

    return text_output(page, look_page(reading, sections))


def _character_picture(x: Array, y: Array, x_name: str, y_name: str, width: int = 64, height: int = 18) -> list[str]:
    """Lines of a picture of y against x, darker where more points fall; axes named, ends of the scales written.

    x, y: shape (N,), finite.
    """
    import numpy as np

    from dampkit.quantities import number

    counts = np.histogram2d(y, x, bins=(height, width))[0][::-1]
    busy = counts[counts > 0]
    edges = np.quantile(busy, [0.25, 0.5, 0.75]) if busy.size else np.zeros(3)
    shade = np.where(counts > 0, 1 + np.searchsorted(edges, counts, side="left"), 0)
    rows = ["".join(SHADES[int(s)] for s in line) for line in shade]
    high, low = number(float(y.max())), number(float(y.min()))
    margin = max(len(high), len(low))
    labels = [high, *[""] * (height - 2), low]
    lines = [f"{label:>{margin}} |{row}|" for label, row in zip(labels, rows, strict=True)]
    left, right = number(float(x.min())), number(float(x.max()))
    scale = f"{' ' * margin}  {left}{right:>{width - len(left)}}"
    return [f"{y_name} (up) against {x_name} (across)", *lines, scale]
