"""A stored result becomes one page that opens offline: a pure function of the result, and nothing else."""

from __future__ import annotations

import os
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.errors import BadSettings
from dampkit.outcome.result import Result
from dampkit.report import deciding, pictures, tables, words
from dampkit.report.car import car_pictures, car_view
from dampkit.report.interactive import figure
from dampkit.report.numbers import Writer
from dampkit.report.picture import Picture
from dampkit.report.plain import LONGEST_NAME, embedded, shortened, shown, visible
from dampkit.report.svg import SMALL, svg, swatch
from dampkit.sources import SOURCES, citation

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATES = Path(__file__).parent / "templates"
FIRST_REASONS = 3


def render(result: Result | dict[str, Any], imperial: bool = False) -> str:
    """The whole page as HTML text; the same result always gives the same text.

    `imperial` writes pounds, inches and degrees Fahrenheit beside the SI values.
    Raises BadSettings where a dictionary is not a result in the format of this version.
    """
    result = _checked(result)
    drawn = [
        p
        for p in (
            pictures.force_picture(result),
            pictures.loops_picture(result),
            pictures.ratio_picture(result.vehicle),
            deciding.advice_picture(result),
            *car_pictures(result.vehicle),
        )
        if p
    ]
    template = environment().get_template("page.html")
    return template.render(
        **_view(result, Writer(imperial)),
        pictures={picture.id: picture for picture in drawn},
        picture_data=embedded({picture.id: figure(picture) for picture in drawn}),
        plot_library=_plot_library(),
    )


def write_report(result: Result | dict[str, Any], path: str | Path, imperial: bool = False) -> Path:
    """Write the page next to its place and move it there, so that a half-written page is never seen.

    Raises BadSettings where the place cannot be written to.
    """
    place, text = Path(path), render(result, imperial)
    try:
        handle, neighbour = tempfile.mkstemp(prefix=f".{place.name[:40]}.", suffix=".part", dir=place.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
            Path(neighbour).chmod(0o644)
            Path(neighbour).replace(place)
        finally:
            Path(neighbour).unlink(missing_ok=True)
    except OSError as error:
        found = f"the page cannot be written: {error.strerror or error}"
        raise BadSettings(
            str(place), found, "a file name in a folder that can be written to", "choose another place"
        ) from error
    return place


def _checked(result: Result | dict[str, Any]) -> Result:
    if isinstance(result, Result):
        return result
    from pydantic import ValidationError

    try:
        return Result.model_validate(result)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"]) or "the whole"
        raise BadSettings(
            "stored result",
            f"{key}: {first['msg']}",
            "a result in the format dampkit-result/1",
            "analyse the log again",
        ) from error


def _view(result: Result, writer: Writer) -> dict[str, Any]:
    """Everything the template prints, already in words and tables."""
    by_index = {stage.index: stage for stage in result.run.stages}
    order = ("bad", "warning", "note")
    return {
        "result": result,
        "unit": _name(result.damper.serial, "no serial given"),
        "kind": _name(result.damper.kind, "kind not given"),
        "vehicle_name": result.vehicle and _name(result.vehicle.name, "a vehicle without a name"),
        "saying": words.VERDICTS[result.verdict.action],
        "first_reasons": result.verdict.reasons[:FIRST_REASONS],
        "more_reasons": result.verdict.reasons[FIRST_REASONS:],
        "friction_off": _friction_off(result, writer),
        "faults": [
            {
                "record": fault,
                "sure": f"{100 * fault.likelihood:.0f} %",
                "evidence": tables.evidence_table(fault, writer),
                "loop": _fault_loop(by_index.get(fault.stage_index), n) if fault.stage_index is not None else None,
            }
            for n, fault in enumerate(result.faults, start=1)
        ],
        "quality": sorted(result.quality, key=lambda entry: order.index(entry.severity)),
        "severities": words.SEVERITIES,
        "tables": _tables(result, writer),
        "stage_pictures": [pictures.stage_picture(stage) for stage in result.run.stages],
        "sources": [citation(key) if key in SOURCES else key for key in result.sources],
        "words": words,
        **car_view(result.vehicle, writer),
    }


def _name(text: str | None, otherwise: str) -> str:
    """A name short enough for a heading."""
    return shortened(visible(text or otherwise), LONGEST_NAME)


def _tables(result: Result, writer: Writer) -> dict[str, tables.Table | None]:
    speeds = tuple(sorted({float(f"{stage.peak_velocity_m_s:.3g}") for stage in result.run.stages}))
    shown = {
        "unit": tables.unit_table(result, writer),
        "forces": tables.forces_table(result, writer),
        "valve": tables.valve_table(result, writer),
        "statics": tables.statics_table(result, writer),
        "stages": tables.stages_table(result, writer),
        "history": tables.history_table(result),
        "reference": tables.reference_table(result, writer) if result.reference else None,
        **deciding.deciding_tables(result, writer),
    }
    if result.vehicle is not None:
        shown["vehicle"] = tables.vehicle_table(result.vehicle, writer)
        shown["ratio"] = tables.ratio_table(result.vehicle, writer)
        shown["need"] = tables.need_table(result.vehicle, speeds, writer)
    return shown


def _fault_loop(stage: Any, n: int) -> Picture | None:
    return None if stage is None else pictures.stage_picture(stage, f"fault-{n}-loop")


def _friction_off(result: Result, writer: Writer) -> str | None:
    """The friction taken off bands in the first picture, in words; None where nothing was taken off."""
    taken = round(pictures.drawn_friction_n(result))
    asked = result.reference or (result.vehicle and result.vehicle.need)
    return writer.given(taken, "N") if taken and asked else None


@cache
def environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        finalize=shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(svg=svg, swatch=swatch, SMALL=SMALL)
    return environment


@cache
def _plot_library() -> Any:
    """plotly.js as the installed package carries it; it holds nothing that would end a script element early."""
    from markupsafe import Markup
    from plotly.offline import get_plotlyjs

    text = get_plotlyjs()
    if "</script" in text.lower() or "<!--" in text:
        text = text.replace("</script", "<\\/script").replace("<!--", "<\\!--")
    return Markup(text)
