"""A result where it was worked out: in a notebook and at a prompt. A few lines and the page's own pictures."""

from __future__ import annotations

from base64 import b64encode
from typing import TYPE_CHECKING, Any

from markupsafe import escape

from dampkit.errors import visible
from dampkit.outcome.result import Result
from dampkit.outcome.vehicle_record import NeedResult
from dampkit.report import first, words
from dampkit.report.car import need_picture
from dampkit.report.document import inks
from dampkit.report.figure_file import figure_svg
from dampkit.report.interactive import figure
from dampkit.report.page import big_pictures
from dampkit.report.picture import Picture
from dampkit.report.pictures import SI
from dampkit.report.plain import shortened
from dampkit.report.sentences import faults_said
from dampkit.report.simplify import TOLERANCE_SMALL, simplified

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

REASONS, FAULTS = 3, 3  # lines of each that are shown
WIDE_PX = 456


def figures(result: Result) -> dict[str, Figure]:
    """The pictures of the page that can be zoomed, by their ids there, in the colours that they have there."""
    return {picture.id: plotted(picture) for picture in big_pictures(result)}


def need_figures(result: NeedResult) -> dict[str, Figure]:
    """`need`: the band alone; empty without a target."""
    need = result.vehicle.need
    return {} if need is None else {"need": plotted(need_picture(need, SI))}


def plotted(picture: Picture) -> Figure:
    """A picture for plotly, its axes named, every colour put in."""
    from plotly.graph_objects import Figure as Made

    data = figure(picture)
    axis = {"gridcolor": "ink:rule", "zerolinecolor": "ink:ink", "automargin": True}
    own = data["layout"]
    layout = {
        "title": {"text": picture.title},
        "xaxis": axis | {"title": {"text": picture.x_axis.text}},
        "yaxis": axis | own["yaxis"] | {"title": {"text": picture.y_axis.text}},
        "annotations": own["annotations"][1:],  # the first names the axes, for a page on a phone
        "legend": {"orientation": "h", "y": -0.2},
        "font": {"color": "ink:ink"},
        "paper_bgcolor": "ink:paper",
        "plot_bgcolor": "ink:paper",
        "hovermode": "closest",
    }
    return Made(_inked({"data": data["data"], "layout": layout}))


def _inked(value: Any) -> Any:
    """Colours in the place of their names."""
    if isinstance(value, str):
        return inks()[value[4:]] if value.startswith("ink:") else value
    if isinstance(value, list):
        return [_inked(part) for part in value]
    return {key: _inked(part) for key, part in value.items()} if isinstance(value, dict) else value


def html(result: Result) -> str:
    """Verdict, reasons, faults, next step and the one picture that shows them, on a few kilobytes."""
    rows = [f"<li>{_text(line)}</li>" for line in result.verdict.reasons[:REASONS]]
    picture = first.first_picture(result)
    drawn = "" if picture is None else _small(picture)
    return (
        f'<div style="background:#fff;color:{inks()["ink"]};padding:8px;max-width:{WIDE_PX}px">'
        f"<div>{_text(_unit(result))}</div>"
        f'<h3 style="margin:4px 0">{_text(words.VERDICTS[result.verdict.action][0])}</h3>'
        f'<ul style="margin:0">{"".join(rows)}</ul>'
        f"<p>{'<br>'.join(_text(line) for line in _found(result))}</p>"
        f"<p><b>Next:</b> {_text(result.verdict.next_step)}</p>{drawn}</div>"
    )


def brief(result: Result) -> str:
    """The same in a few lines of text."""
    lines = [f"<Result {_unit(result)}: {result.verdict.action}"]
    lines += [f" because {reason}" for reason in result.verdict.reasons[:REASONS]]
    lines += [f" {line}" for line in _found(result)]
    return visible_lines([*lines, f" next: {result.verdict.next_step}>"])


def need_brief(result: NeedResult) -> str:
    """Name and the figures of the corner in a few lines."""
    car = result.vehicle
    target = "no target" if car.target_damping_ratio is None else f"target ratio {car.target_damping_ratio:g}"
    lines = [
        f"<NeedResult {car.name or 'a vehicle without a name'}: {target}",
        f" critical damping {car.critical_damping_n_s_m:.0f} N s/m at the wheel; body {car.body_frequency_hz:.2f} Hz, "
        f"wheel {car.wheel_frequency_hz:.1f} Hz>",
    ]
    return visible_lines(lines)


def visible_lines(lines: list[str]) -> str:
    return "\n".join(visible(shortened(line)) for line in lines)


def _unit(result: Result) -> str:
    more = len(result.run.files) - 1
    file = result.run.file + (f" and {more} more" if more > 0 else "")
    return f"{result.damper.serial}, {file}" if result.damper.serial else file


def _found(result: Result) -> list[str]:
    said = zip(result.faults[:FAULTS], faults_said(result)[:FAULTS], strict=True)
    shown = [f"{level}: {f.sentence}{f' (likelihood {sure})' if sure else ''}" for f, (level, sure) in said]
    left = len(result.faults) - len(shown)
    return [*shown, *([f"and {left} more in .faults"] if left else [])] or ["no fault found or suspected"]


def _small(picture: Picture) -> str:
    """As an image, so that neither its styles nor its ids reach the rest of a notebook."""
    drawn = figure_svg(simplified(picture, TOLERANCE_SMALL)).encode()
    return f'<img alt="{_text(picture.alt)}" src="data:image/svg+xml;base64,{b64encode(drawn).decode()}">'


def _text(text: str) -> str:
    return str(escape(visible(shortened(text))))
