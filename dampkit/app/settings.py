"""`dampkit settings`: a sweep of logged clicks or turns, and the one that comes closest to what is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import dampkit
from dampkit.app.fits import fitted_shown
from dampkit.app.folder import Folder, Logs, Report, write_leading
from dampkit.app.json_out import JsonOption, json_file, tell, tell_written
from dampkit.app.making import Units, UnitsOption
from dampkit.app.options import Bench, Damper, Vehicle
from dampkit.errors import BadSettings
from dampkit.files import check_outputs
from dampkit.job import JobFiles
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.choice import Option, Settings, Sweep, choose
from dampkit.outcome.side_by_side_record import settings_record
from dampkit.quantities import DIRECTIONS, Estimate, number, with_interval

if TYPE_CHECKING:
    from dampkit.report.document import Look

SHOWN = 5


@dataclass(frozen=True)
class Pages:
    """What is to be written."""

    report: Path | None = None
    folder: Path | None = None
    units: Units = Units.si
    json_to: str | None = None


def settings_command(
    runs: Logs,
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    at: Annotated[
        str | None, typer.Option("--at", metavar="0,4,8", help="Setting of each run; else the last number in its name.")
    ] = None,
    step: Annotated[float, typer.Option("--step", help="Smallest step of the adjuster.")] = 1.0,
    report: Report = None,
    pages: Folder = None,
    units: UnitsOption = Units.si,
    json_to: JsonOption = None,
) -> None:
    settings(runs, at, JobFiles(bench, damper, vehicle), step, Pages(report, pages, units, json_to))


def settings(logs: Sequence[Path], given: str | None, files: JobFiles, step: float, pages: Pages) -> None:
    """Print the map from setting to curve, and the setting to choose where a reference or a vehicle is declared."""
    at = None if given is None else _numbers(given)
    made = [*json_file(pages.json_to), *([pages.report] if pages.report else [])]
    check_outputs(made, [*logs, *files.by_kind.values()])
    found = choose(fitted_shown(logs, files.load()), at, step)
    lines = [*_map(found.sweep), *_choice(found.options, found.damping_ratio)]
    tell(pages.json_to, lambda: settings_record(found).model_dump(mode="json"), lines)
    if pages.report is not None or pages.folder is not None:
        tell_written(_written(found, pages), pages.json_to)


def _written(found: Settings, pages: Pages) -> list[Path]:
    from dampkit.report.settings_page import Choice, render_settings

    results = [run.result for run in found.runs] if pages.folder is not None else []
    spec = found.runs[0].job.damper
    names = tuple(Path(run.name).name for run in found.runs)
    unit = spec.damper.serial if spec is not None and spec.damper.serial else "no serial given"
    shown = Choice(
        unit, found.sweep, found.aims, found.options, found.damping_ratio, names, dampkit.__version__
    )  # fmt: skip

    def render(look: Look, links: tuple[str, ...]) -> str:
        return render_settings(replace(shown, pages=tuple(zip(names, links, strict=False))), look)

    return write_leading(pages.report, pages.folder, pages.units, results, render)


def _numbers(given: str) -> list[float]:
    try:
        return [float(text) for text in given.split(",")]
    except ValueError:
        raise BadSettings("--at", f"found {given!r}", "numbers with commas between, as 0,4,8", "correct it") from None


def _map(found: Sweep) -> list[str]:
    """Bench force at the rated speed, or the top one tested, by setting."""
    import numpy as np

    at = min(RATED_SPEED_M_S, float(found.velocity_m_s[-1]))
    lines = [f"setting: rebound and compression at {at:.2g} m/s, friction in, gas out"]
    for i, setting in enumerate(found.settings):
        pair = [np.interp(at, found.velocity_m_s, found.force_n[way][i]) for way in DIRECTIONS]
        lines.append(f"  {setting:g}: {number(float(pair[0]))} N and {number(float(pair[1]))} N")
    return lines


def _far(option: Option) -> str:
    if option.worst > 1:
        return "beyond the edge of its band, doubt included"
    return f"{option.worst:.2f} of the way from the middle to the edge, doubt included"


def _choice(best: Sequence[Option], ratio: Estimate | None) -> list[str]:
    from dampkit.report.settings_page import NONE_SUITS

    if not best:
        return ["No reference and no target was declared, so no setting is chosen."]
    first = best[0]
    ran = "; it was run, and need not be again" if first.logged else ""
    if first.inside:
        lines = [f"choose {first.setting:g}: inside its band, {_far(first)}{ran}"]
    elif first.logged or first.plain > 1:
        lines = [f"no setting brings it surely into its band; {first.setting:g} comes closest{ran}", f"  {NONE_SUITS}"]
    else:
        lines = [f"choose {first.setting:g}: not surely inside its band; no setting is"]
    if ratio is not None:
        lines.append(f"  damping ratio at {RATED_SPEED_M_S:g} m/s: {with_interval(ratio, '')}")
    lines += [f"  next best {option.setting:g}: {_far(option)}" for option in best[1:SHOWN]]
    return [
        *lines,
        "  Settings between those logged are read straight between their neighbours: run the chosen one to be sure.",
    ]
