"""Programmes that workshops run, from one stage to ten, as a table; and what drives the bench through them."""

from __future__ import annotations

from dataclasses import replace

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.virtual.plant import Kind
from dampkit.virtual.programme import STANDARD_SPEEDS_M_S, Drive, Programme

SLOW_PASS = 0  # step of the ladder
LADDERS_M_S: dict[Kind, tuple[float, ...]] = {
    "twin-tube": STANDARD_SPEEDS_M_S,
    "monotube": STANDARD_SPEEDS_M_S,
    "steering-damper": (0.005, 0.03, 0.06, 0.1, 0.2, 0.3, 0.5, 0.8),
    "lever-arm": (0.005, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3, 0.5),
    "friction-disc": (0.005, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3, 0.4),
}


@frozen
class DriveKind:
    """What moves the eye: a sine, a slider-crank (radius over rod), a triangle with rounded corners, one that slows."""

    crank_ratio: float = 0.0
    corner_s: float | None = None
    droop_share: float = 0.0


DRIVES: dict[str, DriveKind] = {
    "sine": DriveKind(),
    "slider-crank": DriveKind(crank_ratio=0.25),
    "slowing crank": DriveKind(crank_ratio=0.1, droop_share=0.35),
    "triangle": DriveKind(corner_s=0.015),
}


@frozen
class Stage:
    """One stage: a step of the ladder of the kind of unit, how many cycles, and a stroke where it is not the usual."""

    step: int
    cycles: float = 5.0
    stroke_m: float | None = None


def _stages(*steps: int, cycles: float = 5.0) -> tuple[Stage, ...]:
    return tuple(Stage(step, 1.0 if step == SLOW_PASS else cycles) for step in steps)


@frozen
class Plan:
    """Stages and how they follow each other; whether the log has temperatures, and whether its zero is declared."""

    stages: tuple[Stage, ...]
    runs_on: bool = False
    record_from_turns: float | None = None
    sweep_cycles: float = 0.0
    temperature: bool = True
    zero_declared: bool = True


LADDER = _stages(0, 1, 2, 3, 4, 5, 6, 7)
PLANS: dict[str, Plan] = {
    "ladder": Plan((*LADDER, *_stages(3))),
    "ladder, no repeat": Plan(LADDER),
    "ladder, no slow pass": Plan((*LADDER[1:], *_stages(3))),
    "ladder, no temperature": Plan((*LADDER, *_stages(3)), temperature=False),
    "ladder, zero not declared": Plan((*LADDER, *_stages(3)), zero_declared=False),
    "ten stages": Plan((*LADDER, *_stages(5, 2))),
    "warming": Plan((*LADDER[:-1], Stage(7, 40.0), *_stages(3))),
    "one stage": Plan(_stages(5), temperature=False),
    "two stages": Plan(_stages(2, 5)),
    "three stages": Plan(_stages(0, 2, 5)),
    "three stages, no slow pass": Plan(_stages(2, 4, 6)),
    "five stages": Plan(_stages(0, 1, 2, 4, 7), temperature=False, zero_declared=False),
    "short": Plan(_stages(0, 1, 2, 3, 4, 5, 6, 7, 3, cycles=2.0)),
    "slow pass only": Plan((Stage(SLOW_PASS, 2.0),)),
    "two strokes": Plan(
        (*_stages(0, 2, 3, 5), *(Stage(step, 5.0, 0.025) for step in (2, 3, 5))),
    ),
    "no rests": Plan(_stages(1, 2, 3, 4, 5, 6, 7), runs_on=True),
    "begins within a cycle": Plan((*_stages(2, 3, 5), *_stages(2)), record_from_turns=0.6),
    "sweep after stages": Plan(_stages(0, 2, 5), sweep_cycles=12.0),
    "sweep alone": Plan((), sweep_cycles=20.0),
}
SWEEP_FROM = 0.15  # of the mean frequency, and as much short of twice the mean at the end


def programme(name: str, kind: Kind, drive: DriveKind | None = None, stroke_m: float = 0.05) -> Programme:
    """A named programme on the ladder of a kind, with the drive's motion. Raises BadSettings for an unknown name."""
    plan, moved = plan_named(name), drive or DRIVES["sine"]
    ladder = LADDERS_M_S[kind]
    stages = [
        Drive.at_speed(ladder[s.step], s.cycles, s.stroke_m or stroke_m, _corner(moved, ladder[s.step]))
        for s in plan.stages
    ]
    if plan.sweep_cycles:
        top = Drive.at_speed(ladder[5], plan.sweep_cycles, stroke_m)
        stages.append(replace(top, frequency_hz=top.frequency_hz / (2.0 - SWEEP_FROM), sweep_from=SWEEP_FROM))
    return Programme(
        tuple(stages),
        dwell_s=0.15,
        crank_ratio=0.0 if moved.corner_s else moved.crank_ratio,
        runs_on=plan.runs_on,
        record_from_turns=plan.record_from_turns,
    )


def _corner(drive: DriveKind, speed_m_s: float) -> float | None:
    """A corner takes at least 0.3 mm of travel, which a slow pass needs longer for."""
    return None if drive.corner_s is None else max(drive.corner_s, 3e-4 / speed_m_s)


def plan_named(name: str) -> Plan:
    """The plan of a name. Raises BadSettings for an unknown one."""
    if name not in PLANS:
        raise BadSettings("programme", f"'{name}' is not known", "one of " + ", ".join(PLANS), "choose one of these")
    return PLANS[name]
