"""The table of cases, cell by cell: each case alone, its precedence over every later one, and what a pass takes.

Which remedy a fault takes is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product
from typing import Any, get_args

import pytest

from dampkit.bench.run import Quality
from dampkit.expected.conformity import Answer
from dampkit.faults.causes import CAUSES
from dampkit.faults.finding import NotLookedFor
from dampkit.outcome.advice_record import AdviceRecord
from dampkit.outcome.decision_record import Action, Piece
from dampkit.outcome.ground import PUT_RIGHT, REMEDIES, SHOWN_BY_FORCE, SIDED, UNSAFE
from dampkit.outcome.inspection import Seen
from dampkit.outcome.verdict import (
    ABSURD_SHARE,
    CASES,
    Known,
    as_can_be_made,
    decide,
)
from dampkit.quantities import DIRECTIONS, Direction, Estimate
from dampkit.report.fault_words import STEPS
from tests.outcome.made import BAD_DATA, asked, covered, finding, piece_of, point, target

IN, OUT, UNSURE = point("in"), point("out"), point("not established")
BY_A_WORD = Quality("force_scale", "bad", "Newton and kilonewton are mixed up", "declare")
GOOD = Known(coverage=covered(), reference=(IN,), rebound_share=0.65)

# Each case alone, in the order of the table: what differs from the good unit, the action, the step.
ALONE: dict[str, tuple[dict[str, Any], Action, str]] = {
    "structure": ({"seen": Seen(structure=("body: cracked",))}, "replace", "out_of_use"),
    "data": ({"quality": (BAD_DATA,)}, "retest", "data"),
    "loose": ({"seen": Seen(bench=("eyes: worn bush",))}, "retest", "renew_bush"),
    "faults": ({"findings": (finding("low_oil"),)}, "rebuild", "remedy:low_oil"),
    "work": ({"seen": Seen(work=("leak: running",))}, "rebuild", "open_it"),
    "suspicions": ({"findings": (finding("high_friction", 0.6, "suspected"),)}, "retest", "look_into:high_friction"),
    "direction": ({"direction_known": False}, "undecided", "which_way_is_out"),
    "dead": ({"alive": ("rebound",)}, "retest", "dead_side"),
    "required": ({"asked": (asked("friction"),)}, "retest", "not_met"),
    "reference": ({"reference": (IN, OUT)}, "adjust", "set_valve"),
    "vehicle": ({"target": target("out", 0.2)}, "adjust", "set_firmer:rebound"),
    "nothing": ({"reference": None}, "undecided", "give_reference_or_car"),
    "gaps": ({"coverage": covered(above="not established")}, "undecided", "declare_more"),
    "pass": ({}, "fit", "fit"),
}  # fmt: skip


def together(first: dict[str, Any], second: dict[str, Any]) -> Known:
    """Both cases in one unit: what was seen and found adds up, of all else the first stays."""
    both = {**second, **first}
    if "findings" in first and "findings" in second:
        both["findings"] = (*first["findings"], *second["findings"])
    if "seen" in first and "seen" in second:
        a, b = first["seen"], second["seen"]
        both["seen"] = Seen((*a.structure, *b.structure), (*a.work, *b.work), (*a.bench, *b.bench))
    return replace(GOOD, **both)


def test_every_case_of_the_table_stands_here() -> None:
    assert [case.__name__.strip("_").split("_")[0] for case in CASES] == list(ALONE)


@pytest.mark.parametrize("name", ALONE)
def test_each_case_alone(name: str) -> None:
    changes, action, step = ALONE[name]
    verdict = decide(replace(GOOD, **changes))
    assert (verdict.action, verdict.step) == (action, step)
    assert verdict.grounds


@pytest.mark.parametrize(("earlier", "later"), list(combinations(ALONE, 2)))
def test_an_earlier_case_decides_over_a_later_one(earlier: str, later: str) -> None:
    verdict = decide(together(ALONE[earlier][0], ALONE[later][0]))
    assert (verdict.action, verdict.step) == ALONE[earlier][1:]


@pytest.mark.parametrize(
    ("quality", "action"),
    [
        ((BAD_DATA,), "retest"),
        ((BY_A_WORD,), "undecided"),
        ((BAD_DATA, BY_A_WORD), "retest"),
        ((Quality("no_repeat", "warning", "No speed is repeated"), Quality("leak_not_seen", "note", "No leak")), "fit"),
    ],
)
def test_bad_data_by_who_can_clear_it(quality: tuple[Quality, ...], action: Action) -> None:
    assert decide(replace(GOOD, quality=quality)).action == action


def test_bad_data_names_what_it_keeps_from_being_judged() -> None:
    verdict = decide(replace(GOOD, quality=(BAD_DATA,), findings=(finding("bent_rod"),)))
    assert [(g.key, g.about) for g in verdict.grounds] == [("data", "clipped_force"), ("not_judged_yet", "bent_rod")]


def test_every_cause_has_a_remedy() -> None:
    assert {cause.code for cause in CAUSES} <= set(REMEDIES)


@pytest.mark.parametrize("code", sorted(REMEDIES))
def test_a_found_fault_takes_its_remedy_and_is_never_passed(code: str) -> None:
    verdict = decide(replace(GOOD, findings=(finding(code),), target=target("in")))
    assert verdict.action == REMEDIES[code].action in ("replace", "rebuild", "retest")
    assert (verdict.grounds[0].key, verdict.grounds[0].about) == ("fault", code)


@pytest.mark.parametrize("code", SIDED)
@pytest.mark.parametrize("level", ["found", "suspected"])
def test_no_valve_is_judged_before_it_is_known_which_way_is_out(code: str, level: Any) -> None:
    known = replace(GOOD, findings=(finding(code, 0.99, level),), direction_known=False)
    verdict = decide(known)
    assert (verdict.action, verdict.step, verdict.open) == ("undecided", "which_way_is_out", True)
    assert ("not_judged_yet" in {g.key for g in verdict.grounds}) == (level == "found")
    friction = decide(replace(known, findings=(*known.findings, finding("high_friction"))))
    assert (friction.action, friction.step) == ("rebuild", "remedy:high_friction")


def test_one_remark_of_the_data_is_one_ground_however_often_it_is_made() -> None:
    """A cell clipped at both ends of its range."""
    verdict = decide(replace(GOOD, quality=(BAD_DATA, replace(BAD_DATA, message="at the other end"))))
    assert [g.key for g in verdict.grounds] == ["data"]


def test_structural_damage_outweighs_the_rest() -> None:
    found = (finding("low_oil", 0.99), finding("bent_rod", 0.7))
    assert decide(Known(findings=found)).action == "rebuild"
    assert decide(Known(findings=found, seen=Seen(structure=("rod_straight: no",)))).action == "replace"


def test_play_is_put_right_before_lost_motion_is_believed() -> None:
    verdict = decide(Known(findings=(finding("low_oil", 0.95), finding("loose_mount", 0.6))))
    assert verdict.action == "retest"
    assert [(g.key, g.about) for g in verdict.grounds] == [("fault", "loose_mount"), ("fault_clouded", "low_oil")]


def test_play_does_not_hide_a_valve_fault() -> None:
    assert decide(Known(findings=(finding("weak_blowoff"), finding("loose_mount")))).action == "rebuild"


def test_two_suspicions_of_the_oil_ask_one_question() -> None:
    both = tuple(finding(code, 0.6, "suspected") for code in ("low_oil", "aerated_oil"))
    assert decide(replace(GOOD, findings=both)).step == "level_or_bubbles"


def test_a_force_outside_says_where_and_by_how_much() -> None:
    (ground, *_) = decide(replace(GOOD, reference=(IN, OUT))).grounds
    assert (ground.key, ground.direction) == ("reference_out", "rebound")
    assert dict(ground.figures) == {"velocity_m_s": 0.1, "measured_n": 100.0, "low_n": 120.0, "high_n": 140.0}


@pytest.mark.parametrize(
    ("open_at_m_s", "action", "step"),
    [(0.05, "retest", "cover"), (1.0, "adjust", "look_then_set"), (None, "adjust", "look_then_set")],
)
@pytest.mark.parametrize("code", PUT_RIGHT)
def test_a_force_outside_is_no_setting_where_the_valve_was_not_looked_at(
    code: str, open_at_m_s: float | None, action: Action, step: str
) -> None:
    """A speed of the reference slower than those read can always be run; a faster one perhaps not on this bench."""
    unread = () if open_at_m_s is None else (point("not established", velocity_m_s=open_at_m_s),)
    lacking = (NotLookedFor(code, ("reference",)),)
    verdict = decide(replace(GOOD, reference=(OUT, *unread), not_looked_for=lacking))
    assert (verdict.action, verdict.step) == (action, step)
    assert [g.about for g in verdict.grounds if g.key == "not_looked_for"] == [code]
    assert not verdict.sound


@pytest.mark.parametrize("code", PUT_RIGHT)
def test_what_a_further_stage_would_look_for_is_measured_before_anything_is_set(code: str) -> None:
    """Two stages of a friction disc with glazed linings ended as a clamp to be set."""
    lacking = (NotLookedFor(code, ("three_speeds",)),)
    verdict = decide(replace(GOOD, reference=(OUT,), not_looked_for=lacking))
    assert (verdict.action, verdict.step) == ("retest", "cover")


def test_a_force_that_no_part_makes_is_no_setting() -> None:
    """A leak beside a groove in the bore: the forces were outside, and no change of the fitted valve made them."""
    verdict = decide(replace(GOOD, reference=(OUT,), strays=("rebound", "compression")))
    assert (verdict.action, verdict.step) == ("retest", "not_met")
    assert [(g.key, g.direction) for g in verdict.grounds[1:]] == [("no_part_makes_it", "rebound"), ("no_fault", None)]


def test_a_valve_that_its_reference_could_not_clear_is_looked_at_before_it_is_set_for_a_car() -> None:
    lacking = (NotLookedFor("weak_blowoff", ("reference",)),)
    out = replace(GOOD, target=target("out", 0.2, 0.6), not_looked_for=lacking)
    verdict = decide(replace(out, reference=(IN,)))
    assert (verdict.action, verdict.step, verdict.sound) == ("adjust", "look_then_set", False)
    assert decide(replace(out, reference=None)).step == "set_firmer:rebound"


@pytest.mark.parametrize(
    ("ratio", "share", "step"),
    [
        (0.2, 0.8, "set_firmer:compression"),
        (0.2, 0.6, "set_firmer:rebound"),
        (0.4, 0.8, "set_softer:rebound"),
        (0.4, 0.6, "set_softer:compression"),
    ],
)
def test_wrong_for_the_car_says_what_to_set(ratio: float, share: float, step: str) -> None:
    verdict = decide(replace(GOOD, target=target("out", ratio, share)))
    assert (verdict.action, verdict.step) == ("adjust", step)


def test_a_force_outside_what_the_car_needs_is_a_matter_of_setting() -> None:
    verdict = decide(replace(GOOD, needed=(IN, OUT), reference=None, target=target("in")))
    assert (verdict.action, verdict.step) == ("adjust", "set_to_need")


def test_within_reference_and_ratio_a_force_beside_the_band_is_said() -> None:
    """A known-good unit that gives the car its damping ratio is no unit to tune: but what is out is never hidden."""
    verdict = decide(replace(GOOD, needed=(IN, OUT), reference=(IN,), target=target("in")))
    assert verdict.action == "fit"
    assert "need_out" in [ground.key for ground in verdict.grounds]


@pytest.mark.parametrize("key", ["lost_motion", "friction", "work_lost"])
def test_what_is_asked_of_any_unit_and_not_met_is_said_and_never_passed_or_set_round(key: str) -> None:
    for reference in ((IN,), (IN, OUT), None):
        verdict = decide(replace(GOOD, asked=(asked(key),), reference=reference, target=target("out", 0.2)))
        assert (verdict.action, verdict.grounds[0].key) == ("retest", "asked_out")


def test_a_travel_too_close_to_its_limit_is_measured_again_and_not_passed() -> None:
    """54 (50 to 58) of 55 allowed: a low level may begin there."""
    assert decide(replace(GOOD, reference=(IN,))).action == "fit"
    verdict = decide(replace(GOOD, reference=(IN,), asked=(asked("lost_motion", Estimate(54.0, 50.0, 58.0)),)))
    assert (verdict.action, verdict.grounds[0].key) == ("retest", "asked_open")


def test_a_friction_damper_has_a_clamp_and_no_side_to_set() -> None:
    verdict = decide(replace(GOOD, hydraulic=False, target=target("out", 0.2, 0.5)))
    assert verdict.step == "set_firmer:clamp"


@pytest.mark.parametrize(("aim", "action"), [("reference", "rebuild"), ("vehicle", "replace")])
def test_a_setting_that_cannot_be_made_is_no_advice(aim: Any, action: Action) -> None:
    verdict = decide(replace(GOOD, reference=(IN, OUT)))
    advice = AdviceRecord(aim=aim, parts=(), curves=(), damping_ratios=(), answer="out", notes=())
    made = as_can_be_made(verdict, advice, target("out", 0.2))
    assert made.action == action
    assert [ground.key for ground in made.grounds] == [*(g.key for g in verdict.grounds), "cannot_be_made"]
    assert STEPS[made.step].startswith(
        {"reference": "Open it and renew", "vehicle": "This unit cannot be made to suit this car."}[aim]
    )
    assert as_can_be_made(verdict, advice.model_copy(update={"answer": "in"})) == verdict
    kept = as_can_be_made(verdict, advice, target("in"))  # its damping ratio suits the car
    assert (kept == verdict) == (aim == "vehicle")


def test_a_gas_pressure_without_a_charge_to_hold_it_against_is_said_and_changes_nothing() -> None:
    verdict = decide(replace(GOOD, gas_bar=10.0))
    assert verdict.action == "fit"
    assert (verdict.grounds[-1].key, dict(verdict.grounds[-1].figures)) == ("gas_about", {"bar": 10.0})


STATES: tuple[Answer | None, ...] = (None, *get_args(Answer))


@pytest.mark.parametrize(("reference", "car"), list(product(STATES, STATES)))
def test_fit_only_where_everything_declared_was_met(reference: Answer | None, car: Answer | None) -> None:
    points = None if reference is None else (IN, point(reference))
    wanted = None if car is None else target(car, {"in": 0.28, "out": 0.2, "not established": None}[car])
    verdict = decide(replace(GOOD, reference=points, target=wanted))
    assert verdict.action in get_args(Action)
    assert (verdict.action == "fit") == ({reference, car} <= {"in", None} and (reference, car) != (None, None))
    assert verdict.grounds
    assert verdict.step


@pytest.mark.parametrize(
    ("below", "above", "rest"), list(product(get_args(Answer), get_args(Answer), get_args(Answer)))
)
@pytest.mark.parametrize("direction", DIRECTIONS)
def test_fit_only_with_coverage_in_below_and_above_the_knee_both_ways(
    direction: Direction, below: Answer, above: Answer, rest: Answer
) -> None:
    """One direction with any coverage, the other one wholly in or not."""
    mine = [c for c in covered(below, above) if c.direction == direction]
    others = [c for c in covered(rest, rest) if c.direction != direction]
    verdict = decide(replace(GOOD, coverage=(*mine, *others)))
    assert (verdict.action == "fit") == (below == above == rest == "in")


@pytest.mark.parametrize(
    ("answer", "action", "key"),
    [("not compared", "undecided", "not_compared"), ("not tested", "retest", "not_tested")],
)
@pytest.mark.parametrize(
    ("lacking", "about"), [("below the knee", "up to the knee"), ("above the knee", "above the knee")]
)
def test_what_is_not_covered_asks_for_a_declaration_or_for_a_stage(
    answer: Any, action: Action, key: str, lacking: str, about: str
) -> None:
    """Tested but not compared: a reference would tell. Not tested: only another stage would."""
    thin = tuple(c.model_copy(update={"answer": answer}) if c.piece == lacking else c for c in covered())
    verdict = decide(replace(GOOD, coverage=thin))
    assert verdict.action == action
    assert {(g.key, g.about) for g in verdict.grounds if g.direction} == {(key, about)}


@pytest.mark.parametrize(
    ("pieces", "action"),
    [
        (("slow pass", "above the knee"), "fit"),
        (("knee", "top"), "fit"),
        (("below the knee", "knee"), "retest"),
        (("knee",), "retest"),
    ],
)
def test_the_knee_itself_counts_as_up_to_it(pieces: tuple[Piece, ...], action: Action) -> None:
    mine = tuple(piece_of(d, piece, 0.1, 0.2, "in") for d in DIRECTIONS for piece in pieces)
    assert decide(replace(GOOD, coverage=mine)).action == action


def test_a_friction_damper_needs_one_piece_a_direction() -> None:
    disc = tuple(c for c in covered() if c.piece == "below the knee")
    assert decide(replace(GOOD, coverage=disc, hydraulic=False, rebound_share=None)).action == "fit"
    assert decide(replace(GOOD, coverage=disc[:1], hydraulic=False, rebound_share=None)).action == "retest"


@pytest.mark.parametrize("code", UNSAFE)
def test_fit_only_where_unsafe_causes_were_looked_for(code: str) -> None:
    """Where the forces asked for are all in, those that take force away are ruled out by the forces themselves."""
    verdict = decide(replace(GOOD, not_looked_for=(NotLookedFor(code, ("slow_stage",)),)))
    assert verdict.action == ("fit" if code in SHOWN_BY_FORCE else "retest")


@pytest.mark.parametrize("code", ["fade", "bent_rod", "low_gas_pressure"])
def test_a_cause_that_makes_no_unit_unsafe_does_not_hold_up_a_pass(code: str) -> None:
    assert decide(replace(GOOD, not_looked_for=(NotLookedFor(code, ("slow_pass",)),))).action == "fit"


@pytest.mark.parametrize(
    ("lacks", "action"),
    [(("zero",), "undecided"), (("rod_diameter", "kind"), "undecided"), (("zero", "slow_stage"), "retest")],
)
def test_what_a_person_can_declare_is_asked_for_before_a_new_test(lacks: tuple[str, ...], action: Action) -> None:
    assert decide(replace(GOOD, not_looked_for=(NotLookedFor("low_oil", lacks),))).action == action


@pytest.mark.parametrize(
    ("code", "hydraulic", "key"),
    [("loose_mount", True, "hand_check"), ("low_oil", True, "hand_check"), ("loose_mount", False, "not_looked_for")],
)
def test_what_a_stroke_by_hand_clears_is_said_whatever_the_test_lacks(code: str, hydraulic: bool, key: str) -> None:
    known = replace(GOOD, not_looked_for=(NotLookedFor(code, ("slow_stage",)),), hydraulic=hydraulic)
    assert {g.key for g in decide(known).grounds if g.about == code} == {key}
    if hydraulic:
        assert decide(replace(known, seen=Seen(ruled_out=(code,)))).action == "fit"


def test_a_speed_that_was_not_run_is_told_from_one_too_close_to_call() -> None:
    close = replace(UNSURE, measured_n=Estimate(109.0, 106.0, 112.0))
    grounds = decide(replace(GOOD, reference=(IN, UNSURE, close))).grounds
    assert [(g.key, dict(g.figures).get("measured_n")) for g in grounds if g.key.startswith("reference")] == [
        ("reference_untested", None),
        ("reference_open", 109.0),
    ]


@pytest.mark.parametrize("alive", [(), ("rebound",), ("compression",)])
@pytest.mark.parametrize("reference", [None, (IN,), (IN, OUT)])
@pytest.mark.parametrize("car", [None, "in", "out"])
def test_a_dead_side_is_never_fit_nor_a_matter_of_setting(alive: Any, reference: Any, car: Any) -> None:
    wanted = None if car is None else target(car, 0.28 if car == "in" else 0.2)
    verdict = decide(replace(GOOD, alive=alive, reference=reference, target=wanted))
    assert verdict.action == "retest"
    assert {g.direction for g in verdict.grounds if g.key == "dead"} == set(DIRECTIONS) - set(alive)


@pytest.mark.parametrize("share", [0.0, ABSURD_SHARE[0] - 0.01, ABSURD_SHARE[1] + 0.01, 1.0])
def test_an_absurd_rebound_share_is_never_fit(share: float) -> None:
    assert decide(replace(GOOD, rebound_share=share)).action == "retest"


@pytest.mark.parametrize("share", [None, *ABSURD_SHARE, 0.5, 0.85])
def test_the_published_window_of_shares_is_not_absurd(share: float | None) -> None:
    """0.5 to 0.85 of rebound in both; published windows as the rule's own remark has them."""
    assert decide(replace(GOOD, rebound_share=share)).action == "fit"


def test_what_was_not_looked_at_is_said_even_where_the_unit_may_be_fitted() -> None:
    verdict = decide(replace(GOOD, seen=Seen(missing=("rod_pitting",))))
    assert (verdict.action, verdict.step) == ("fit", "look_then_fit")
    assert verdict.grounds[-1].key == "unseen"


def test_stages_short_of_the_rated_speed_are_said() -> None:
    verdict = decide(replace(GOOD, target=target("not established", None)))
    assert (verdict.action, verdict.grounds[0].key) == ("retest", "ratio_open")
