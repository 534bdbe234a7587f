"""Before and after on a sheet: the test before the work, the work, and what changed, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.damper.take_up import same_speed
from dampkit.frozen import frozen
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.measured_record import CurveRecord
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.result import Result
from dampkit.report.customer_words import WAYS
from dampkit.report.numbers import NOT_ESTABLISHED, Writer


@frozen
class Earlier:
    """The unit's test before, and what was written down of the work since; empty where nothing was."""

    result: Result
    tested_on: str
    work: tuple[str, ...] = ()
    worked_on: str = ""


@frozen
class Change:
    """One value before and after, in words."""

    what: str
    before: str
    after: str


def changes(earlier: Earlier, now: Result, writer: Writer) -> tuple[Change, ...]:
    """Force each way, rubbing and travel without hold; those that neither test established are left out."""
    found = [*_forces(earlier.result, now, writer)]
    for what, unit, *pair in _others(earlier.result, now):
        before, after = (NOT_ESTABLISHED if v is None else writer.value(v.value, unit, 2) for v in pair)
        if any(pair):
            found.append(Change(what, before, after))
    return tuple(found)


def _forces(before: Result, now: Result, writer: Writer) -> Iterator[Change]:
    """The readings at the speed nearest to the rated one at which both tests read."""
    for way, name in WAYS.items():
        old, new = (getattr(result.valve, way).reading for result in (before, now))
        pairs = _at_same_speeds(old, new)
        if pairs:
            speed, *forces = min(pairs, key=lambda pair: abs(pair[0] - RATED_SPEED_M_S))
            what = f"Force when {name}, at {writer.given(speed, 'm/s')}"
            yield Change(what, *(writer.value(force, "N") for force in forces))


def _at_same_speeds(old: CurveRecord | None, new: CurveRecord | None) -> list[tuple[float, float, float]]:
    if old is None or new is None:
        return []
    olds, news = (list(zip(curve.velocity_m_s, curve.force_n, strict=True)) for curve in (old, new))
    return [(v, f, g) for v, f in olds for w, g in news if same_speed(v, w)]


def _others(before: Result, now: Result) -> Iterator[tuple[str, str, EstimateRecord | None, EstimateRecord | None]]:
    yield "Force lost to rubbing", "N", before.statics.friction_force_n, now.statics.friction_force_n
    for way, name in WAYS.items():
        old, new = (getattr(result.lag.lost_motion_mm, way) for result in (before, now))
        yield f"Travel before it takes hold, {name}", "mm", old, new
