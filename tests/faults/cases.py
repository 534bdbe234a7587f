"""The contract of the fault room as a table: what is put into a made unit, and what must be named.

Every figure put in is a clear way beyond or inside the limit that the fault room states; what each should be named is the
physics of the trade ([dixon2007] ch. 6 and 9 for valves, oil and gas), not what the room says.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, get_args

import pytest

from dampkit.damper.declared import Kind
from dampkit.faults import diagnose as room
from dampkit.faults.causes import CAUSES, Cause
from dampkit.faults.diagnose import MEASURES, Diagnosis
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Direction
from tests import made_loops as made
from tests.faults.made_unit import Made, test_of

R, C = made.REBOUND, made.COMPRESSION
BLOWN = made.with_blowoff
STEEP = replace(R, lift_rate=2e-6)  # lifts so little above its knee that the knee hardly bends the curve


@dataclass(frozen=True)
class Case:
    """`about`: the code whose limit the case is about. Found and suspected are what must be named, and nothing else."""

    name: str
    about: str
    made: Made
    found: frozenset[str] = frozenset()
    suspected: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Sides:
    """A fault clearly beyond its limit, and clearly inside it."""

    code: str
    beyond: dict[str, object]
    inside: dict[str, object]


BOTH_WAYS = (
    Sides("bent_rod", {"hump_n": 20.0}, {"hump_n": 5.0}),  # limit 10 N
    Sides("loose_mount", {"slack_mm": 1.0}, {"slack_mm": 0.3}),  # limit 0.4 mm
    # other kinds' void is late by its length less the 7.3 mm in which a bleed's force comes to its half anyway; limit 3 mm
    Sides("low_oil", {"void_mm": {"compression": 14.0}}, {"void_mm": {"compression": 8.5}}),
    Sides("trapped_air", {"clears_mm": {"rebound": 4.0}}, {"clears_mm": {"rebound": 0.5}}),  # limit 1 mm
    Sides("starved_refill", {"grows_mm": {"compression": 14.0}}, {"grows_mm": {"compression": 4.0}}),  # 3 + 5 mm at 1 m/s
    Sides("low_gas_pressure", {"gas_bar": 6.0}, {"gas_bar": 20.0}),  # 22 bar declared, less 15 %
    Sides("fade", {"fades": 0.2, "warms_k": 8.0}, {"fades": 0.03, "warms_k": 8.0}),
    Sides("internal_leak", {"rebound": replace(R, leak=1.5e-4)}, {"rebound": replace(R, leak=1e-5)}),
    Sides("valve_stuck_open", {"compression": replace(C, bleed=4 * C.bleed)}, {"compression": replace(C, bleed=1.3 * C.bleed)}),
    Sides("weak_blowoff", {"rebound": BLOWN(R, 0.55)}, {"rebound": BLOWN(R, 0.9)}),
    Sides("blocked_bleed", {"rebound": replace(R, bleed=0.5 * R.bleed)}, {"rebound": replace(R, bleed=0.95 * R.bleed)}),
    Sides("valves_swapped", {"rebound": C, "compression": R}, {"rebound": BLOWN(R, 0.97), "compression": BLOWN(C, 1.03)}),
    Sides("uneven_sides", {"reference": False}, {"reference": False, "compression": BLOWN(R, 0.9)}),  # limit 20 %
    Sides("sticking_discs", {"start_ratio": 1.6}, {"start_ratio": 1.15}),  # limit 1.3
    Sides("greased_discs", {"gains_s_m": 0.3}, {"gains_s_m": 0.04}),  # limit 0.1 s/m
    Sides("glazed_discs", {"sliding_n": 120.0}, {"sliding_n": 190.0}),  # 200 N less 15 %
)  # fmt: skip
FOAM = {"rebound": 9.0, "compression": 9.0}
# of a twin tube, 4 % of the oil: the rod works on all, the annulus on half
BUBBLES: dict[Direction, float] = {"rebound": 4.0, "compression": 50.0}
THIN_FOAM = {"rebound": 4.0, "compression": 4.0}
THINNER_FOAM = {"rebound": 2.5, "compression": 2.5}  # lost motion may be 2 mm there, not 3


def _of_kind(code: str, kind: Kind) -> Iterator[Case]:
    """Both sides of a fault's limit in a unit of one kind."""
    beyond, inside = _sides(code, kind)
    found, suspected = frozenset({code}), frozenset[str]()
    if (code, kind) == ("aerated_oil", "lever-arm"):  # the void of a lever-arm is soft both ways as well
        found, suspected = frozenset(), frozenset({"aerated_oil", "low_oil"})
    yield Case(f"{code} beyond, {kind}", code, replace(Made(kind), **beyond), found, suspected)  # type: ignore[arg-type]
    yield Case(f"{code} inside, {kind}", code, replace(Made(kind), **inside))  # type: ignore[arg-type]


def _sides(code: str, kind: Kind) -> tuple[dict[str, object], dict[str, object]]:
    if code == "high_friction":  # limits 55, 44.5 and 40 N
        low = kind in ("lever-arm", "steering-damper")
        return ({"friction_n": 60.0 if low else 80.0}, {"friction_n": 30.0 if low else 45.0})
    if (code, kind) == ("low_oil", "twin-tube"):
        return {"void_mm": {"compression": 14.0}}, {"void_mm": {"compression": 1.5}}
    if (code, kind) == ("aerated_oil", "twin-tube"):
        return {"foam_mm": BUBBLES}, {"foam_mm": {"rebound": 0.2, "compression": 1.5}}
    if code == "aerated_oil":
        return {"foam_mm": FOAM}, {"foam_mm": THINNER_FOAM if kind == "steering-damper" else THIN_FOAM}
    sides = next(s for s in BOTH_WAYS if s.code == code)
    return sides.beyond, sides.inside


def _valves(kind: Kind = "twin-tube") -> Iterator[Case]:
    """What makes less or more force than the reference, next to what is confused with it."""

    def case(name: str, about: str, *found: str, **put_in: object) -> Case:
        return Case(name, about, replace(Made(kind), **put_in), frozenset(found))  # type: ignore[arg-type]

    leaks = replace(R, leak=1.5e-4)
    yield case("leak and weak blow-off, one direction each", "internal_leak", "internal_leak", "weak_blowoff",
               rebound=leaks, compression=BLOWN(C, 0.55))  # fmt: skip
    yield case("weak blow-off behind a blocked bleed", "weak_blowoff", "weak_blowoff", "blocked_bleed",
               rebound=replace(BLOWN(R, 0.55), bleed=0.5 * R.bleed))  # fmt: skip
    yield case("weak blow-off behind friction", "weak_blowoff", "weak_blowoff", "high_friction",
               friction_n=110.0, rebound=BLOWN(R, 0.6))  # fmt: skip
    early = replace(Made(kind), rebound=BLOWN(STEEP, 0.45), good=(STEEP, C))  # in its window: the model alone shows it
    yield Case("blow-off opens early where the valve is steep above it", "weak_blowoff", early,
               suspected=frozenset({"weak_blowoff"}))  # fmt: skip
    well_in = replace(early, rebound=BLOWN(STEEP, 0.55))
    yield Case("blow-off opens early, every force well in its window", "weak_blowoff", well_in,
               suspected=frozenset({"weak_blowoff"}))  # fmt: skip
    yield case("softer setting of both bleeds", "valve_stuck_open",
               rebound=replace(R, bleed=1.3 * R.bleed), compression=replace(C, bleed=1.3 * C.bleed))  # fmt: skip
    yield case("leaks from the first stage and loses work as well", "internal_leak", "internal_leak",
               rebound=leaks, fades=0.15, warms_k=8.0)  # fmt: skip
    yield case("leaks beside air of which a millimetre clears, which takes nothing at mid-stroke", "internal_leak",
               "internal_leak", rebound=leaks, clears_mm={"rebound": 1.0})  # fmt: skip
    yield case("weak blow-off by a narrow tolerance", "weak_blowoff", "weak_blowoff",
               rebound=BLOWN(R, 0.8), tolerance_percent=6.0)  # fmt: skip
    passages = replace(R, leak=4e-4)
    yield case("narrow passages blocked", "blocked_bleed", "blocked_bleed",
               rebound=replace(R, leak=2e-5), good=(passages, C))  # fmt: skip
    yield case("a firmer setting of the whole valve, narrow passages and blow-off alike", "blocked_bleed",
               rebound=replace(BLOWN(R, 1.5), leak=2.8e-4), good=(passages, C))  # fmt: skip
    yield case("passages narrower, a bleed larger, every force in its window", "blocked_bleed",
               rebound=replace(R, bleed=1.2 * R.bleed), good=(replace(R, leak=1e-4), C), tolerance_percent=20.0)  # fmt: skip
    yield case("changed over, but alike within tolerance", "valves_swapped",
               rebound=BLOWN(R, 0.9), compression=R, good=(R, BLOWN(R, 0.9)))  # fmt: skip
    yield case("leak that opens as the oil thins", "fade", "fade", thins=6e-4, warms_k=12.0)
    yield case("fade of 35 %", "fade", "fade", fades=0.35, warms_k=12.0)
    yield case("loses work and does not warm", "fade", fades=0.2, warms_k=0.0)


def _travel(kind: Kind = "twin-tube") -> Iterator[Case]:
    """What makes force arrive late, next to what is confused with it; friction and its place."""

    def case(name: str, about: str, *found: str, kind: Kind = kind, **put_in: object) -> Case:
        return Case(name, about, replace(Made(kind), **put_in), frozenset(found))  # type: ignore[arg-type]

    void: dict[str, float] = {"compression": 14.0}
    yield case("void entering rebound", "low_oil", "low_oil", void_mm={"rebound": 14.0})
    yield case("void and play", "low_oil", "low_oil", "loose_mount", void_mm={"compression": 9.0}, slack_mm=1.0)
    # the rod's small area works on the bubbles of both chambers in compression, and little is left to see in rebound
    yield case("bubbles that show in compression alone", "aerated_oil", "aerated_oil", foam_mm={"compression": 30.0})
    yield case(
        "void in foamed oil is foam's", "aerated_oil", "aerated_oil", void_mm={"compression": 4.0}, foam_mm=BUBBLES
    )
    carried: dict[Direction, float] = {
        "rebound": 0.69
    }  # over the annulus 0.41 ml, of 1.0 ml over the rod: bubbles do as much
    both = frozenset({"low_oil", "aerated_oil"})
    yield Case("void whose gas went over with the oil", "low_oil", suspected=both,
               made=Made(kind, void_mm={"compression": 9.0}, foam_mm=carried))  # fmt: skip
    yield Case("void that is nearly gone 8 mm further in", "low_oil", found=frozenset({"low_oil"}),
               made=Made(kind, void_mm={"compression": 9.0}, foam_mm=carried, places_mm=(0.0, -8.0)))  # fmt: skip
    yield Case("bubbles that are the same 8 mm further in", "aerated_oil", suspected=frozenset({"aerated_oil"}),
               made=Made(kind, foam_mm={"compression": 9.0, "rebound": 0.6}, places_mm=(0.0, -8.0)))  # fmt: skip
    yield case("a void that is gone after the first stage is trapped air", "trapped_air", "trapped_air", clears_mm=void)
    yield case("air half gone after the first stage is trapped air", "trapped_air", "trapped_air",
               void_mm={"compression": 9.0}, clears_mm={"compression": 9.0})  # fmt: skip
    yield case("a void that grows with speed is one at every speed", "low_oil", "low_oil",
               void_mm={"compression": 12.0}, grows_mm={"compression": 12.0})  # fmt: skip
    yield case("air in both chambers", "trapped_air", "trapped_air", clears_mm={"rebound": 4.0, "compression": 4.0})
    yield case(
        "both strokes starve", "starved_refill", "starved_refill", grows_mm={"rebound": 14.0, "compression": 14.0}
    )
    yield case("void of a unit that has lost its gas", "low_gas_pressure", "low_gas_pressure",
               kind="monotube", gas_bar=6.0, void_mm=void)  # fmt: skip
    yield case("void of a unit with its gas", "low_oil", "low_oil", kind="monotube", void_mm=void)
    sucked: dict[str, float] = {"compression": 14.0}
    yield case("gas too little for its own forces, no charge declared", "low_gas_pressure", "low_gas_pressure",
               kind="monotube", gas_bar=2.0, charge_bar=None, grows_mm=sucked)  # fmt: skip
    yield case("gas too little by itself: a base valve may take the drop", "low_gas_pressure",
               kind="monotube", gas_bar=2.0, charge_bar=None)  # fmt: skip
    yield case("force late at speed, gas enough", "low_gas_pressure",
               kind="monotube", charge_bar=None, grows_mm={"compression": 4.0})  # fmt: skip
    yield case("gas that is low for a data sheet, none declared", "low_gas_pressure",
               kind="monotube", gas_bar=14.0, charge_bar=None)  # fmt: skip
    yield case("rubs, of a kind without a limit", "high_friction", "high_friction", friction_n=80.0, duty="truck")
    strut: dict[str, Any] = {"duty": "strut", "reference": False}  # 55 N pulled straight, 150 N under side load
    yield case(
        "strut pulled straight rubs", "high_friction", "high_friction", friction_n=80.0, side_load_n=0.0, **strut
    )
    yield case("strut under side load rubs as it may", "high_friction", friction_n=130.0, side_load_n=600.0, **strut)
    yield case(
        "strut under side load rubs", "high_friction", "high_friction", friction_n=180.0, side_load_n=600.0, **strut
    )
    yield case("rubs beside a leak", "high_friction", "high_friction", "internal_leak",
               friction_n=80.0, rebound=replace(R, leak=1.5e-4))  # fmt: skip
    yield case("as much more on one side only is no friction", "high_friction", duty="truck",
               rebound=replace(R, blowoff_force=1.12 * R.blowoff_force))  # fmt: skip
    yield case("play of a unit with gas", "loose_mount", "loose_mount", kind="monotube", slack_mm=2.0)
    yield case("play beside a leak", "loose_mount", "loose_mount", "internal_leak",
               slack_mm=1.0, rebound=replace(R, leak=1.5e-4))  # fmt: skip
    yield case("high friction and void", "high_friction", "high_friction", "low_oil", friction_n=80.0, void_mm=void)
    yield case(
        "high friction, no one place much tighter", "high_friction", "high_friction", friction_n=80.0, hump_n=20.0
    )
    yield case("bent rod that rubs all over", "bent_rod", "bent_rod", friction_n=80.0, hump_n=60.0)


KINDS_OF: dict[str, tuple[Kind, ...]] = {c.code: c.kinds for c in reversed(CAUSES)}
for _cause in CAUSES:
    KINDS_OF[_cause.code] = tuple(dict.fromkeys((*KINDS_OF[_cause.code], *_cause.kinds)))
SOUND = tuple(Case(f"sound, {kind}", "sound", Made(kind)) for kind in get_args(Kind))
LIMITS = tuple(case for code, kinds in KINDS_OF.items() for kind in kinds for case in _of_kind(code, kind))
ALL = (*SOUND, *LIMITS, *_valves(), *_travel())


@cache
def seen(name: str) -> tuple[UnderTest, tuple[Measure, ...]]:
    """The unit of a case and its measures, made once."""
    test = test_of(next(case.made for case in ALL if case.name == name))
    return test, tuple(m for made_by in MEASURES for m in made_by(test))


def diagnosed(case: Case, causes: tuple[Cause, ...] = CAUSES, without: str = "") -> Diagnosis:
    """What is named in a case, with another table of causes or without the measures of one key."""
    test, measures = seen(case.name)
    kept = tuple(m for m in measures if m.key != without)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(room, "CAUSES", causes)
        patch.setattr(room, "MEASURES", (lambda _test: kept,))
        return room.diagnose(test)


def named(diagnosis: Diagnosis) -> tuple[frozenset[str], frozenset[str]]:
    """Codes found and codes suspected."""
    levels = {f.code: f.level for f in diagnosis.findings}
    return tuple(frozenset(c for c, level in levels.items() if level == wanted) for wanted in ("found", "suspected"))  # type: ignore[return-value]


def holds(case: Case, causes: tuple[Cause, ...] = CAUSES, without: str = "") -> bool:
    return named(diagnosed(case, causes, without)) == (case.found, case.suspected)
