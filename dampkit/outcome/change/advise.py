"""The change that brings a unit into its band, direction by direction, with the curve and damping ratio it will have."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.damper.areas import orifice_area_mm2_per_bleed, working_area_m2
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.unit import Unit
from dampkit.expected.reference import Compared
from dampkit.frozen import frozen
from dampkit.needs.ratio import cycle_damping
from dampkit.needs.vehicle_needs import VehicleNeeds
from dampkit.outcome.advice_record import AdviceRecord, PartRecord, PredictedRecord, RatioAfterRecord
from dampkit.outcome.change.aim import Aim, reference_aim, telling, vehicle_aim
from dampkit.outcome.change.clamp import clamp_advice, clamp_to_ratio
from dampkit.outcome.change.levers import Move, Ratios
from dampkit.outcome.change.oil_choice import oil_notes
from dampkit.outcome.change.parts import Valving, with_real_parts
from dampkit.outcome.change.predict import Changeable, changeable, hole_shared
from dampkit.outcome.change.search import Found, Within, in_other, sets_of, smallest_change
from dampkit.outcome.change.stock import Stock
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.requirements import together
from dampkit.outcome.verdict import Known
from dampkit.quantities import DIRECTIONS, OTHER, Array, Direction, number

POINTS = 61  # of a predicted curve
HOLDS = (
    "Holds for the oil, temperature and speeds of this test. A change is proven only by running the unit again: "
    "the interval counts the doubt of the measurement and of the work."
)


CANNOT = "Within what a drill, a spring, a stack or the travel of the preload can make, no change brings it inside."
SHARED = (
    "A plain hole in the piston is open both ways, so it is counted in rebound and in compression. If a check valve lies "
    "over it, declare [damper] bleed_check = true and run this again before drilling."
)


@frozen
class Advised:
    """What an advice is drawn from."""

    unit: Unit
    record: Run | Points
    spec: DamperSpec | None
    known: Known
    needs: VehicleNeeds | None
    stock: Stock

    @property
    def dry(self) -> bool:
        """No valves: its force goes with a clamp."""
        return self.spec is not None and not facts_of(self.spec.damper.kind).oil


@frozen
class Changed:
    """One direction after its change; `found` is None where it stays as it is."""

    side: Changeable
    ratios: Ratios
    found: Found | None
    parts: tuple[PartRecord, ...]


def advise(of: Advised) -> AdviceRecord | None:
    """None where the unit is in its band, has none, or no valve was fitted.

    The window of the reference comes first; the need of the vehicle only where the reference has nothing against it.
    """
    told = [p for p in of.known.reference or () if telling(p)]
    wrong = {p.direction for p in told if p.answer != "in"}
    if wrong:
        if of.dry:
            return clamp_advice(told, of.unit.friction_force_n)
        aims = {way: reference_aim(of.known.reference or (), way) for way in DIRECTIONS}
        made = _advice(of, "reference", {way: aim for way, aim in aims.items() if aim and way in wrong})
        return _with_untold(made, [p for p in of.known.reference or () if not telling(p) and p.direction in wrong])
    off_need = any(p.answer == "out" for p in of.known.needed or ())
    if of.needs is None or of.known.target is None or not (of.known.target.answer == "out" or off_need):
        return None
    if of.dry:
        made = clamp_to_ratio(of.known.target, of.unit.friction_force_n)
        leaves = DIRECTIONS if made is not None and made.parts and of.known.reference else ()
        return None if made is None else made.model_copy(update={"leaves_reference": leaves})
    return _advice(of, "vehicle", _vehicle_aims(of, of.needs))


def _with_untold(advice: AdviceRecord | None, points: Sequence[Compared]) -> AdviceRecord | None:
    """The advice with what it could not be aimed at; it then does not promise to be inside."""
    if advice is None or not points:
        return advice
    listed = ", ".join(f"{p.direction} at {p.velocity_m_s:g} m/s" for p in points)
    note = f"Not promised, because the test is too coarse there or does not reach it: {listed}."
    return advice.model_copy(update={"answer": "not established", "notes": (note, *advice.notes)})


def _vehicle_aims(of: Advised, suited: VehicleNeeds) -> dict[Direction, Aim]:
    out: dict[Direction, Aim] = {}
    for way in DIRECTIONS:
        law = of.unit.side(way).law
        if law is None or suited.need is None:
            continue
        aim = vehicle_aim(suited.corner, suited.need, way, law.top_m_s)
        if aim is not None:
            out[way] = aim
    return out


def _advice(of: Advised, aimed: Literal["reference", "vehicle"], aims: dict[Direction, Aim]) -> AdviceRecord | None:
    sides = {way: changeable(of.unit, of.record, way) for way in DIRECTIONS}
    known = {way: side for way, side in sides.items() if side is not None}
    if not aims or not set(aims) <= set(known):
        return None
    changes = {way: _change(of, way, known[way], aims.get(way)) for way in known}
    if hole_shared(of.spec) and len(known) == len(DIRECTIONS):
        changes = _with_shared_hole(of, known, aims, changes)
    answer = together([change.found.answer for change in changes.values() if change.found is not None])
    if answer == "out":
        why = (CANNOT, *_still_outside(aims, changes))
        return AdviceRecord(aim=aimed, parts=(), curves=(), damping_ratios=(), answer=answer, notes=why)
    parts = tuple(part for change in changes.values() for part in change.parts)
    notes = [HOLDS]
    if hole_shared(of.spec) and any(part.irreversible for part in parts):
        notes.insert(0, SHARED)
    if answer != "in":
        notes.insert(0, "These parts alone do not bring every speed inside with certainty; measure again after them.")
    return AdviceRecord(
        aim=aimed,
        parts=tuple(sorted(parts, key=lambda part: part.irreversible)),
        curves=tuple(_curve(way, change) for way, change in changes.items()),
        damping_ratios=_ratios_after(of.needs, changes),
        answer=answer,
        notes=(*notes, *oil_notes(of.stock.oil, aims, known, of.record)),
        leaves_reference=tuple(way for way in changes if aimed == "vehicle" and _leaves(of, way, changes[way])),
    )


def _still_outside(aims: dict[Direction, Aim], changes: dict[Direction, Changed]) -> tuple[str, ...]:
    """Where the best that can be made stays farthest outside, in each direction that does."""
    lines = []
    for way, aim in aims.items():
        found = changes[way].found
        if found is None or found.answer != "out":
            continue
        force = changes[way].side.reading_n(aim.velocity_m_s, found.ratios)
        at = int(np.argmax(np.abs(aim.misses(force))))
        window = f"{number(float(aim.low_n[at]))} to {number(float(aim.high_n[at]))} N"
        lines.append(
            f"The closest in {way} still reads {number(float(force[at]))} N at {number(float(aim.velocity_m_s[at]))} m/s,"
            f" outside {window}."
        )
    return tuple(lines)


def _leaves(of: Advised, way: Direction, change: Changed) -> bool:
    """Whether a force that was in its window will lie outside it."""
    points = [p for p in of.known.reference or () if p.direction == way and p.answer == "in"]
    v = np.array([p.velocity_m_s for p in points])
    after = change.side.reading_n(v, change.ratios) if points else v
    return any(not p.low_n <= force <= p.high_n for p, force in zip(points, after, strict=True))


def _with_shared_hole(
    of: Advised, known: dict[Direction, Changeable], aims: dict[Direction, Aim], changes: dict[Direction, Changed]
) -> dict[Direction, Changed]:
    """A hole drilled for one direction is open in the other: that one is solved again around it, both ways tried."""
    owners = [way for way, change in changes.items() if any(part.irreversible for part in change.parts)]
    tried = []
    for owner in owners:
        other = OTHER[owner]
        aim = aims.get(other) or reference_aim(of.known.reference or (), other)
        ratio = in_other(known[owner], known[other], changes[owner].ratios.bleed)
        tried.append({owner: changes[owner], other: _around(of, other, known[other], aim, ratio)})
    return min(tried, key=lambda made: max(c.found.worst for c in made.values() if c.found), default=changes)


def _around(of: Advised, way: Direction, side: Changeable, aim: Aim | None, bleed: float) -> Changed:
    """One direction with its bleed as another one's hole leaves it, the rest set to suit."""
    if aim is None:
        return Changed(side, Ratios(bleed=bleed), None, ())
    valving = _valving(of, way, side)
    fixed: dict[Move, float] = {"bleed": bleed}
    levers = [move for move in valving.levers if move != "bleed"]
    wanted = smallest_change(side, aim, sets_of(levers), within=Within(valving.reach, fixed))
    found, parts = with_real_parts(side, aim, valving, wanted, fixed=fixed)
    return Changed(side, found.ratios, found, parts)


def _change(of: Advised, way: Direction, side: Changeable, aim: Aim | None) -> Changed:
    if aim is None:
        return Changed(side, Ratios(), None, ())
    valving = _valving(of, way, side)
    must = any(p.answer == "out" and p.direction == way for p in of.known.reference or ()) or not aim.centred
    wanted = smallest_change(side, aim, sets_of(valving.levers, must=must), within=Within(valving.reach))
    found, parts = with_real_parts(side, aim, valving, wanted)
    return Changed(side, found.ratios, found, parts)


def _valving(of: Advised, way: Direction, side: Changeable) -> Valving:
    per_bleed = orifice_area_mm2_per_bleed(of.spec, way)
    return Valving(way, side.fit, working_area_m2(of.spec, way), of.stock, per_bleed)


def _curve(way: Direction, change: Changed) -> PredictedRecord:
    v = np.linspace(0.0, float(change.side.fit.velocity_m_s[-1]), POINTS)
    force = change.side.reading_n(v, change.ratios)
    half = change.side.half_width_n(v, change.ratios)
    return PredictedRecord(
        direction=way,
        velocity_m_s=_listed(v, 5),
        force_n=_listed(force, 2),
        low_n=_listed(np.maximum(force - half, 0.0), 2),
        high_n=_listed(force + half, 2),
    )


def _ratios_after(suited: VehicleNeeds | None, changes: dict[Direction, Changed]) -> tuple[RatioAfterRecord, ...]:
    """The measured ratio of each stage times what the change does to the energy of a cycle, by the fitted law."""
    if suited is None or len(changes) < 2:
        return ()
    out = []
    speeds = np.linspace(1e-4, [stage.peak_velocity_m_s for stage in suited.ratios], POINTS, axis=-1)
    both = changes.values()
    befores = np.sum([c.side.reading_n(speeds, Ratios()) for c in both], axis=0)
    afters = np.sum([c.side.reading_n(speeds, c.ratios) for c in both], axis=0)
    halves = np.sum([c.side.half_width_n(speeds, c.ratios) for c in both], axis=0)
    for stage, v, *forces in zip(suited.ratios, speeds, befores, afters, halves, strict=True):
        peak = stage.peak_velocity_m_s
        before, after, half = (cycle_damping(peak, v, force) for force in forces)
        value = stage.damping_ratio.value * after / before
        spread = value * float(np.hypot(stage.damping_ratio.half_width / stage.damping_ratio.value, half / after))
        estimate = EstimateRecord(value=value, low=value - spread, high=value + spread)
        out.append(RatioAfterRecord(peak_velocity_m_s=peak, damping_ratio=estimate))
    return tuple(out)


def _listed(values: Array, places: int) -> tuple[float, ...]:
    return tuple(np.round(values, places).tolist())
