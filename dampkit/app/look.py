"""`dampkit look`: how a log is understood, before any analysis."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import typer

from dampkit.bench.declared import BenchSpec
from dampkit.bench.read import read_log
from dampkit.bench.record import Reading
from dampkit.bench.save import bench_toml
from dampkit.bench.toml_file import declared
from dampkit.curves.loop import Stage
from dampkit.curves.stages import find_stages
from dampkit.errors import CannotAnalyse
from dampkit.files import Output, check_outputs, text_output, write_all
from dampkit.quantities import Array, number

FIRST_ROWS = 5
SHADES = " .:*#"  # from no reading in a cell to many


@dataclass(frozen=True)
class Section:
    """A heading and its lines; `table` where the lines are rows of cells, the first being the heads."""

    title: str
    lines: tuple[str, ...] = ()
    table: tuple[tuple[str, ...], ...] = ()


def look(run: Path, bench: Path | None, save_bench: Path | None, page: Path | None, as_logged: bool = False) -> None:
    """Print how the log is understood; write the reading down as TOML and as a page where asked for."""
    check_outputs([p for p in (save_bench, page) if p], [run])
    spec = (declared(bench, BenchSpec) or BenchSpec()).used_as_logged(as_logged)
    reading = read_log(run, spec)
    sections = understood(reading)
    outputs = (
        [text_output(save_bench, bench_toml(reading.channels, reading.layout, reading.orientation, spec))]
        if save_bench
        else []
    )
    if page:
        outputs.append(_page_output(page, reading, sections))
    write_all(outputs)
    for section in sections:
        typer.echo(section.title)
        for line in section.lines or _aligned(section.table):
            typer.echo(f"  {line}")
    typer.echo("\n".join(loop_picture(reading)))
    for output in outputs:
        typer.echo(f"written: {output.path}")


def understood(reading: Reading) -> list[Section]:
    """Everything worth confirming about a reading, in the order in which a person would check it."""
    layout, run = reading.layout, reading.run
    text = [layout.described(), f"rows of numbers from line {layout.first_line}"]
    text += [f"above them: {line}" for line in layout.preamble if line.strip()]
    text += [f"below them: {line}" for line in layout.footer]
    return [
        Section(f"{run.file}: {run.rows_read} rows read, {run.rows_used} used", tuple(text)),
        Section("Columns", table=_channel_rows(reading)),
        Section("First rows, in these units and directions", table=_first_rows(reading)),
        Section("Direction", (reading.orientation.how, *_direction(reading))),
        Section("Stages", table=_stage_rows(reading)),
        Section("Worth knowing", tuple(f"{q.severity}: {q.message}" for q in run.quality) or ("nothing",)),
    ]


def loop_picture(reading: Reading) -> list[str]:
    """Force against displacement of the whole log, in characters."""
    run = reading.run
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
    columns = {"time, s": run.time_s, "displacement, mm": 1000 * run.displacement_m, "force, N": run.force_n}
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


def _stage_rows(reading: Reading) -> tuple[tuple[str, ...], ...]:
    try:
        stages: tuple[Stage, ...] = find_stages(reading.run)
    except CannotAnalyse as error:
        return ((error.found,),)
    rows = [
        (
            str(stage.index + 1),
            number(float(reading.run.time_s[stage.start]), 4),
            number(3.14159265 * stage.frequency_hz * stage.stroke_m, 3),
            number(1000 * stage.stroke_m, 3),
            number(stage.frequency_hz, 3),
            str(stage.cycles),
        )
        for stage in stages
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
