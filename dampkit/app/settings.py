"""`dampkit settings`: a sweep of logged clicks or turns, and the one that comes closest to what is wanted."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import dampkit
from dampkit.app.fits import Fitted, fitted
from dampkit.app.folder import write_leading
from dampkit.app.making import Units
from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.expected.window import window
from dampkit.files import check_outputs
from dampkit.job import Job, JobFiles
from dampkit.needs.corner import Corner
from dampkit.needs.from_file import corner_of
from dampkit.needs.requirement import RATED_SPEED_M_S, needed_forces
from dampkit.outcome.change.aim import Aim, vehicle_aim
from dampkit.outcome.settings import Option, Sweep, options, sweep
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


def settings(logs: Sequence[Path], given: str | None, files: JobFiles, step: float, pages: Pages) -> None:
    """Print the map from setting to curve, and the setting to choose where a reference or a vehicle is declared."""
    if step <= 0:
        raise BadSettings("--step", f"found {step:g}", "a step above 0", "1 for whole clicks, 0.25 for quarter turns")
    if pages.report is not None:
        check_outputs([pages.report], [*logs, *files.by_kind.values()])
    job = files.load()
    runs = fitted(logs, job)
    in_table = [run.setting for run in runs if run.setting is not None]
    found = sweep(in_table if len(in_table) == len(runs) else _settings(logs, given), [run.fit for run in runs])
    car = job.vehicle
    corner = None if car is None else corner_of(car)
    aims = _aims(job, corner, float(found.velocity_m_s[-1]))
    best = options(found, aims, step, RATED_SPEED_M_S) if aims else ()
    ratio = _ratio(best, corner)
    say("\n".join([*_map(found), *_choice(best, ratio)]))
    if pages.report is not None or pages.folder is not None:
        for place in _written(runs, job, (found, aims, best, ratio), pages):
            say(f"written: {place}")


def _written(
    runs: Sequence[Fitted],
    job: Job,
    chosen: tuple[Sweep, Sequence[Aim], Sequence[Option], Estimate | None],
    pages: Pages,
) -> list[Path]:
    from dampkit.report.settings_page import Choice, render_settings

    results = []
    if pages.folder is not None:
        results = [run.result for run in runs]
    found, aims, best, ratio = chosen
    spec = job.damper
    names = tuple(Path(run.name).name for run in runs)
    unit = spec.damper.serial if spec is not None and spec.damper.serial else "no serial given"
    shown = Choice(unit, found, tuple(aims), tuple(best), ratio, names, dampkit.__version__)

    def render(look: Look, links: tuple[str, ...]) -> str:
        return render_settings(replace(shown, pages=tuple(zip(names, links, strict=False))), look)

    return write_leading(pages.report, pages.folder, pages.units, results, render)


def _settings(logs: Sequence[Path], given: str | None) -> list[float]:
    """As given, else the last number in each file's name."""
    if given is None:
        numbers = [re.findall(r"\d+(?:\.\d+)?", path.stem) for path in logs]
        missing = next((path for path, found in zip(logs, numbers, strict=True) if not found), None)
        if missing is not None:
            raise BadSettings(str(missing), "no number in its name", "the setting of each run", "use --at 0,4,8")
        return [float(found[-1]) for found in numbers]
    try:
        values = [float(text) for text in given.split(",")]
    except ValueError:
        raise BadSettings("--at", f"found {given!r}", "numbers with commas between, as 0,4,8", "correct it") from None
    if len(values) != len(logs):
        raise BadSettings("--at", f"{len(values)} settings for {len(logs)} runs", "one for each run", "correct it")
    return values


def _aims(job: Job, corner: Corner | None, top_m_s: float) -> list[Aim]:
    """The reference's window where one is declared, else what the vehicle needs, else nothing."""
    spec = job.damper
    if spec is not None and spec.reference is not None:
        windows = [window(spec.reference, d) for d in DIRECTIONS]
        return [Aim(w.direction, w.velocity_m_s, w.wanted_n, w.low_n, w.high_n, centred=True) for w in windows]
    need = None if corner is None else needed_forces(corner)
    if corner is None or need is None:
        return []
    made = [vehicle_aim(corner, need, way, top_m_s) for way in DIRECTIONS]
    return [aim for aim in made if aim is not None]


def _map(found: Sweep) -> list[str]:
    """Bench force at the rated speed, or the top one tested, by setting."""
    import numpy as np

    at = min(RATED_SPEED_M_S, float(found.velocity_m_s[-1]))
    lines = [f"setting: rebound and compression at {at:.2g} m/s, friction in, gas out"]
    for i, setting in enumerate(found.settings):
        pair = [np.interp(at, found.velocity_m_s, found.force_n[way][i]) for way in DIRECTIONS]
        lines.append(f"  {setting:g}: {number(float(pair[0]))} N and {number(float(pair[1]))} N")
    return lines


def _ratio(best: Sequence[Option], corner: Corner | None) -> Estimate | None:
    """Damping ratio of the best setting; None without a car or a setting."""
    if corner is None or not best or best[0].damping_n_s_m is None:
        return None
    return best[0].damping_n_s_m.scaled(corner.at_wheel(1.0) / corner.critical_damping_n_s_m)


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
