"""Every fault in every kind that can have it, on both sides of its limit, alone and beside what it is confused with."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dampkit.damper.declared import Kind
from dampkit.faults.causes import CAUSES
from dampkit.faults.diagnose import diagnose
from tests.faults.cases import ALL, BUBBLES, LIMITS, Case, diagnosed, named
from tests.faults.made_unit import Made, test_of
from tests.made_loops import REBOUND


def test_every_fault_of_every_kind_has_a_case_on_both_sides_of_its_limit() -> None:
    wanted = {(cause.code, kind) for cause in CAUSES for kind in cause.kinds}
    beyond = {(case.about, case.made.kind) for case in LIMITS if case.about in case.found | case.suspected}
    inside = {(case.about, case.made.kind) for case in LIMITS if not case.found | case.suspected}
    assert beyond == inside == wanted


HIDDEN = frozenset(
    ("trapped_air", "valves_swapped", "internal_leak", "weak_blowoff", "blocked_bleed", "valve_stuck_open")
)


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_what_went_in_is_named_and_nothing_else(case: Case) -> None:
    diagnosis = diagnosed(case)
    assert named(diagnosis) == (case.found, case.suspected)
    unasked = {"fade"} if case.made.warms_k is None else set()
    unasked |= set() if case.made.reference else {c.code for c in CAUSES if c.needs == ("reference",)}
    unread = HIDDEN if case.made.kind == "twin-tube" and case.made.gas_mm("compression") > 8.0 else frozenset()
    assert {n.code for n in diagnosis.not_looked_for} - unread == unasked - unread  # behind so much gas


@pytest.mark.parametrize("case", [case for case in ALL if case.found | case.suspected], ids=lambda case: case.name)
def test_a_finding_rests_on_measures_that_are_beyond_their_limits(case: Case) -> None:
    for finding in diagnosed(case).findings:
        sure = min(m.beyond for m in finding.evidence)
        assert sure > 0.5
        assert finding.likelihood <= sure
        if finding.level == "found":
            assert sure >= 0.95
            assert any(m.direct for m in finding.evidence)


DIRECTED = {
    "void entering rebound": ("low_oil", "rebound"),
    "low_oil beyond, twin-tube": ("low_oil", "compression"),
    "trapped_air beyond, monotube": ("trapped_air", "rebound"),
    "starved_refill beyond, lever-arm": ("starved_refill", "compression"),
    "weak_blowoff beyond, monotube": ("weak_blowoff", "rebound"),
    "valve_stuck_open beyond, twin-tube": ("valve_stuck_open", "compression"),
}


@pytest.mark.parametrize("name", DIRECTED)
def test_the_direction_is_the_one_it_was_put_into(name: str) -> None:
    code, direction = DIRECTED[name]
    diagnosis = diagnosed(next(case for case in ALL if case.name == name))
    assert [(f.code, f.direction) for f in diagnosis.findings] == [(code, direction)]


def test_without_a_reference_no_valve_is_named() -> None:
    diagnosis = diagnose(test_of(Made(rebound=replace(REBOUND, leak=3e-4), reference=False)))
    assert diagnosis.findings == ()


@pytest.mark.parametrize("kind", ["twin-tube", "lever-arm", "friction-disc"])
def test_play_needs_no_zero_where_no_gas_pushes_the_rod(kind: Kind) -> None:
    diagnosis = diagnose(test_of(Made(kind, slack_mm=1.0, zero_known=False)))
    assert [(f.code, f.level) for f in diagnosis.findings] == [("loose_mount", "found")]


def test_a_void_is_measured_as_long_as_it_is() -> None:
    """Closed form: force over a bleed goes with speed squared, so half of it is there at R (1 - cos 45 deg) in any case.

    Of a twin tube it is gas that gives way by p V^1.4, told whole from what is seen of it; of bubbles as well.
    """

    def late_mm(name: str) -> float:
        return diagnosed(next(case for case in ALL if case.name == name)).findings[0].evidence[0].value

    assert late_mm("low_oil beyond, monotube") == pytest.approx(14.0 - 25.0 * (1 - 0.5**0.5), abs=0.4)
    assert late_mm("low_oil beyond, twin-tube") == pytest.approx(14.0, abs=0.4)
    assert late_mm("aerated_oil beyond, twin-tube") == pytest.approx(BUBBLES["compression"], rel=0.05)


def test_a_tight_place_is_measured_where_and_as_it_is() -> None:
    found = diagnosed(next(case for case in ALL if case.name == "bent_rod beyond, twin-tube")).findings[0]
    assert found.evidence[0].value == pytest.approx(20.0, abs=3.0)  # read over a place 2 mm wide
    assert dict(found.figures)["place_m"] == pytest.approx(0.008, abs=0.001)
