"""From a table to a verdict: what a table can tell is told, what it cannot is listed, and nothing passes for want of it."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

import dampkit
from dampkit.bench.points import Points, PointSet
from dampkit.outcome.published import schema_of
from dampkit.outcome.result import Result
from dampkit.quantities import DIRECTIONS
from dampkit.virtual.faulted import faulted
from dampkit.virtual.papers import damper_toml, vehicle_toml
from dampkit.virtual.plant import Plant
from dampkit.virtual.samples import SALOON
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import LEVER_ARM, MONOTUBE, TWIN_TUBE, TWIN_TUBE_LARGE

SPEEDS = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
REFERENCE_M_S = np.array([0.05, 0.1, 0.2, 0.3, 0.6, 1.0])
SOUND = Path(__file__).parents[2] / "sample_runs" / "sound_twin_tube.csv"
HAND = {"inspection": {"hand_stroke": "no dead travel"}}
KINDS: dict[str, Plant] = {
    "twin-tube": TWIN_TUBE,
    "large twin-tube": TWIN_TUBE_LARGE,
    "monotube": MONOTUBE,
    "lever-arm": LEVER_ARM,
}


def table(plant: Plant, speeds: tuple[float, ...] = SPEEDS, seed: int = 1) -> Points:
    """Readings of the plant scattered by 1 % (repeatability of a bench; common practice), as written to a tenth of a newton."""
    rng, v = np.random.default_rng(seed), np.array(speeds)
    none, half = np.zeros(v.size), np.full(v.size, 0.05)
    sets = {
        d: PointSet(v, np.round(bench_reading(plant, d, v) * (1 + rng.normal(0.0, 0.01, v.size)), 1), half, none)
        for d in DIRECTIONS
    }
    return Points("table.csv", "0" * 64, "table", v.size, v.size, sets["rebound"], sets["compression"])


def reach(plant: Plant) -> float:
    return 0.5 if plant.kind == "lever-arm" else 1.0


def scaled(plant: Plant, speeds: tuple[float, ...] = SPEEDS) -> tuple[float, ...]:
    return tuple(reach(plant) * v for v in speeds)


def declared(good: Plant) -> dict[str, Any]:
    return tomllib.loads(damper_toml(good, 1, reach(good) * REFERENCE_M_S, 20.0))


def verdict(points: Points, good: Plant = TWIN_TUBE, **more: Any) -> Result:
    return dampkit.analyse(points, damper=declared(good), **more)


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("from_m_s", [0.005, 0.05], ids=["slow pull", "no slow pull"])
def test_a_sound_unit_is_fitted_with_the_stroke_by_hand_and_undecided_without(name: str, from_m_s: float) -> None:
    plant = KINDS[name]
    points = table(plant, scaled(plant, tuple(v for v in SPEEDS if v >= from_m_s)))
    with_hand, without = verdict(points, plant, inspection=HAND), verdict(points, plant)
    assert (with_hand.faults, without.faults) == ((), ())
    assert with_hand.verdict.action == "fit"
    assert without.verdict.action == "undecided"
    assert any("stroke by hand on the inspection sheet" in reason for reason in without.verdict.reasons)
    assert {g.key for g in without.verdict.grounds} >= {"hand_check"}


def test_dead_travel_felt_by_hand_is_no_pass() -> None:
    result = verdict(table(TWIN_TUBE), inspection={"inspection": {"hand_stroke": "dead travel"}})
    assert result.verdict.action == "rebuild"
    assert any("by hand" in reason for reason in result.verdict.reasons)


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("code", ["internal_leak", "weak_blowoff", "blocked_bleed"])
@pytest.mark.parametrize("from_m_s", [0.005, 0.05], ids=["slow pull", "no slow pull"])
def test_a_faulty_unit_is_named_or_out_and_never_fitted(name: str, code: str, from_m_s: float) -> None:
    plant = faulted(KINDS[name], code, 4.0)
    points = table(plant, scaled(plant, tuple(v for v in SPEEDS if v >= from_m_s)))
    result = verdict(points, KINDS[name], inspection=HAND)
    assert result.verdict.action != "fit"
    assert result.reference is not None
    outside = any(p.answer == "out" for p in result.reference)
    assert outside or code in {f.code for f in result.faults}


@pytest.mark.parametrize("code", ["internal_leak", "weak_blowoff", "blocked_bleed"])
def test_with_a_slow_pull_the_fault_is_named(code: str) -> None:
    result = verdict(table(faulted(TWIN_TUBE, code, 4.0)), inspection=HAND)
    assert code in {f.code for f in result.faults}


def test_high_friction_shows_in_the_slow_pull_or_as_the_same_newtons_over_the_reference_everywhere() -> None:
    stiff = faulted(TWIN_TUBE, "high_friction", 4.0)
    for speeds in (SPEEDS, SPEEDS[1:]):
        assert [(f.code, f.level) for f in verdict(table(stiff, speeds)).faults] == [("high_friction", "found")]
    bare = dampkit.analyse(table(stiff, SPEEDS[1:]), damper={"damper": declared(TWIN_TUBE)["damper"]})
    assert {n.code: n.lacks for n in bare.not_looked_for}["high_friction"] == ("slow_pass",)


def test_what_only_loops_show_is_listed_with_what_would_tell() -> None:
    listed = {n.code: (n.lacks, n.needs) for n in verdict(table(TWIN_TUBE)).not_looked_for}
    only_loops = {"bent_rod", "loose_mount", "low_oil", "aerated_oil", "trapped_air", "starved_refill", "fade"}
    assert only_loops <= set(listed)
    for code in only_loops:
        lacks, needs = listed[code]
        assert lacks == ("loops",)
        assert "over whole strokes" in needs
    monotube = {n.code: n.lacks for n in verdict(table(MONOTUBE), MONOTUBE).not_looked_for}
    assert monotube["low_gas_pressure"] == ("loops",)


def test_the_result_has_no_stages_but_a_curve_readings_and_ratios() -> None:
    vehicle = tomllib.loads(vehicle_toml(SALOON))
    result = verdict(table(TWIN_TUBE), vehicle=vehicle)
    plain = json.loads(json.dumps(result.to_dict()))
    jsonschema.validate(plain, schema_of("result"))
    assert plain["run"]["stages"] == []
    assert [(f["form"], f["rows_read"], f["rows_used"]) for f in plain["run"]["files"]] == [("table", 8, 8)]
    for direction in DIRECTIONS:
        curve, reading = plain["valve"][direction]["curve"], plain["valve"][direction]["reading"]
        assert len(curve["velocity_m_s"]) >= 50
        assert reading["velocity_m_s"] == list(SPEEDS)
    assert plain["lag"]["lost_motion_mm"] == {"rebound": None, "compression": None}
    assert [r["peak_velocity_m_s"] for r in plain["vehicle"]["ratios"]] == pytest.approx(list(SPEEDS))


def test_which_way_is_out_must_be_told() -> None:
    result = verdict(replace(table(TWIN_TUBE), direction_known=False), inspection=HAND)
    assert result.verdict.action == "undecided"
    assert result.verdict.step == "which_way_is_out"


def test_forces_in_another_unit_are_the_benchs_business() -> None:
    """Written in pound-force and read as newtons: 4.448 times too small everywhere."""
    points = table(TWIN_TUBE)
    sets = {d: replace(s, force_n=s.force_n / 4.4482216) for d in DIRECTIONS if (s := points.points(d)) is not None}
    result = verdict(replace(points, rebound=sets["rebound"], compression=sets["compression"]))
    assert "force_scale" in {q.code for q in result.quality if q.severity == "bad"}
    assert result.verdict.action == "undecided"


def test_a_direction_without_force_is_not_passed() -> None:
    """No reference, so no fault is named; and no damper is built with so little in one direction."""
    points = table(TWIN_TUBE)
    assert points.compression is not None
    dead = replace(points.compression, force_n=0.02 * points.compression.force_n)
    result = dampkit.analyse(replace(points, compression=dead), vehicle=tomllib.loads(vehicle_toml(SALOON)))
    assert result.verdict.action == "retest"
    assert result.verdict.step == "dead_side"


@pytest.mark.parametrize("given", [True, False], ids=["reference", "nothing to hold it against"])
def test_a_sound_unit_pulled_slowly_is_not_called_dead_but_run_faster(given: bool) -> None:
    """At 5 mm/s oil makes next to nothing in any damper, so that no force says nothing about its valves."""
    slow = table(TWIN_TUBE, (0.003, 0.005, 0.01))
    easy = [replace(s, force_n=0.3 * s.force_n) for d in DIRECTIONS if (s := slow.points(d)) is not None]
    slow = replace(slow, rebound=easy[0], compression=easy[1])
    result = verdict(slow) if given else dampkit.analyse(slow)
    assert (result.verdict.action, result.verdict.step) == ("retest", "cover")
    assert {g.key for g in result.verdict.grounds} >= {"not_tested"}
    assert "dead" not in {g.key for g in result.verdict.grounds}


def test_a_force_in_the_sentence_of_a_fault_is_that_of_the_speed_it_names() -> None:
    """A rebound valve soft at every speed: what misses most is at one speed, what an early blow-off takes at another."""
    points = table(TWIN_TUBE)
    assert points.rebound is not None
    soft = replace(points, rebound=replace(points.rebound, force_n=0.45 * points.rebound.force_n))
    reference = declared(TWIN_TUBE)["reference"]
    wanted = dict(zip(reference["velocity_m_s"], reference["rebound_force_n"], strict=True))
    faults = [f for f in verdict(soft).faults if "wanted_n" in f.figures]
    assert len({e.velocity_m_s for f in faults for e in f.evidence}) > 1
    for fault in faults:
        named = next(e.velocity_m_s for e in fault.evidence if e.velocity_m_s is not None)
        assert fault.figures["wanted_n"] == pytest.approx(wanted[named], rel=1e-6)


def test_why_no_area_of_the_bleed_is_given_is_said_of_the_two_reasons_the_one() -> None:
    seen = dampkit.analyse(table(TWIN_TUBE))
    assert seen.valve.rebound.bleed_coefficient_n_s2_m2 is not None
    said = [q.message for q in seen.quality if q.code == "bleed_area_null"]
    assert said
    assert not any("not seen" in message for message in said)
    assert all("diameters of piston and rod" in message for message in said)


def test_one_direction_alone_is_not_passed() -> None:
    result = verdict(replace(table(TWIN_TUBE), compression=None), inspection=HAND)
    assert result.verdict.action not in ("fit", "rebuild", "replace")


def test_advice_comes_from_a_table_too() -> None:
    """A reference a fifth softer than the unit: no fault, and what to change takes force away in both directions."""
    wanted = declared(TWIN_TUBE)
    for way in DIRECTIONS:
        wanted["reference"][f"{way}_force_n"] = [0.8 * f for f in wanted["reference"][f"{way}_force_n"]]
    result = dampkit.analyse(table(TWIN_TUBE), damper=wanted)
    assert result.verdict.action == "adjust"
    assert result.faults == ()
    assert result.advice is not None
    assert {part.direction for part in result.advice.parts} == set(DIRECTIONS)
    for predicted in result.advice.curves:
        now = bench_reading(TWIN_TUBE, predicted.direction, np.array([0.5]))[0]
        assert np.interp(0.5, predicted.velocity_m_s, predicted.force_n) < now


def test_its_page_is_made_and_says_that_there_are_no_loops(tmp_path: Any) -> None:
    page = tmp_path / "page.html"
    dampkit.write_report(verdict(table(TWIN_TUBE), vehicle=tomllib.loads(vehicle_toml(SALOON))), page)
    text = page.read_text(encoding="utf-8")
    assert "A table has no loops" in text
    assert "Force of the oil against piston speed" in text


@pytest.mark.parametrize("factor", [1.0, 0.2248], ids=["direction not told", "and in pound-force"])
def test_a_sound_unit_counted_the_other_way_is_not_opened(factor: float) -> None:
    """Compression positive, as some benches count, and nothing says so: then each direction seems to make the other's force."""
    run, names = dampkit.read_run(SOUND), ("time_s", "displacement_mm", "force_n")
    columns = (run.time_s, -1000.0 * run.displacement_m, -factor * run.force_n)
    turned = dampkit.read_run(dict(zip(names, columns, strict=True)))
    result = dampkit.analyse(turned, damper=SOUND.with_suffix(".damper.toml"))
    assert result.verdict.action == "undecided"
    assert result.restore == ()


def test_a_cell_whose_zero_is_off_loses_no_gas() -> None:
    """A sound monotube whose declared zero is 400 N off: at rest it seems to pull in, which no gas does."""
    log = SOUND.with_name("sound_monotube.csv")
    signs = {"force_positive": "tension", "displacement_positive": "extension"}
    off = dampkit.read_run(log, {"signs": signs, "zero": {"force_n": -400.0}})
    result = dampkit.analyse(off, damper=log.with_suffix(".damper.toml"))
    assert "zero_offset" in {q.code for q in result.quality}
    assert "low_gas_pressure" not in {f.code for f in result.faults}
    assert "low_gas_pressure" in {n.code for n in result.not_looked_for}
    assert result.statics.gas_pressure_bar is None
    assert result.verdict.action == "fit"
