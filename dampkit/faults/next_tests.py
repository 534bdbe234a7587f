"""Which test tells what this one leaves open: one table, cheapest test first. What it asks of the bench is in
`programme.py`; the words are in report/.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from dampkit.damper.take_up import same_speed
from dampkit.faults.diagnose import Diagnosis
from dampkit.faults.under_test import UnderTest
from dampkit.frozen import frozen

SAME_STROKE = 0.03  # share within which two stages have one stroke
HAND_TEST = "stroke_by_hand"
OIL = frozenset(("low_oil", "aerated_oil", "trapped_air"))
# Found, and yet asked of a test first: it is cheap, and tells the unit from its bench, its bubbles or its signs
TESTED_FIRST = frozenset(("bent_rod", "loose_mount", "valves_swapped", "high_friction", *OIL))
VALVES = frozenset(("internal_leak", "weak_blowoff", "blocked_bleed", "valve_stuck_open"))


@frozen
class Doubt:
    """A question that is open. `key`: a fault's code, the evidence that is lacking (of NEEDS), or a ground of the verdict.

    `velocity_m_s`: where it is open. `decides`: the verdict waits for the answer.
    """

    key: str
    velocity_m_s: float | None = None
    decides: bool = False


@frozen
class NextTest:
    """`tells`: keys of the doubts that it settles. `changes`: unit or bench is not the same after it, so that what it
    gives is a test of its own, and is not put together with what was measured before.
    """

    key: str
    tells: frozenset[str]
    changes: bool = False
    where: Callable[[UnderTest], bool] = lambda test: True


def _tells(key: str, *doubts: str, changes: bool = False, where: Callable[[UnderTest], bool] | None = None) -> NextTest:
    return NextTest(key, frozenset(doubts), changes, where or (lambda test: True))


def _has_reference(test: UnderTest) -> bool:
    return test.spec is not None and test.spec.reference is not None


def _one_stroke(test: UnderTest) -> bool:
    strokes = [loop.stage.stroke_m for loop in test.moving]
    return bool(strokes) and max(strokes) < (1 + SAME_STROKE) * min(strokes)


def _hydraulic(test: UnderTest) -> bool:
    return test.facts.oil


TESTS: tuple[NextTest, ...] = (
    _tells("declare_bench", "data_declared"),
    _tells("declare_kind", "kind"),
    _tells("declare_rod", "rod_diameter"),
    _tells("declare_friction", "friction_limit"),
    _tells("declare_reference", "reference", "reference_two_speeds", "reference_declared", "nothing_to_compare", "not_compared",
           where=lambda test: not _has_reference(test)),
    _tells("turn_the_rod", "bent_rod", changes=True),
    _tells("push_by_hand", "valves_swapped", "direction_open", "dead", "absurd_share"),
    _tells("slow_pass", "slow_pass", "slow_turn", "sticking_discs"),
    _tells("read_zero", "zero", "zero_crossing", "low_gas_pressure", where=lambda test: not test.zero_known),
    _tells("five_cycles", "first_cycles", changes=True),
    _tells("slow_stage", "slow_stage", "asked_open", "asked_out", "reading", where=lambda test: bool(test.loops)),
    _tells("spread_speeds", "reading", "two_speeds", "three_speeds", "starved_refill", "greased_discs", "glazed_discs"),
    _tells("open_speeds", "speed_open", "ratio_open", "uneven_sides", *VALVES),
    _tells("repeat_first", "repeat", "fade", where=lambda test: bool(test.loops)),
    _tells("log_temperature", "temperature"),
    _tells(HAND_TEST, "loops", "hand_check", where=_hydraulic),
    _tells("log_strokes", "loops"),
    _tells("put_right", "data", "seen", changes=True),
    _tells("side_load", "high_friction", changes=True),
    _tells("stand_upright", "upright", changes=True),
    _tells("rest_upright", *OIL, changes=True),
    _tells("other_middle", "level_or_bubbles", changes=True, where=_one_stroke),
    _tells("rigid_link", "loose_mount", changes=True),
    _tells("faster_stage", "knee_not_reached"),
    _tells("weigh_the_oil", "small_loss"),
)  # fmt: skip


def doubts_of(test: UnderTest, diagnosis: Diagnosis) -> tuple[Doubt, ...]:
    """What test and diagnosis leave open; a verdict adds what it waits for."""
    found = [Doubt(f.code) for f in diagnosis.findings if f.level == "suspected" or f.code in TESTED_FIRST]
    if {f.code for f in diagnosis.findings} >= {"low_oil", "aerated_oil"}:
        found.append(Doubt("level_or_bubbles"))
    lacking = [need for n in diagnosis.not_looked_for for need in n.lacks]
    found += [Doubt(need) for need in lacking]
    if {"reference", "reference_two_speeds"} & set(lacking):
        found += [Doubt("speed_open", v) for v in untested(test)]
    if any(side.law is not None and "blow-off" not in side.law.reached for side in test.unit.sides):
        found.append(Doubt("knee_not_reached"))
    if not test.record.direction_known:
        found.append(Doubt("direction_open"))
    if not test.facts.any_posture:
        found.append(Doubt("small_loss"))
    return tuple(dict.fromkeys(found))


def untested(test: UnderTest) -> list[float]:
    """Speeds of the reference that this test did not reach."""
    reference = None if test.spec is None else test.spec.reference
    if reference is None:
        return []
    read = [side.reading for side in test.unit.sides if side.reading is not None]
    return [
        v for v in reference.velocity_m_s if not all(any(same_speed(v, float(u)) for u in r.velocity_m_s) for r in read)
    ]


def next_tests(test: UnderTest, doubts: Sequence[Doubt]) -> tuple[NextTest, ...]:
    """The tests that tell what is open, cheapest first; empty where nothing is left that another test would tell."""
    keys = {doubt.key for doubt in doubts}
    return tuple(t for t in TESTS if t.tells & keys and t.where(test))
