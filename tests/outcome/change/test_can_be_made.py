"""Advice stays within what a workshop can make, undoes what can be undone first, and counts a hole where it is open."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.damper.declared import DamperSpec
from dampkit.damper.unit import Unit
from dampkit.damper.valve import Valve
from dampkit.expected.reference import Compared
from dampkit.outcome.advice_record import AdviceRecord
from dampkit.outcome.change.advise import Advised, advise
from dampkit.outcome.change.bleed import LEAST_DRILL_MM, choose_hole, effective_area_mm2, inch_drills
from dampkit.outcome.change.clamp import REACH as CLAMP_REACH
from dampkit.outcome.change.clamp import clamp_to_ratio
from dampkit.outcome.change.levers import Ratios, changed
from dampkit.outcome.change.search import REACH
from dampkit.outcome.change.stock import Bleed, Stock
from dampkit.outcome.verdict import Known
from dampkit.quantities import DIRECTIONS, Direction, Estimate
from tests.made_loops import side_of
from tests.outcome.made import target

SPEEDS = (0.05, 0.1, 0.3, 0.6, 1.0)
FRICTION_N = 20.0
GOOD: dict[Direction, Valve] = {
    "rebound": Valve(leak=1e-6, bleed=4e-3, blowoff_force=500.0, lift_rate=2e-5, knee_n=20.0),
    "compression": Valve(leak=1e-6, bleed=5e-3, blowoff_force=300.0, lift_rate=4e-5, knee_n=20.0),
}
STILL = np.arange(4.0)


def spec(kind: str, **more: object) -> DamperSpec:
    sizes = {"kind": kind, "piston_diameter_mm": 36.0, "rod_diameter_mm": 12.0, **more}
    return DamperSpec.model_validate({"damper": sizes})


def advice_for(off: dict[Direction, Ratios], of: DamperSpec, tolerance: float = 0.15) -> AdviceRecord:
    """What is advised where the good valves are off by known ratios; the window is about the good ones."""
    valves = {way: changed(GOOD[way], off.get(way, Ratios())) for way in DIRECTIONS}
    sides = {way: side_of(way, valves[way], FRICTION_N, 1.0, 0.004, SPEEDS) for way in DIRECTIONS}
    unit = Unit(
        sides["rebound"], sides["compression"], friction_force_n=Estimate(20.0, 19.5, 20.5), friction_used_n=20.0
    )
    points = tuple(_compared(way, v, valves[way], tolerance) for way in DIRECTIONS for v in SPEEDS)
    made = advise(
        Advised(unit, Run("made", "0" * 64, 4, STILL, STILL, STILL), of, Known(reference=points), None, Stock())
    )
    assert made is not None
    return made


def _compared(way: Direction, v: float, now: Valve, tolerance: float) -> Compared:
    reads, wanted = (float(valve.force(np.array([v]))[0]) + FRICTION_N for valve in (now, GOOD[way]))
    room = max(tolerance * wanted, 25.0)
    return Compared(way, v, Estimate(reads, 0.995 * reads, 1.005 * reads), wanted, wanted - room, wanted + room)


def test_a_preload_beyond_its_travel_is_not_advised() -> None:
    """The blow-off at 0.2 of its force: five times the preload no spring gives, nor can a hole or a rate stand in."""
    made = advice_for({"rebound": Ratios(preload=0.2)}, spec("twin-tube"))
    assert made.answer == "out"
    assert made.parts == ()
    why = " ".join(made.notes)
    assert "The closest in rebound still reads" in why
    reads, low = (float(text) for text in re.findall(r"reads (\S+) N .* outside (\S+) to", why)[0])
    assert reads < low


def test_what_can_be_undone_is_advised_before_a_hole_and_a_hole_is_marked() -> None:
    tired = advice_for({"rebound": Ratios(preload=0.7)}, spec("twin-tube"))
    assert [(p.part, p.irreversible) for p in tired.parts] == [("preload", False)]
    both = advice_for({"rebound": Ratios(bleed=0.5, preload=0.7)}, spec("twin-tube"), 0.2)
    assert [p.irreversible for p in both.parts] == sorted(p.irreversible for p in both.parts)
    assert any(p.part == "bleed" and p.irreversible and "cannot be undone" in p.do for p in both.parts)


@pytest.mark.parametrize("kind", ["twin-tube", "monotube"])
def test_every_ratio_is_one_that_can_be_made(kind: str) -> None:
    for preload in (0.55, 0.8, 1.3, 1.9):
        made = advice_for({"rebound": Ratios(preload=preload), "compression": Ratios(spring=1.5)}, spec(kind))
        for part in made.parts:
            low, high = REACH["stack" if part.part == "shim stack" else part.part]  # type: ignore[index]
            assert low - 1e-9 <= part.ratio <= high + 1e-9


def after(made: AdviceRecord, way: Direction, v: float) -> float:
    curve = next(c for c in made.curves if c.direction == way)
    return float(np.interp(v, curve.velocity_m_s, curve.force_n))


def test_a_monotubes_hole_is_open_both_ways_in_advice_and_prediction() -> None:
    """One hole of the piston stopped up: each direction lacks the same 1e-3 of bleed, and one drilling gives it to both.

    F = v^2 / b^2 at low speed. In a twin tube each direction has its own hole to be drilled.
    """
    off: dict[Direction, Ratios] = {"rebound": Ratios(bleed=0.75), "compression": Ratios(bleed=0.8)}
    made = advice_for(off, spec("monotube"), 0.2)
    (hole,) = [p for p in made.parts if p.part == "bleed"]
    assert any("check valve" in note for note in made.notes)
    owner = hole.direction
    assert owner != "both"
    added = GOOD[owner].bleed * off[owner].bleed * (hole.ratio - 1)
    for way in DIRECTIONS:
        opened = replace(GOOD[way], bleed=GOOD[way].bleed * off[way].bleed + added)
        assert after(made, way, 0.05) == pytest.approx(float(opened.force(np.array([0.05]))[0]) + FRICTION_N, rel=0.03)
    assert len([p for p in advice_for(off, spec("twin-tube"), 0.2).parts if p.part == "bleed"]) == 2


def test_a_hole_that_would_spoil_the_other_direction_is_not_promised() -> None:
    """Rebound's bleed at half, compression's right: with a check valve it can be drilled, without one it would fall by half."""
    off: dict[Direction, Ratios] = {"rebound": Ratios(bleed=0.5)}
    now = float(GOOD["compression"].force(np.array([0.05]))[0]) + FRICTION_N
    for of in (spec("twin-tube"), spec("monotube", bleed_check=True)):
        made = advice_for(off, of, 0.2)
        assert any(p.part == "bleed" for p in made.parts)
        assert after(made, "compression", 0.05) == pytest.approx(now, rel=0.01)
    assert advice_for(off, spec("monotube"), 0.2).answer != "in"


def test_two_holes_are_alike_and_none_is_thinner_than_a_drill_bears() -> None:
    for now, wanted in ((0.4, 0.55), (1.6, 0.9), (2.0, 2.6), (0.5, 0.2)):
        hole = choose_hole(now, wanted, tuple(Stock().bleed.drills), 0.65)
        assert len(set(hole.drills_mm)) <= 1
        assert all(d >= LEAST_DRILL_MM for d in hole.drills_mm)


def test_inch_drills() -> None:
    """ASME B94.11M, from memory: No. 60 is 0.0400 in, No. 52 0.0635 in, No. 30 0.1285 in; and 1/16 in is a fraction."""
    drills = inch_drills()
    assert drills[1.016] == "No. 60"
    assert drills[round(25.4 * 0.0635, 3)] == "No. 52"
    assert drills[round(25.4 * 0.1285, 3)] == "No. 30"
    assert drills[round(25.4 / 16, 3)] == "1/16 in"
    assert min(drills) >= LEAST_DRILL_MM
    assert list(drills) == sorted(drills)
    own = Bleed(drill_set="inch").drills
    hole = choose_hole(0.5, 0.5 + effective_area_mm2(1.016, 0.65), tuple(own), 0.65, most=1)
    assert own[hole.drills_mm[0]] == "No. 60"


@pytest.mark.parametrize(("ratio", "answer"), [(0.2, "in"), (0.14, "in"), (0.08, "out")])
def test_a_clamp_brings_a_friction_damper_to_its_car_as_far_as_it_goes(ratio: float, answer: str) -> None:
    """Target 0.224 to 0.336; friction, and so the ratio, goes with the clamp, at most to twice the load."""
    made = clamp_to_ratio(target("out", ratio), Estimate(200.0, 198.0, 202.0))
    assert made is not None
    assert made.answer == answer
    for part in made.parts:
        assert part.ratio == pytest.approx(min(0.28 / ratio, CLAMP_REACH[1]))
        assert math.isclose(part.new or 0.0, 200.0 * part.ratio)
