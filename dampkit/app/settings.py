"""`dampkit settings`: a sweep of logged clicks or turns, and the one that comes closest to what is wanted."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import get_args

import typer

from dampkit.app.fits import Side, fitted
from dampkit.errors import BadSettings
from dampkit.needs.corner import Corner
from dampkit.needs.from_file import corner_of
from dampkit.needs.requirement import RATED_SPEED_M_S, needed_forces
from dampkit.outcome.change.aim import Aim, Direction, vehicle_aim
from dampkit.outcome.reference import allowances
from dampkit.outcome.settings import Option, Sweep, options, sweep
from dampkit.quantities import Array, number, with_interval

SHOWN = 5


def settings(logs: Sequence[Path], given: str | None, side: Side, step: float) -> None:
    """Print the map from setting to curve, and the setting to choose where a reference or a vehicle is declared."""
    if step <= 0:
        raise BadSettings("--step", f"found {step:g}", "a step above 0", "1 for whole clicks, 0.25 for quarter turns")
    found = sweep(_settings(logs, given), [run.fit for run in fitted(logs, side)])
    car = side.vehicle_spec
    corner = None if car is None else corner_of(car)
    aims = _aims(side, corner, float(found.velocity_m_s[-1]))
    best = options(found, aims, step, RATED_SPEED_M_S)
    typer.echo("\n".join([*_map(found), *_choice(best, aims, corner)]))


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


def _aims(side: Side, corner: Corner | None, top_m_s: float) -> list[Aim]:
    """The reference's window where one is declared, else what the vehicle needs, else nothing."""
    spec = side.damper_spec
    if spec is not None and spec.reference is not None:
        import numpy as np

        r = spec.reference
        out = []
        for way in get_args(Direction):
            wanted: Array = np.array(getattr(r, f"{way}_force_n"))
            room = np.array(allowances(r, way))
            out.append(Aim(way, np.array(r.velocity_m_s), wanted, wanted - room, wanted + room, centred=True))
        return out
    need = None if corner is None else needed_forces(corner)
    if corner is None or need is None:
        return []
    made = [vehicle_aim(corner, need, way, top_m_s) for way in get_args(Direction)]
    return [aim for aim in made if aim is not None]


def _map(found: Sweep) -> list[str]:
    """Bench force at the rated speed, or the top one tested, by setting."""
    import numpy as np

    at = min(RATED_SPEED_M_S, float(found.velocity_m_s[-1]))
    lines = [f"setting: rebound and compression at {at:.2g} m/s, friction in, gas out"]
    for i, setting in enumerate(found.settings):
        pair = [np.interp(at, found.velocity_m_s, found.force_n[way][i]) for way in get_args(Direction)]
        lines.append(f"  {setting:g}: {number(float(pair[0]))} N and {number(float(pair[1]))} N")
    return lines


def _choice(best: Sequence[Option], aims: Sequence[Aim], corner: Corner | None) -> list[str]:
    if not aims:
        return ["No reference and no target was declared, so no setting is chosen."]
    first = best[0]
    says = "inside its band" if first.inside else "not surely inside its band; no setting is"
    lines = [
        f"choose {first.setting:g}: {says} ({first.worst:.2f} of the way from the middle to the edge, doubt included)"
    ]
    if corner is not None and first.damping_n_s_m is not None:
        ratio = first.damping_n_s_m.scaled(corner.at_wheel(1.0) / corner.critical_damping_n_s_m)
        lines.append(f"  damping ratio at {RATED_SPEED_M_S:g} m/s: {with_interval(ratio, '')}")
    lines += [f"  next best {option.setting:g}: {option.worst:.2f}" for option in best[1:SHOWN]]
    return [
        *lines,
        "  Settings between those logged are read straight between their neighbours: run the chosen one to be sure.",
    ]
