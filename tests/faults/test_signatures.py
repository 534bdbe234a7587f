"""Signatures on loops of closed form: what is put in is what must be measured."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from dampkit.faults.held_back import held_back
from dampkit.faults.judge import Measure, level_of

from dampkit.curves.loop import Loop
from dampkit.damper.stroke_friction import stroke_friction
from dampkit.faults import fade, oil, play, rod
from dampkit.faults.diagnose import diagnose
from dampkit.faults.finding import Finding
from dampkit.faults.next_tests import next_tests
from dampkit.quantities import read_only
from tests.faults import made


@pytest.mark.parametrize(("z", "probability"), [(0.0, 0.5), (1.0, 0.8413), (1.6449, 0.95), (-1.96, 0.025)])
def test_probability_beyond_a_limit_is_the_normal_table(z: float, probability: float) -> None:
    """Standard normal distribution, any handbook's table."""
    assert Measure("m", 10.0 + 2.0 * z, 2.0, "N", 10.0, "").beyond == pytest.approx(probability, abs=1e-4)
    assert Measure("m", 10.0 - 2.0 * z, 2.0, "N", 10.0, "", "below").beyond == pytest.approx(probability, abs=1e-4)


def test_within_its_uncertainty_is_suspected_only() -> None:
    assert [level_of(p) for p in (0.96, 0.9, 0.5, 0.4)] == ["found", "suspected", "suspected", None]


def test_a_sound_unit_holds_nothing_back_and_has_no_fault() -> None:
    unit = made.damper()
    seen = made.case(unit, made.ladder(unit), made.spec_for())
    assert all(abs(h.at_m) < 3e-4 for h in seen.held["rebound"] + seen.held["compression"])
    assert diagnose(seen) == ()


@pytest.mark.parametrize("void_mm", [14.0, 18.0])
def test_a_void_is_late_by_the_closed_form_and_put_into_millilitres(void_mm: float) -> None:
    """Force over a bleed goes with speed squared, so a sine has half of it at R (1 - cos 45 deg); the void comes on top.

    The volume is travel times the rod's area, as a twin tube's foot valve passes the rod's oil.
    """
    unit = made.damper()
    loops = tuple(x for x in made.ladder(unit, void_mm) if abs(x.peak_velocity_m_s - 0.1) > 0.01)
    found = {f.code: f for f in diagnose(made.case(unit, loops, made.spec_for()))}
    assert set(found) == {"low_oil"}
    own_mm = 500.0 * made.STROKE_M * (1.0 - math.cos(math.pi / 4))
    assert found["low_oil"].evidence[0].value == pytest.approx(void_mm - own_mm, abs=0.4)
    millilitres = found["low_oil"].evidence[0].value * math.pi / 4 * 1.2**2 / 10
    assert f"about {millilitres:.1f} ml" in found["low_oil"].sentence


def test_held_back_travel_is_the_void() -> None:
    unit = made.damper()
    seen = held_back(made.loop(0, 0.3, unit, late_mm=6.0), unit, "compression")
    assert seen is not None
    assert 1e3 * seen.at_m == pytest.approx(6.0, abs=0.5)


def with_slack(loop: Loop, slack_mm: float) -> Loop:
    """The loop with so much travel at no force after each reversal."""
    x, v = loop.displacement_m, loop.velocity_m_s
    open_ = ((v < 0) & (x.max() - x < 1e-3 * slack_mm)) | ((v > 0) & (x - x.min() < 1e-3 * slack_mm))
    return replace(loop, force_n=read_only(np.where(open_, 0.0, loop.force_n)))


@pytest.mark.parametrize("slack_mm", [0.0, 1.5, 2.5])
def test_play_is_measured_at_no_force(slack_mm: float) -> None:
    unit = made.damper()
    seen = made.case(unit, tuple(with_slack(x, slack_mm) for x in made.ladder(unit)), made.spec_for())
    measured = play.play_mm(seen)
    assert measured is not None
    assert measured[0] == pytest.approx(slack_mm, abs=0.4)
    assert {f.code for f in diagnose(seen)} == ({"loose_mount"} if slack_mm else set())


def slow_pass(unit_n: float, hump_n: float) -> Loop:
    x, v, _a = made.motion(0.005)
    friction = unit_n + hump_n * np.exp(-(((x - 0.008) / 0.005) ** 2))
    base = made.loop(0, 0.005, made.damper())
    return replace(base, force_n=read_only(np.sign(v) * friction)[None, :])


@pytest.mark.parametrize(("hump_n", "found"), [(0.0, False), (30.0, True)])
def test_a_tight_place_is_found_where_it_is(hump_n: float, found: bool) -> None:
    unit = made.damper()
    seen = made.case(unit, (slow_pass(25.0, hump_n), *made.ladder(unit)))
    finding = rod.bent_rod(seen)
    assert (finding is not None and finding.level == "found") is found
    assert rod.tight_place(seen, seen.curves.loops[0]).extra_n == pytest.approx(hump_n, abs=4.0)


def test_work_that_falls_with_cycles_is_fade() -> None:
    unit = made.damper()
    loops = tuple(
        replace(x, stage=replace(x.stage, cycles=8), force_n=read_only(np.tile(x.force_n, (2, 1))))
        for x in made.ladder(unit)
    )
    falling = tuple(
        replace(x, force_n=read_only(x.force_n * np.linspace(1.0, 0.96, len(x.force_n))[:, None])) for x in loops
    )
    assert fade.fade(made.case(unit, loops)) is None
    seen = fade.fade(made.case(unit, falling))
    assert seen is not None
    assert seen.level == "found"


def test_bubbles_explain_a_void_unless_both_are_mere_suspicions_alike() -> None:
    from dampkit.faults.diagnose import explained

    def made_up(code: str, level: str) -> Finding:
        return Finding(code, "found" if level == "found" else "suspected", 0.5, "", ())

    both = [made_up("aerated_oil", "suspected"), made_up("low_oil", "suspected")]
    assert {f.code for f in explained(both)} == {"aerated_oil", "low_oil"}
    assert {f.code for f in explained([made_up("aerated_oil", "found"), both[1]])} == {"aerated_oil"}


def test_what_a_log_leaves_open_is_told_with_the_next_test() -> None:
    unit = made.damper()
    bare = " ".join(next_tests(made.case(unit, made.ladder(unit)), ()))
    assert "slow pass" in bare
    assert "Repeat the first speed" in bare
    assert "[reference]" in bare
    full = (slow_pass(25.0, 0.0), *made.ladder(unit), made.loop(9, 0.05, unit))
    left = next_tests(made.case(unit, full, made.spec_for(kind="monotube")), ())
    assert left == ()


def test_a_void_needs_a_slow_stage() -> None:
    unit = made.damper()
    seen = made.case(unit, made.ladder(unit, 8.0)[3:], made.spec_for())
    assert oil.low_oil(seen) is None


def test_friction_is_told_place_by_place() -> None:
    """25 N all over with a hump of 30 N, as it was put in."""
    unit = made.damper()
    profile = stroke_friction(slow_pass(25.0, 30.0), unit)
    assert float(np.median(profile.both_n)) == pytest.approx(25.0, abs=1.5)
    assert float(profile.both_n.max()) == pytest.approx(55.0, abs=4.0)
