"""Every sample run's advice, read as a rebuilder would: a faulty unit is put back to what it was, and nothing is tuned.

What went into each sample is in `dampkit/virtual/samples.py`; how each fault is put right is common practice, no source.
"""

from __future__ import annotations

from functools import cache

import pytest

from dampkit.outcome.result import Result
from dampkit.report.page import render
from dampkit.report.plain import shown
from dampkit.virtual.samples import SAMPLES
from tests.test_sample_runs import FAULTY, SOUND, analysed

TUNING = ("drill", "preload times", "rate times", "Shim stack of", "clamp: ")


@cache
def result_of(name: str) -> Result:
    return analysed(name)


def said(result: Result) -> str:
    parts = [] if result.advice is None else [part.do for part in result.advice.parts]
    return " ".join([*result.verdict.reasons, result.verdict.next_step, *result.next_tests, *parts])


def test_the_walk_passes_every_sample() -> None:
    assert {*FAULTY, *SOUND, "broken_log"} == {s.name for s in SAMPLES}


@pytest.mark.parametrize("name", FAULTY)
def test_a_faulty_or_suspected_unit_is_not_tuned(name: str) -> None:
    result = result_of(name)
    assert result.advice is None
    assert not [word for word in TUNING if word in said(result).replace("drill nothing", "")]


@pytest.mark.parametrize(
    ("name", "direction", "part"),
    [
        ("blocked_bleed", "rebound", "bleed"),
        ("weak_blowoff", "rebound", "blow-off"),
        ("internal_leak", "rebound", "leak"),
    ],
)
def test_a_valve_fault_names_the_good_part(name: str, direction: str, part: str) -> None:
    """Held against the plant before its fault: within 10 % of the area or opening pressure that was put in."""
    (found,) = result_of(name).restore
    assert (found.direction, found.part) == (direction, part)
    sound = next(s for s in SAMPLES if s.name == name).unit
    if part == "bleed":
        assert found.good == pytest.approx(1e6 * sound.rebound.bleed_m2, rel=0.10)
    if part == "blow-off":
        area = 0.25 * 3.141593 * (sound.piston_diameter_m**2 - sound.rod_diameter_m**2)
        assert found.good == pytest.approx(sound.rebound.crack_pa * area, rel=0.10)
    if part == "leak":
        assert found.good < found.now


@pytest.mark.parametrize("name", [*FAULTY, *SOUND])
def test_what_was_not_read_is_not_said_to_read(name: str) -> None:
    """A force said to be read is one of the stages' own, within what a loop's middle and its peak differ."""
    result = result_of(name)
    for ground in result.verdict.grounds:
        if ground.key in ("reference_out", "need_out"):
            force = ground.figures.get("read_n", ground.figures["measured_n"])
            most = max(
                s.rebound_peak_force_n if ground.direction == "rebound" else s.compression_peak_force_n
                for s in result.run.stages
            )
            gas = 0.0 if result.statics.gas_force_n is None else abs(result.statics.gas_force_n.value)
            assert force <= most + gas + 5.0


def test_a_log_that_warms_by_50_kelvin_is_not_extrapolated() -> None:
    """Readings far from the reference's temperature are not compared at all, and none is above what the log holds."""
    result = result_of("fade")
    temperatures = [s.temperature_c for s in result.run.stages if s.temperature_c is not None]
    assert max(temperatures) - min(temperatures) > 40
    measured = [p for p in result.reference or () if p.measured_n is not None]
    assert measured
    assert all(p.read_n is None for p in measured)
    assert any(p.measured_n is None for p in result.reference or ())


@pytest.mark.parametrize("name", [*FAULTY, *SOUND])
def test_what_to_do_next_stands_whole_on_the_page(name: str) -> None:
    """How to let off a gas charge comes last in its step: a step that is cut leaves the caution out."""
    result = result_of(name)
    assert shown(result.verdict.next_step) == result.verdict.next_step
    assert result.advice is None or all(shown(part.do) == part.do for part in result.advice.parts)


@pytest.mark.parametrize("name", [*FAULTY, *SOUND])
def test_a_pass_has_nothing_out(name: str) -> None:
    result = result_of(name)
    if result.verdict.action == "fit":
        assert all(r.answer != "out" for r in result.requirements)


def test_gas_in_the_chamber_is_not_the_oil_to_add() -> None:
    """Gas is idle travel times rod area less the bubbles of good oil, by hand; how much to add this log cannot tell."""
    result = result_of("low_oil")
    assert result.oil is not None
    assert result.oil.gas_in_chamber_ml is not None
    late = next(e.value for f in result.faults for e in f.evidence if e.key == "late")
    rod_mm = result.damper.rod_diameter_mm or 0.0
    all_gas = 1e-3 * late * 0.25 * 3.141593 * rod_mm**2
    bubbles = (
        1e-3 * 1e-6 * 220.0 * 0.25 * 3.141593 * 27.0**2 * 1e3
    )  # a thousandth of 220 mm of oil in a bore of 27 mm, ml
    assert all_gas - 2.0 * bubbles < result.oil.gas_in_chamber_ml.value < all_gas
    assert result.oil.missing_ml is None
    assert "this log cannot tell how much" in result.verdict.next_step


def test_a_bent_rod_is_turned_before_anything_is_condemned() -> None:
    result = result_of("bent_rod")
    assert result.verdict.action == "retest"
    assert "90 and 180 degrees" in result.verdict.next_step


def test_a_friction_damper_has_its_clamp_set() -> None:
    result = result_of("sound_friction_disc")
    assert "clamp" in result.verdict.next_step
    assert "rebound" not in result.verdict.next_step
    page = render(result)
    assert "dust of old linings" in page
    assert "gas charge, springs" not in page


def test_one_mass_ratio_overstates_the_bodys() -> None:
    """As in [barton2018] sec. 3.13: a corner whose one-mass ratio is 0.284 swings with 0.243 (see tests/needs)."""
    car = result_of("sound_twin_tube").vehicle
    assert car is not None
    for ratio in car.ratios[1:]:
        assert ratio.body_ratio is not None
        assert ratio.body_ratio < ratio.damping_ratio.value
