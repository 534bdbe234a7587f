"""Where a valve is at fault: what each part is when good, so that it is put back to that and not tuned round."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.damper.areas import orifice_area_mm2_per_bleed
from dampkit.expected.reference import Compared
from dampkit.faults.finding import Finding
from dampkit.faults.under_test import UnderTest
from dampkit.frozen import frozen
from dampkit.outcome.change.aim import Aim, reference_aim
from dampkit.outcome.change.bleed import diameter_mm
from dampkit.outcome.change.levers import Move, Ratios, ratio_of, ratios_of
from dampkit.outcome.change.predict import Changeable, changeable, hole_shared
from dampkit.outcome.change.search import Found, Within, in_other, solve
from dampkit.outcome.change.stock import DISCHARGE, Stock
from dampkit.outcome.decision_record import RestoreRecord
from dampkit.quantities import DIRECTIONS, OTHER, Direction, Estimate

# Fault -> the part that is not as when good; the reference says what it is then
PART_AT_FAULT: dict[str, Move] = {
    "blocked_bleed": "bleed",
    "valve_stuck_open": "bleed",
    "weak_blowoff": "preload",
    "internal_leak": "leak",
}
NAMES: dict[Move, Literal["leak", "bleed", "blow-off", "spring", "shim stack"]] = {
    "leak": "leak",
    "bleed": "bleed",
    "preload": "blow-off",
    "spring": "spring",
    "stack": "shim stack",
}
# Now over good, one over the other, as far as dirt and wear go: no bound of what can be drilled or set; own choice
REACH: Mapping[Move, tuple[float, float]] = {
    "bleed": (0.02, 50.0),
    "preload": (0.1, 10.0),
    "spring": (0.2, 5.0),
    "stack": (0.2, 5.0),
    "leak": (1e-3, 1.0),
}
HOLD = 0.1  # a part e times what it was counts as a force a tenth of its window off: own choice
MATTERS = 0.3  # of half a window, by which a part must move a force to be put back; own choice
LEAST = 0.03  # a ratio closer to 1 than this is nothing to put back; own choice


@frozen
class _Valve:
    """One direction: what it is, where it should come to lie, what of it may differ, what a fault names."""

    side: Changeable
    aim: Aim
    levers: tuple[Move, ...]
    named: tuple[Move, ...]

    def put_back(self, fixed: Mapping[Move, float] | None = None) -> Found:
        """The parts that make the reference, those at fault among them; none of the others that moves no force by much."""
        fixed = fixed or {}
        free = [m for m in dict.fromkeys((*self.levers, *self.named)) if m not in fixed]
        found = self._solved(free, fixed)
        while spare := [(self._moved(found, m), m) for m in free if m not in self.named]:
            least, part = min(spare)
            if least > MATTERS:
                break
            free.remove(part)
            found = self._solved(free, fixed)
        return found

    def _moved(self, found: Found, part: Move) -> float:
        """How far a part by itself moves a force, 1 for half of its window."""
        v, back = self.aim.velocity_m_s, ratios_of({part: 1 / ratio_of(found.ratios, part)})
        as_it_is = Ratios(*(getattr(found.ratios, n) * getattr(back, n) for n in Ratios.__dataclass_fields__))
        force = self.side.reading_n(v, found.ratios) - self.side.reading_n(v, as_it_is)
        return float(np.max(np.abs(force) / self.aim.half_n()))

    def _solved(self, free: Sequence[Move], fixed: Mapping[Move, float]) -> Found:
        return solve(self.side, self.aim, tuple(free), within=Within(REACH, fixed, HOLD))


def restored(
    test: UnderTest,
    findings: Sequence[Finding],
    reference: Sequence[Compared] | None,
    stock: Stock,
    *,
    renewed: bool = False,
) -> tuple[RestoreRecord, ...]:
    """Where a valve is at fault or suspected to be, or is `renewed`: what makes the reference's forces of both valves.

    A unit that is opened for one part is put back as a whole, each part once, those at fault first. Empty without a
    reference, or where no fault of a valve was named.
    """
    faults = [f for f in findings if f.code in PART_AT_FAULT and f.direction is not None]
    if not reference or not (faults or renewed):
        return ()
    named = {(_part(f, stock), f.direction): f.level == "found" for f in reversed(faults)}
    valves = {way: v for way in DIRECTIONS if (v := _valve(test, way, reference, named, stock)) is not None}
    found = {way: valve.put_back() for way, valve in valves.items()}
    if hole_shared(test.spec) and len(valves) == len(DIRECTIONS):
        found = _one_hole(valves, found)
    records = [
        _record(test, valves[way].side, way, part, ratio).model_copy(
            update={"at_fault": (part, way) in named, "sure": named.get((part, way), renewed or any(named.values()))}
        )
        for way, change in found.items()
        for part in change.levers
        if abs((ratio := ratio_of(change.ratios, part)) - 1) > LEAST
    ]
    return tuple(sorted(records, key=lambda r: (not r.at_fault, not r.sure)))


def _part(fault: Finding, stock: Stock) -> Move:
    """What a fault names; a stack of shims is what opens at a force where there is one."""
    part = PART_AT_FAULT[fault.code]
    stacked = fault.direction is not None and getattr(stock.stack, fault.direction) is not None
    return "stack" if part == "preload" and stacked else part


def _valve(
    test: UnderTest,
    way: Direction,
    reference: Sequence[Compared],
    named: Mapping[tuple[Move, Direction | None], bool],
    stock: Stock,
) -> _Valve | None:
    side, aim = changeable(test.unit, test.record, way), reference_aim(reference, way)
    if side is None or aim is None:
        return None
    opens: tuple[Move, ...] = ("stack",) if getattr(stock.stack, way) else ("preload", "spring")
    levers: tuple[Move, ...] = ("bleed", *opens) if "blow-off" in side.fit.reached else ("bleed",)
    if way in test.differs:  # what rubs too much is put right too
        good = test.differs[way].friction_good_n
        if good < side.friction_n.low:
            side = replace(side, friction_n=Estimate(good, good, good))
    return _Valve(side, aim, levers, tuple(part for part, of in named if of == way))


def _one_hole(valves: Mapping[Direction, _Valve], found: dict[Direction, Found]) -> dict[Direction, Found]:
    """A plain hole in the piston is open both ways: as large as the better of both directions wants it, or between."""
    owner: Direction = next((way for way in DIRECTIONS if "bleed" in valves[way].named), "rebound")
    other = OTHER[owner]
    sides = valves[owner].side, valves[other].side
    wants = found[owner].ratios.bleed, in_other(sides[1], sides[0], found[other].ratios.bleed)
    tried = []
    for ratio in (*wants, math.sqrt(wants[0] * wants[1]), 1.0):
        around = valves[other].put_back({"bleed": in_other(*sides, ratio)})
        levers = tuple(m for m in around.levers if m != "bleed")
        tried.append({owner: valves[owner].put_back({"bleed": ratio}), other: replace(around, levers=levers)})
    return min(tried, key=lambda made: max(f.plain for f in made.values()))


def _record(test: UnderTest, side: Changeable, way: Direction, part: Move, ratio: float) -> RestoreRecord:
    valve, per_bleed = side.fit.valve, orifice_area_mm2_per_bleed(test.spec, way)
    if part == "bleed" and per_bleed is not None:
        area = per_bleed * valve.bleed * ratio
        return RestoreRecord(
            direction=way, part="bleed", now=area / ratio, good=area, unit="mm2", hole_mm=diameter_mm(area, DISCHARGE)
        )
    now, unit = {
        "leak": (valve.leak, "m/s per N"),
        "bleed": (valve.bleed, "m/s per root N"),
        "preload": (valve.blowoff_force, "N"),
        "stack": (valve.blowoff_force, "N"),
        "spring": (1.0, "times"),
    }[part]
    return RestoreRecord(direction=way, part=NAMES[part], now=now, good=ratio * now, unit=unit)
