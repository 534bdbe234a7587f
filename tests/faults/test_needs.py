"""What a test cannot show is listed with what it lacks, and is never among the findings."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from dampkit.damper.declared import DamperSpec
from dampkit.faults.causes import CAUSES
from dampkit.faults.diagnose import Diagnosis, diagnose
from dampkit.faults.needs_of import NEEDS
from dampkit.faults.next_tests import TESTS, doubts_of, next_tests
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Direction
from dampkit.report.fault_words import NEXT_TESTS
from tests import made_loops as made
from tests.faults.made_unit import LADDER_M_S, Made, test_of

LEAK = replace(made.REBOUND, leak=1.5e-4)
VOID: dict[Direction, float] = {"compression": 14.0}
VALVES = ("internal_leak", "valve_stuck_open", "weak_blowoff", "blocked_bleed", "valves_swapped")
FAST_M_S = (0.3, 0.5, 0.75, 1.0)


@dataclass(frozen=True)
class Cut:
    """A programme that leaves something out, with a fault that it would show otherwise; code -> what it lacks."""

    name: str
    made: Made
    lacks: dict[str, set[str]]


CUTS = (
    Cut("no slow pass", Made(friction_n=90.0, speeds_m_s=LADDER_M_S[1:]),
        {"bent_rod": {"slow_pass"}}),
    Cut("no slow pass, no reference", Made(friction_n=90.0, speeds_m_s=LADDER_M_S[1:], reference=False),
        {"bent_rod": {"slow_pass"}, "high_friction": {"slow_pass"}, **{code: {"reference"} for code in VALVES}}),
    Cut("kind not declared", Made(friction_n=90.0, kind_known=False), {"low_gas_pressure": {"kind"}}),
    Cut("kind not declared, no reference", Made(friction_n=90.0, kind_known=False, reference=False),
        {"high_friction": {"kind"}, "low_gas_pressure": {"kind"}, **{code: {"reference"} for code in VALVES}}),
    Cut("no limit known, no reference", Made(friction_n=90.0, duty="truck", reference=False),
        {"high_friction": {"friction_limit"}, **{code: {"reference"} for code in VALVES}}),
    Cut("laid on its side", Made(void_mm=VOID, lying=True),  # behind so much gas the readings that tell swapped valves are open
        {"low_oil": {"upright"}, "valves_swapped": {"reading"}}),
    Cut("no repeat", Made(fades=0.3, warms_k=10.0, speeds_m_s=LADDER_M_S[:-1]), {"fade": {"repeat"}}),
    Cut("no reference", Made(rebound=LEAK, reference=False), {code: {"reference"} for code in VALVES}),
    Cut("zero not declared", Made("monotube", gas_bar=5.0, zero_known=False),
        {"low_gas_pressure": {"zero"}}),
    Cut("no slow stage", Made(void_mm=VOID, speeds_m_s=(LADDER_M_S[0], *FAST_M_S, 0.3)),
        {code: {"slow_stage"} for code in ("low_oil", "aerated_oil", "starved_refill")}),
    Cut("two speeds", Made(grows_mm=VOID, speeds_m_s=(LADDER_M_S[0], 0.1, 1.0, 0.1)),
        {"starved_refill": {"three_speeds"}, **{code: {"reference"} for code in VALVES}}),
    Cut("one cycle a stage", Made(clears_mm=VOID, cycles=1), {"trapped_air": {"first_cycles"}}),
    Cut("one stage", Made(slack_mm=1.0, speeds_m_s=(0.3,)), {
        "loose_mount": {"two_speeds"}, "low_oil": {"slow_stage"}, "aerated_oil": {"slow_stage"},
        "starved_refill": {"slow_stage", "three_speeds"}, "fade": {"repeat"},
        "bent_rod": {"slow_pass"}, "high_friction": {"slow_pass"}, **{code: {"reference"} for code in VALVES},
    }),
    Cut("discs, no slow pass", Made("friction-disc", start_ratio=1.6, speeds_m_s=LADDER_M_S[1:]),
        {"sticking_discs": {"slow_pass"}}),
    Cut("discs, two speeds", Made("friction-disc", gains_s_m=0.4, sliding_n=100.0, speeds_m_s=(LADDER_M_S[0], 0.1, 0.4, 0.1)),
        {code: {"three_speeds"} for code in ("greased_discs", "glazed_discs", "sticking_discs")}),
    Cut("discs, no reference", Made("friction-disc", sliding_n=100.0, reference=False),
        {"glazed_discs": {"reference_declared"}}),
)  # fmt: skip


@pytest.mark.parametrize("cut", CUTS, ids=lambda cut: cut.name)
def test_what_a_cut_programme_cannot_show_is_not_looked_for(cut: Cut) -> None:
    diagnosis = diagnose(test_of(cut.made))
    assert {n.code: set(n.lacks) for n in diagnosis.not_looked_for} == cut.lacks
    assert not {f.code for f in diagnosis.findings} & set(cut.lacks)


def test_without_the_rods_diameter_gas_force_is_no_pressure() -> None:
    test = test_of(Made("monotube", gas_bar=5.0))
    assert test.spec is not None
    known = test.spec.damper.model_copy(update={"rod_diameter_mm": None})
    diagnosis = diagnose(replace(test, spec=test.spec.model_copy(update={"damper": known})))
    assert [(n.code, n.lacks) for n in diagnosis.not_looked_for] == [("low_gas_pressure", ("rod_diameter",))]
    assert diagnosis.findings == ()


def test_a_force_that_never_changes_sign_shows_no_play() -> None:
    """A cell with so much gas behind it that every reading is on one side."""
    test = test_of(Made("monotube", gas_bar=200.0))
    lacking = {n.code: n.lacks for n in diagnose(test).not_looked_for}
    assert lacking.get("loose_mount") == ("zero_crossing",)


def everything(diagnosis: Diagnosis) -> set[str]:
    return {f.code for f in diagnosis.findings} | {n.code for n in diagnosis.not_looked_for}


def test_nothing_declared_at_all() -> None:
    """Without a damper file every hydraulic fault is either asked for or listed."""
    test = replace(test_of(Made(void_mm=VOID)), spec=None)
    diagnosis = diagnose(test)
    assert {n.code for n in diagnosis.not_looked_for} == {*VALVES, "high_friction", "low_gas_pressure"}
    assert [f.code for f in diagnosis.findings] == ["low_oil"]


def test_every_need_is_named_by_a_cut_and_known() -> None:
    """But the absence of a temperature, which is no lack."""
    needed = {need for cause in CAUSES for need in cause.needs}
    cut = {need for case in CUTS for lacks in case.lacks.values() for need in lacks}
    assert needed <= set(NEEDS)
    assert needed - cut == {
        "rod_diameter",
        "zero_crossing",
        "slow_turn",
        "temperature",
        "loops",
        "reference_two_speeds",
    }  # the first three have a test each, the last two are of tables (the last: `test_tight_shaft.py`)


def test_without_a_temperature_fade_is_not_looked_for() -> None:
    diagnosis = diagnose(test_of(Made(fades=0.3, warms_k=None)))
    assert [(n.code, n.lacks) for n in diagnosis.not_looked_for] == [("fade", ("temperature",))]
    assert "fade" not in {f.code for f in diagnosis.findings}


def keys(made_unit: Made) -> tuple[str, ...]:
    test: UnderTest = test_of(made_unit)
    return tuple(t.key for t in next_tests(test, doubts_of(test, diagnose(test))))


def test_what_a_test_leaves_open_is_followed_by_the_next_test() -> None:
    bare = keys(Made(speeds_m_s=(0.3, 0.5), cycles=2, reference=False))
    assert {"slow_pass", "five_cycles", "slow_stage", "repeat_first", "declare_reference"} <= set(bare)
    assert not {"slow_pass", "five_cycles", "slow_stage", "repeat_first", "declare_reference"} & set(keys(Made()))
    assert "turn_the_rod" in keys(Made(hump_n=20.0))
    assert "rest_upright" in keys(Made(void_mm=VOID))
    assert "rigid_link" in keys(Made(slack_mm=1.0))
    assert "read_zero" in keys(Made("monotube", zero_known=False))


def test_every_fault_and_every_lack_has_a_test_that_tells_it_and_every_test_its_words() -> None:
    told = {doubt for test in TESTS for doubt in test.tells}
    assert {cause.code for cause in CAUSES} <= told
    assert {*NEEDS, "reading"} <= told
    assert {test.key for test in TESTS} == set(NEXT_TESTS)


def test_a_spec_without_a_reference_is_enough_for_friction() -> None:
    spec = DamperSpec.model_validate({"damper": {"kind": "twin-tube"}})
    diagnosis = diagnose(replace(test_of(Made(friction_n=80.0)), spec=spec))
    assert [f.code for f in diagnosis.findings] == ["high_friction"]


@pytest.mark.parametrize("slack_mm", [0.0, 1.0])
def test_play_is_not_looked_for_where_gas_force_is_as_large_as_friction(slack_mm: float) -> None:
    """A sound unit's force then rests at the cell's zero at the ends of a stroke, as it does with nothing pulled."""
    gas_n = Made("monotube").gas_n
    found = diagnose(test_of(Made("monotube", friction_n=gas_n, slack_mm=slack_mm)))
    assert "loose_mount" in {n.code for n in found.not_looked_for}
    assert "loose_mount" not in {f.code for f in found.findings}


def test_without_the_measure_that_tells_it_apart_a_cause_is_no_more_than_suspected() -> None:
    """Work lost with warming is fade's or a leak's; whether force was short when cold tells them apart."""
    levels = {
        reference: {
            f.code: f.level for f in diagnose(test_of(Made(fades=0.2, warms_k=8.0, reference=reference))).findings
        }
        for reference in (True, False)
    }
    assert levels == {True: {"fade": "found"}, False: {"fade": "suspected"}}


def test_no_fault_of_oil_is_named_where_force_does_not_rise_with_speed_and_the_kind_is_not_known() -> None:
    """Dry friction that grows by a tenth over the speeds of the test, with slack and without."""
    for slack_mm in (0.0, 1.0):
        found = diagnose(test_of(Made("friction-disc", gains_s_m=0.1, slack_mm=slack_mm, kind_known=False)))
        assert {f.code for f in found.findings} <= {"loose_mount"}
        assert {"low_oil", "starved_refill", "trapped_air"} <= {n.code for n in found.not_looked_for}


def test_a_triangle_passes_the_force_to_start_too_fast_to_be_looked_for() -> None:
    """Its corner takes 0.3 mm of a 50 mm stroke, a sine's turn under 2 of 5 mm/s a quarter of the time."""
    test = test_of(Made("friction-disc", start_ratio=1.1))
    slow = test.curves.loops[0]
    speed = np.clip(60 * slow.velocity_m_s, -0.005, 0.005)

    def corners(test: UnderTest) -> UnderTest:
        loops = (replace(test.curves.loops[0], velocity_m_s=speed), *test.curves.loops[1:])
        return replace(test, measured=replace(test.curves, loops=loops))

    diagnosis = diagnose(corners(test))
    assert [(n.code, n.lacks) for n in diagnosis.not_looked_for] == [("sticking_discs", ("slow_turn",))]
    assert not diagnose(test).not_looked_for
    seen = diagnose(corners(test_of(Made("friction-disc", start_ratio=1.6))))
    assert [(f.code, f.level) for f in seen.findings] == [("sticking_discs", "found")]
