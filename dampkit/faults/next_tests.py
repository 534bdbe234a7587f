"""What this test cannot tell, and the cheapest next test that would, by key; the words are in report/."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dampkit.damper.take_up import SLOW_BAND_M_S
from dampkit.faults.finding import Finding
from dampkit.faults.needs_of import NEEDS
from dampkit.faults.under_test import UnderTest

SAME_STROKE = 0.03  # share within which two stages have one stroke
FEW_CYCLES = 3
HAND_TEST = "stroke_by_hand"
OIL = {"low_oil", "aerated_oil", "trapped_air"}
LATE = {"low_oil", "aerated_oil", "starved_refill"}


@dataclass(frozen=True)
class NextTest:
    """`needed` says whether the test, with what was found in it, leaves the question open."""

    key: str
    needed: Callable[[UnderTest, frozenset[str]], bool]


def next_tests(test: UnderTest, findings: Sequence[Finding]) -> tuple[str, ...]:
    """Keys, cheapest test first; empty where nothing is left open that another test would tell."""
    codes = frozenset(f.code for f in findings)
    return tuple(t.key for t in TESTS if t.needed(test, codes))


def _hydraulic(test: UnderTest) -> bool:
    return test.facts.oil


def _one_stroke(test: UnderTest) -> bool:
    strokes = [loop.stage.stroke_m for loop in test.moving]
    return bool(strokes) and max(strokes) < (1 + SAME_STROKE) * min(strokes)


def _knee_open(test: UnderTest) -> bool:
    return any(side.law is not None and "blow-off" not in side.law.reached for side in test.unit.sides)


def _few_cycles(test: UnderTest) -> bool:
    return bool(test.moving) and test.moving[0].stage.cycles < FEW_CYCLES


def _nothing_slow(test: UnderTest) -> bool:
    return (
        _hydraulic(test)
        and bool(test.loops)
        and not any(loop.peak_velocity_m_s <= SLOW_BAND_M_S for loop in test.moving)
    )


TESTS: tuple[NextTest, ...] = (
    NextTest("turn_the_rod", lambda test, codes: "bent_rod" in codes),
    NextTest("push_by_hand", lambda test, codes: "valves_swapped" in codes or not test.record.direction_known),
    NextTest("slow_pass", lambda test, codes: not NEEDS["slow_pass"](test)),
    NextTest("read_zero", lambda test, codes: test.facts.gas == "charge" and not test.record.zero_known),
    NextTest("five_cycles", lambda test, codes: _few_cycles(test)),
    NextTest("slow_stage", lambda test, codes: _nothing_slow(test)),
    NextTest("repeat_first", lambda test, codes: bool(test.loops) and not NEEDS["repeat"](test)),
    NextTest(HAND_TEST, lambda test, codes: _hydraulic(test) and not test.loops),
    NextTest("log_strokes", lambda test, codes: not test.loops),
    NextTest("rest_upright", lambda test, codes: bool(OIL & codes)),
    NextTest("other_middle", lambda test, codes: bool(LATE & codes) and _one_stroke(test)),
    NextTest("rigid_link", lambda test, codes: "loose_mount" in codes),
    NextTest("declare_reference", lambda test, codes: not NEEDS["reference_declared"](test)),
    NextTest("faster_stage", lambda test, codes: _knee_open(test)),
    NextTest("weigh_the_oil", lambda test, codes: not test.facts.any_posture),
)
