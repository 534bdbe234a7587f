"""One window of a reference, whoever asks: reference points, measures of the valves, requirements, coverage, verdict."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dampkit.damper.declared import DamperSpec, Reference
from dampkit.damper.valve import Valve
from dampkit.expected.differs import differs
from dampkit.expected.reference import against_reference
from dampkit.expected.window import window
from dampkit.faults.diagnose import Diagnosis, diagnose
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.coverage import coverage
from dampkit.outcome.requirements import requirements
from dampkit.quantities import DIRECTIONS
from tests.made_loops import COMPRESSION, REBOUND, SPEEDS_M_S, ladder, seen_on, spec_for, under_test, unit_of

pytestmark = pytest.mark.slow  # properties over whole analyses

COUNT = len(SPEEDS_M_S)
UNIT = unit_of()
SEEN = seen_on(UNIT, ladder(UNIT))
VALVE_FAULTS = {"internal_leak", "weak_blowoff", "blocked_bleed", "valve_stuck_open", "valves_swapped"}


def reference(**changed: Any) -> Reference:
    good = spec_for().reference
    assert good is not None
    return Reference.model_validate({**good.model_dump(), **changed})


def spec_of(**changed: Any) -> DamperSpec:
    return spec_for().model_copy(update={"reference": reference(**changed)})


OWN = st.lists(st.floats(1.0, 2000.0), min_size=COUNT, max_size=COUNT).map(tuple)
TOLERANCES = st.fixed_dictionaries(
    {"tolerance_percent": st.floats(0.0, 200.0), "tolerance_floor_n": st.floats(1.0, 500.0)},
    optional={"rebound_tolerance_n": OWN, "compression_tolerance_n": OWN},
)


def test_percent_floor_and_own_tolerance_by_hand() -> None:
    """15 % of 200 is 30 and of 100 is 15, under the floor of 25; an own tolerance wins over both, wide or narrow."""
    plain = Reference(velocity_m_s=(0.1, 0.3), rebound_force_n=(100.0, 200.0), compression_force_n=(10.0, 400.0))
    assert window(plain, "rebound").allowance_n.tolist() == [25.0, 30.0]
    assert window(plain, "compression").low_n.tolist() == [0.0, 340.0]
    own = plain.model_copy(update={"rebound_tolerance_n": (2.0, 90.0)})
    assert window(own, "rebound").low_n.tolist() == [98.0, 110.0]
    assert window(own, "rebound").high_n.tolist() == [102.0, 290.0]
    assert window(own, "compression").high_n.tolist() == [35.0, 460.0]


@given(TOLERANCES)
def test_reference_points_and_valve_measures_have_the_same_window(tolerances: dict[str, Any]) -> None:
    spec = spec_of(**tolerances)
    points = against_reference(SEEN, spec)
    seen = differs(replace(SEEN), spec)
    assert points is not None
    assert spec.reference is not None
    for direction in DIRECTIONS:
        w = window(spec.reference, direction)
        mine = [p for p in points if p.direction == direction]
        assert [p.low_n for p in mine] == w.low_n.tolist()
        assert [p.high_n for p in mine] == w.high_n.tolist()
        assert seen[direction].allowance_n.tolist() == w.allowance_n.tolist()
        assert seen[direction].measured_n == pytest.approx([p.measured_n.value for p in mine if p.measured_n])


def judged(valve: Valve, spec: DamperSpec) -> tuple[UnderTest, Diagnosis]:
    unit = unit_of(valve, COMPRESSION)
    test = under_test(unit, ladder(unit), spec)
    return test, diagnose(test)


@settings(max_examples=40)
@given(TOLERANCES, st.sampled_from(["bleed", "blowoff_force"]), st.floats(0.4, 2.5))
@pytest.mark.slow
def test_everyone_gives_the_same_answer(tolerances: dict[str, Any], part: str, ratio: float) -> None:
    """The unit's rebound valve changed by any ratio, its window of any width: all readings in, no valve fault found; a
    found valve fault, a reading out. The requirement is the worst of the points, and the measures say the same."""
    spec = spec_of(**tolerances)
    test, made = judged(replace(REBOUND, **{part: ratio * getattr(REBOUND, part)}), spec)
    points = against_reference(test.unit, spec)
    assert points is not None
    answers = {p.answer for p in points}
    found = {f.code for f in made.findings if f.level == "found"} & VALVE_FAULTS
    if answers == {"in"}:
        assert not found
    forces = next(r for r in requirements(test, points, None) if r.name == "forces of the known-good unit")
    assert forces.answer == ("out" if "out" in answers else "in" if answers == {"in"} else "not established")
    for m in made.measures:
        mine = [p for p in points if p.direction == m.direction and p.measured_n is not None]
        if m.key in ("force_low", "force_high"):
            sign = 1.0 if m.key == "force_high" else -1.0
            room = [0.5 * (p.high_n - p.low_n) if p.low_n > 0 else p.high_n - p.wanted_n for p in mine]
            off = [sign * (p.measured_n.value - p.wanted_n) for p in mine if p.measured_n is not None]
            assert m.value == pytest.approx(max(o / r for o, r in zip(off, room, strict=True)), abs=1e-6)


@settings(max_examples=40)
@given(st.floats(5.0, 60.0), st.floats(0.85, 1.15))
def test_an_own_tolerance_counts_as_the_percent_that_makes_it(percent: float, ratio: float) -> None:
    """The same window declared twice, as percent and as newtons at each speed: same findings, points and coverage."""
    by_percent = spec_of(tolerance_percent=percent, tolerance_floor_n=0.0)
    good = by_percent.reference
    assert good is not None
    forces = {"rebound": good.rebound_force_n, "compression": good.compression_force_n}
    own = {f"{d}_tolerance_n": tuple(0.01 * percent * f for f in forces[d]) for d in DIRECTIONS}
    valve = replace(REBOUND, blowoff_force=ratio * REBOUND.blowoff_force)
    results = []
    for spec in (by_percent, spec_of(tolerance_percent=1.0, tolerance_floor_n=1.0, **own)):
        test, made = judged(valve, spec)
        points = against_reference(test.unit, spec)
        assert points is not None
        results.append((
            [(f.code, f.level) for f in made.findings], [p.answer for p in points],
            [c.answer for c in coverage(test.unit, points, None)],
        ))  # fmt: skip
    assert results[0] == results[1]


@pytest.mark.parametrize(("percent", "level"), [(15.0, "found"), (30.0, "suspected")])
def test_a_blow_off_that_opens_early_within_the_window_is_no_more_than_suspected(percent: float, level: str) -> None:
    """At 0.6 of its force the unit reads up to 28 % less: out of a window of 15 %, within one of 30 %."""
    _, made = judged(replace(REBOUND, blowoff_force=0.6 * REBOUND.blowoff_force), spec_of(tolerance_percent=percent))
    assert [(f.code, f.level) for f in made.findings] == [("weak_blowoff", level)]


@pytest.mark.parametrize("own", [None, (25.0, 25.0, 0.05, 25.0, 25.0, 25.0, 25.0)])
def test_a_window_without_width_is_refused(own: tuple[float, ...] | None) -> None:
    with pytest.raises(ValueError, match=r"the tolerance in rebound is .* expected at least 0.1 N"):
        reference(tolerance_percent=0.0, tolerance_floor_n=0.0, rebound_tolerance_n=own)


def test_a_reference_force_of_zero_is_held_against_its_floor() -> None:
    good = spec_for().reference
    assert good is not None
    spec = spec_of(rebound_force_n=(0.0, *good.rebound_force_n[1:]))
    test, made = judged(REBOUND, spec)
    assert against_reference(test.unit, spec) is not None
    assert any(m.key == "bleed_adds" for m in made.measures)


@pytest.mark.parametrize("wide", [{"tolerance_percent": 150.0}, {"tolerance_percent": 1000.0}])
def test_a_window_of_the_whole_force_condemns_no_valve_and_shows_none_sound(wide: dict[str, float]) -> None:
    """Whatever the bleed: nothing is out of such a window, and its coverage is not compared."""
    spec = spec_of(**wide)
    test, made = judged(replace(REBOUND, bleed=1.5 * REBOUND.bleed), spec)
    points = against_reference(test.unit, spec)
    assert points is not None
    assert {p.answer for p in points} == {"in"}
    assert not {f.code for f in made.findings} & VALVE_FAULTS
    assert {c.answer for c in coverage(test.unit, points, None)} <= {"not compared", "not tested"}


def test_forces_and_allowances_are_those_that_were_declared_and_cannot_be_written_to() -> None:
    w = window(reference(), "rebound")
    with pytest.raises(ValueError, match="read-only"):
        w.wanted_n[0] = 1.0
    assert np.all(w.low_n <= w.wanted_n)
    assert np.all(w.wanted_n <= w.high_n)
