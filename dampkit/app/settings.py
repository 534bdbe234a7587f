"""`dampkit settings`: a sweep of logged clicks or turns, and the one that comes closest to what is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.folder import Logs, PagesOptions, fitted_shown
from dampkit.app.json_out import tell
from dampkit.app.options import CarFiles
from dampkit.errors import BadSettings

if TYPE_CHECKING:
    from dampkit.outcome.choice import Option, Settings, Sweep
    from dampkit.quantities import Estimate
    from dampkit.report.document import Look

SHOWN = 5


def settings_command(
    runs: Logs,
    files: CarFiles,
    pages: PagesOptions,
    at: Annotated[
        str | None, typer.Option("--at", metavar="0,4,8", help="Setting of each run; else the last number in its name.")
    ] = None,
    step: Annotated[float, typer.Option("--step", help="Smallest step of the adjuster.")] = 1.0,
) -> None:
    from dampkit.outcome.choice import choose
    from dampkit.outcome.side_by_side_record import settings_record

    numbers = None if at is None else _numbers(at)
    pages.check([*runs, *files.by_kind.values()])
    found = choose(fitted_shown(runs, files.load()), numbers, step)
    lines = [*_map(found.sweep), *_choice(found.options, found.damping_ratio)]
    tell(pages.json_to, lambda: settings_record(found).model_dump(mode="json"), lines)
    names = [Path(run.name).name for run in found.runs]
    results = [run.result for run in found.runs] if pages.folder is not None else []
    pages.write(results, lambda look, links: shown(found, names, look, links))


def shown(found: Settings, logs: Sequence[str], look: Look, links: Sequence[str] = ()) -> str:
    """Its page, each run by its name."""
    from dampkit.report.settings_page import render_settings

    spec = found.runs[0].job.damper
    return render_settings(found, look, unit=None if spec is None else spec.damper.serial, logs=logs, links=links)


def _numbers(given: str) -> list[float]:
    try:
        return [float(text) for text in given.split(",")]
    except ValueError:
        raise BadSettings("--at", f"found {given!r}", "numbers with commas between, as 0,4,8", "correct it") from None


def _map(found: Sweep) -> list[str]:
    """Bench force at the rated speed, or the top one tested, by setting."""
    import numpy as np

    from dampkit.needs.requirement import RATED_SPEED_M_S
    from dampkit.quantities import DIRECTIONS, number

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
    from dampkit.needs.requirement import RATED_SPEED_M_S
    from dampkit.quantities import with_interval
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
