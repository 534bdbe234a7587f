"""A dry joint, which has no rebound and no compression: what its two ways are called, and how it is set."""

from __future__ import annotations

from dampkit.damper.kinds import KINDS
from dampkit.outcome.decision_record import GroundRecord
from dampkit.outcome.result import Result
from dampkit.quantities import KILOGRAM_FORCE_N
from dampkit.report.numbers import Writer

DRY_WAYS = {"rebound": "pulled", "compression": "pushed"}


def is_dry(result: Result) -> bool:
    """Of a kind without oil: friction alone."""
    return any(kind == result.damper.kind and not facts.oil for kind, facts in KINDS.items())


def way_of(result: Result, direction: str) -> str:
    """What a direction is called of this unit."""
    return DRY_WAYS.get(direction, direction) if is_dry(result) else direction


def said_once(result: Result) -> list[GroundRecord]:
    """The grounds of the verdict; what was not looked for is said once of all that lack the same, their codes joined by +,
    and speeds of a reference that were not tested once a direction.

    Of a dry joint what reads alike pulled and pushed is said once too, of no direction.
    """
    grounds = _of_one_lack(result)
    if not is_dry(result):
        return grounds
    found: dict[tuple[object, ...], GroundRecord] = {}
    for ground in grounds:
        key = (ground.key, ground.about, tuple(ground.figures.items()))
        again = ground.direction is not None and key in found
        found[key] = ground.model_copy(update={"direction": None}) if again else ground
    return list(found.values())


def _of_one_lack(result: Result) -> list[GroundRecord]:
    lacks = {n.code: n.lacks for n in result.not_looked_for}
    found: dict[object, GroundRecord] = {}
    for place, ground in enumerate(result.verdict.grounds):
        lacking, untested = ground.key in ("not_looked_for", "hand_check"), ground.key == "reference_untested"
        key = (ground.key, lacks.get(ground.about), ground.direction) if lacking or untested else place
        before = found.get(key)
        found[key] = ground if before is None else _both(before, ground)
    return list(found.values())


def _both(before: GroundRecord, ground: GroundRecord) -> GroundRecord:
    if ground.key != "reference_untested":
        return before.model_copy(update={"about": f"{before.about}+{ground.about}"})
    count, to = before.figures.get("count", 1.0) + 1, ground.figures["velocity_m_s"]
    return before.model_copy(update={"figures": {**before.figures, "count": count, "to_m_s": to}})


def setting_words(result: Result, writer: Writer) -> list[str]:
    """How the clamp of a friction damper is set by a spring balance; empty of any other unit."""
    balance = result.balance
    if balance is None:
        return []
    goal = balance.wanted_n
    part = None if result.advice is None else next((p for p in result.advice.parts if p.new is not None), None)
    if part is not None:
        goal = part.new
    if goal is None:
        return []
    most = balance.start_limit_ratio * goal
    torque = (
        "" if result.arm is None else f", which is {writer.value(goal * result.arm.arm_m, 'N m')} at the centre bolt"
    )
    return [
        f"By spring balance: hold the body, hook the balance at the arm's end, square to the arm, and pull slowly. Set the"
        f" clamp so that the arm keeps moving at {_pull(goal, writer)}{torque}, the same both ways, and starts at no more"
        f" than {_pull(most, writer)}. Work it a dozen strokes and read it again."
    ]


def _pull(force_n: float, writer: Writer) -> str:
    """A spring balance reads kilograms as often as newtons."""
    return f"{writer.value(force_n, 'N')} ({writer.value(force_n / KILOGRAM_FORCE_N, 'kgf')})"
