"""A stored result becomes one page that opens offline: a pure function of the result, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from dampkit.bench.gate import A_RESULT, GZIP, file_bytes, plain_json, unpacked
from dampkit.errors import BadSettings, visible
from dampkit.files import write_text
from dampkit.outcome.result import Result
from dampkit.report import covered, deciding, first, pictures, tables, words
from dampkit.report.about import about
from dampkit.report.car import car_pictures, car_view
from dampkit.report.document import ALONE, Look, page_text
from dampkit.report.fault_loop import fault_picture, mark_words
from dampkit.report.numbers import Writer
from dampkit.report.picture import Picture
from dampkit.report.plain import LONGEST_NAME, shortened
from dampkit.report.sentences import faults_said, leaves_words, worded
from dampkit.report.torque import torque_table
from dampkit.report.ways import is_dry
from dampkit.sources import SOURCES, citation
from dampkit.version import __version__

FRICTION_OFF = (
    "Bands and marks of what is asked for have this unit's friction ({}) taken off, so that they compare with the "
    "force of the oil."
)

FRICTION_IN = (
    "Bands and marks of what is asked for hold friction, the force of the oil does not: friction is not established, "
    "only that it is at most {}."
)


def render(result: Result | dict[str, Any], look: Look = ALONE) -> str:
    """The whole page as HTML text; the same result always gives the same text.

    Raises BadSettings where a dictionary is not a result in the format of this version.
    """
    return page_of(result, look, "page.html", lambda known: {})


def page_of(
    result: Result | dict[str, Any], look: Look, template: str, more: Callable[[Result], dict[str, Any]]
) -> str:
    """A template that has the page in it; `more` gives what else it prints of the result in the units of the page."""
    result = in_units(checked(result), look)
    view = {**_view(result, look.writer), **more(result)}
    return page_text(template, look, big_pictures(result, look.writer), view)


def in_units(result: Result, look: Look) -> Result:
    """The result with its sentences in the units of the page; as they were stored where those are SI."""
    return worded(result, look.writer) if look.imperial else result


def write_report(result: Result | dict[str, Any], path: str | Path, look: Look = ALONE) -> Path:
    """Write the page whole or not at all. Raises BadSettings where the place cannot be written to."""
    return write_text(Path(path), render(result, look))


def big_pictures(result: Result, writer: Writer = pictures.SI) -> list[Picture]:
    """The pictures that can be zoomed, the one of the first screen first."""
    lead = first.first_picture(result, writer)
    force = pictures.force_picture(result, writer)
    drawn = (
        lead,
        force if lead is None or lead.id != "force" else None,
        pictures.loops_picture(result, writer),
        pictures.ratio_picture(result.vehicle, writer),
        deciding.advice_picture(result, writer),
        *car_pictures(result.vehicle),
    )
    return [picture for picture in drawn if picture is not None]


def checked(result: Result | dict[str, Any]) -> Result:
    """A result from a dictionary. Raises BadSettings with the first key that is wrong."""
    if isinstance(result, Result):
        return result
    from pydantic import ValidationError

    try:
        return Result.read(result)
    except ValidationError as error:
        wrong = error.errors()[0]
        key = ".".join(str(part) for part in wrong["loc"]) or "the whole"
        raise BadSettings(
            "stored result",
            f"{key}: {wrong['msg']}",
            "a result in the format dampkit-result/1",
            "analyse the log again" + _or_its_version(result),
        ) from error


def _or_its_version(stored: dict[str, Any]) -> str:
    made_by = stored.get("version")
    return f", or use dampkit {made_by}, which made it" if isinstance(made_by, str) and made_by != __version__ else ""


def name_of(text: str | None, otherwise: str) -> str:
    """A name short enough for a heading."""
    return shortened(visible(text or otherwise), LONGEST_NAME)


def _view(result: Result, writer: Writer) -> dict[str, Any]:
    """Everything the template prints, already in words and tables."""
    order = list(words.SEVERITIES)
    lead = first.first_picture(result, writer)
    reasons, more = first.reasons(result, writer)
    friction_off = _friction_off(result, writer)
    return {
        "result": result,
        "unit": name_of(result.damper.serial, "no serial given"),
        "about": [f"{what.lower()} {name_of(said, '')}" for what, said in about(result) if said],
        "kind": name_of(result.damper.kind, "kind not given"),
        "vehicle_name": result.vehicle and name_of(result.vehicle.name, "a vehicle without a name"),
        "saying": words.VERDICTS[result.verdict.action],
        "first_reasons": reasons,
        "more_reasons": more,
        "lead": lead and lead.id,
        "lead_note": friction_off if lead and lead.id == "force" else lead and mark_words(lead),
        "friction_off": friction_off,
        "strip": covered.strip(result),
        "not_looked_for": covered.not_looked_for(result),
        "lacking": covered.lacking(result),
        "dry": is_dry(result),
        "imperial": writer.imperial,
        "owner": first.for_owner(result),
        "faults": [
            {
                "record": fault,
                "level": level.capitalize() + (f", {sure.replace('%', ' %')} sure" if sure else ""),
                "evidence": tables.evidence_table(fault, writer),
                "loop": fault_picture(result, fault, f"fault-{n}-loop", writer),
            }
            for n, (fault, (level, sure)) in enumerate(zip(result.faults, faults_said(result), strict=True), start=1)
        ],
        "quality": sorted(result.quality, key=lambda entry: order.index(entry.severity)),
        "severities": words.SEVERITIES,
        "two_ratios": words.TWO_RATIOS,
        "leaves": "" if result.advice is None else leaves_words(result.advice),
        "tables": _tables(result, writer),
        "against_reference": first.against_reference(result),
        "stage_pictures": [pictures.stage_picture(stage, writer=writer) for stage in result.run.stages],
        "sources": [citation(key) if key in SOURCES else key for key in result.sources],
        **car_view(result.vehicle, writer),
    }


def _tables(result: Result, writer: Writer) -> dict[str, tables.Table | None]:
    speeds = tuple(sorted({float(f"{stage.peak_velocity_m_s:.3g}") for stage in result.run.stages}))
    shown = {
        "covered": covered.coverage_table(result, writer),
        "unit": tables.unit_table(result, writer),
        "forces": tables.forces_table(result, writer),
        "valve": tables.valve_table(result, writer),
        "statics": tables.statics_table(result, writer),
        "torque": torque_table(result, writer),
        "stages": tables.stages_table(result, writer),
        "history": tables.history_table(result),
        "reference": tables.reference_table(result, writer) if result.reference else None,
        "corrected": tables.corrected_table(result.warmth, writer) if result.warmth else None,
        **deciding.deciding_tables(result, writer),
    }
    if result.vehicle is not None:
        shown["vehicle"] = tables.vehicle_table(result.vehicle, writer)
        shown["ratio"] = tables.ratio_table(result, result.vehicle, writer)
        shown["need"] = tables.need_table(result.vehicle, speeds, writer)
    return shown


def _friction_off(result: Result, writer: Writer) -> str:
    """What was done to the bands in the picture of forces, in words; empty where nothing is asked for."""
    if not (result.reference or (result.vehicle and result.vehicle.need)):
        return ""
    taken, at_most = round(pictures.drawn_friction_n(result)), result.statics.friction_at_most_n
    if taken:
        return FRICTION_OFF.format(writer.given(taken, "N"))
    return FRICTION_IN.format(writer.value(at_most, "N", 2)) if at_most and pictures.fitted(result) else ""


def stored_result(place: Path) -> Result:
    """A result from a file of `analyse --json`, or from the folder `results` of a batch. Raises BadSettings."""
    raw = file_bytes(place, A_RESULT)
    if raw.startswith(GZIP):
        raw = unpacked(raw, str(place), A_RESULT)
    plain = plain_json(raw, str(place), A_RESULT)
    if isinstance(plain, dict) and isinstance(plain.get("result"), dict):
        plain = plain["result"]
    if not isinstance(plain, dict):
        raise BadSettings(str(place), "this is JSON, but no result", A_RESULT.what, "check the path")
    return checked(plain)
