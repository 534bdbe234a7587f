"""From ratios to parts that a workshop has: a drill, a spring, a stack of shims, and what to do with them in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from dampkit.damper.unit import Law
from dampkit.frozen import frozen
from dampkit.outcome.advice_record import PartRecord
from dampkit.outcome.change import bleed, shims
from dampkit.outcome.change.aim import Aim
from dampkit.outcome.change.levers import Move, ratio_of
from dampkit.outcome.change.predict import Changeable
from dampkit.outcome.change.search import REACH, Found, Within, solve
from dampkit.outcome.change.stock import Blowoff, Stack, Stock
from dampkit.outcome.change.tapered import ShimStack, choose_tapered, rate_pa_m
from dampkit.quantities import Direction, number

LAST = "A hole cannot be undone: do everything else first and measure again before it."
LEAST = 0.01  # a ratio closer to 1 than this is no change; own choice


@frozen
class Valving:
    """One direction's valve on the bench of the workshop. `area_m2` is None where the sizes are not declared."""

    direction: Direction
    fit: Law
    area_m2: float | None
    stock: Stock
    area_per_bleed: float | None = None  # effective area, mm2, for a bleed of one m/s per root newton

    @property
    def blowoff(self) -> Blowoff:
        spring: Blowoff = getattr(self.stock.blowoff, self.direction)
        return spring

    @property
    def stack(self) -> Stack | None:
        stack: Stack | None = getattr(self.stock.stack, self.direction)
        return stack

    @property
    def reach(self) -> dict[Move, tuple[float, float]]:
        """What can be made of each; the preload by the travel that is left, where that is declared."""
        own, opens = self.blowoff, self.fit.valve.blowoff_force
        per_mm = self.preload_per_mm
        if own.preload_travel_mm is None or per_mm is None or not math.isfinite(opens):
            return REACH
        step = per_mm * own.preload_travel_mm / opens
        return {**REACH, "preload": (max(1 - step, REACH["preload"][0]), min(1 + step, REACH["preload"][1]))}

    @property
    def preload_per_mm(self) -> float | None:
        """Opening force at the rod for each mm of preload, N; None where seat, spring or areas are not declared."""
        own = self.blowoff
        if own.seat_diameter_mm is None or own.spring_rate_n_mm is None or self.area_m2 is None:
            return None
        return own.spring_rate_n_mm * self.area_m2 / (0.25e-6 * math.pi * own.seat_diameter_mm**2)

    @property
    def levers(self) -> tuple[Move, ...]:
        """What can be moved with a known effect: only what the log has seen."""
        if "blow-off" not in self.fit.reached:
            return ("bleed",)
        return ("bleed", "stack") if self.stack else ("bleed", "preload", "spring")


def with_real_parts(
    side: Changeable, aim: Aim, valving: Valving, found: Found, *, fixed: Mapping[Move, float] | None = None
) -> tuple[Found, tuple[PartRecord, ...]]:
    """The change made of parts in stock: the hole first, then stack or spring, the rest solved again around them.

    Told the other way round: what can be undone first. `fixed` is what another direction's part does to this one.
    """
    fixed = dict(fixed or {})
    parts: list[PartRecord] = []
    free = [move for move in found.levers if move not in fixed]
    for move in ("bleed", "stack", "spring"):
        if move not in free:
            continue
        free.remove(move)
        wanted = ratio_of(found.ratios, move)
        fixed[move], part = _MAKERS[move](valving, wanted)
        parts += [part] if part else []
        found = solve(side, aim, tuple(free), within=Within(valving.reach, fixed))
    if "preload" in free:
        part = _preload(valving, found.ratios.preload)
        parts += [part] if part else []
    return found, tuple(sorted(parts, key=lambda part: part.irreversible))


def _bleed(valving: Valving, ratio: float) -> tuple[float, PartRecord | None]:
    if abs(ratio - 1) < LEAST:
        return 1.0, None
    way = valving.direction
    now = None if valving.area_per_bleed is None else valving.area_per_bleed * valving.fit.valve.bleed
    if now is None:
        words = f"Make the {way} bleed area {number(ratio)} times what it is: a single round hole {number(math.sqrt(ratio))} times as wide. {LAST}"
        return ratio, PartRecord(
            direction=way, part="bleed", ratio=ratio, now=None, new=None, unit="mm2", do=words, irreversible=True
        )
    own = valving.stock.bleed
    hole = bleed.choose_hole(now, ratio * now, tuple(own.drills), own.discharge_coefficient, own.holes)
    if not hole.drills_mm:
        return 1.0, None
    real = hole.area_mm2 / now
    as_hole = bleed.diameter_mm(now, own.discharge_coefficient)
    count = {1: "one hole", 2: "two holes", 3: "three holes"}[len(hole.drills_mm)]
    called = own.drills[hole.drills_mm[0]]
    sizes = f"{count} of {hole.drills_mm[0]:g} mm" + (f" (drill {called})" if called else "")
    what = f"add {sizes}" if hole.added else f"close it and drill {sizes}"
    words = (
        f"Bleed of {way}: {what}. Effective area {number(now)} to {number(hole.area_mm2)} mm2 (now like one hole of "
        f"{as_hole:.2f} mm; discharge coefficient {own.discharge_coefficient:g}). {LAST}"
    )
    return real, PartRecord(
        direction=way, part="bleed", ratio=real, now=now, new=hole.area_mm2, unit="mm2", do=words, added=hole.added,
        irreversible=True,
    )  # fmt: skip


def _stack(valving: Valving, ratio: float) -> tuple[float, PartRecord | None]:
    own = valving.stack
    assert own is not None
    if own.layered is not None:
        return _layered(valving, own.layered, ratio, own.stock_mm)
    new = shims.choose_stack(own.thickness_mm, ratio, own.stock_mm, own.most)
    real = shims.stack_rate(new) / shims.stack_rate(own.thickness_mm)
    if abs(real - 1) < LEAST:
        return 1.0, None
    listed = " + ".join(f"{t:g}" for t in new)
    before = " + ".join(f"{t:g}" for t in own.thickness_mm)
    words = (
        f"Shim stack of {valving.direction}: {listed} mm in place of {before} mm, bending rate times {number(real)}. "
        f"{_stack_range(valving, own, new)}"
    )
    way = valving.direction
    now, then = shims.stack_rate(own.thickness_mm), shims.stack_rate(new)
    return real, PartRecord(direction=way, part="shim stack", ratio=real, now=now, new=then, unit="mm3", do=words)


def _layered(
    valving: Valving, now: ShimStack, ratio: float, stock_mm: Sequence[float]
) -> tuple[float, PartRecord | None]:
    """A tapered stack, or the face of one with a crossover, with one or two shims exchanged."""
    new, way = choose_tapered(now, ratio, stock_mm), valving.direction
    before, after = rate_pa_m(now), rate_pa_m(new)
    if new == now:
        return 1.0, None
    pairs = zip(now.shims, new.shims, strict=True)
    listed = ", ".join(
        f"shim {n} from the face ({b.diameter_mm:g} mm wide): {b.thickness_mm:g} mm in place of {a.thickness_mm:g} mm"
        for n, (a, b) in enumerate(pairs, start=1)
        if a != b
    )
    words = f"Shim stack of {way}: {listed}; bending rate times {number(after / before)}. {_second_stage(valving, new)}"
    return after / before, PartRecord(
        direction=way, part="shim stack", ratio=after / before, now=1e-8 * before, new=1e-8 * after, unit="bar/mm",
        do=words.strip(),
    )  # fmt: skip


def _second_stage(valving: Valving, stack: ShimStack) -> str:
    """Where a crossover's gap closes: what was worked out does not hold above it."""
    if stack.gap_mm is None:
        return "Holds while a shim bends less than half its thickness."
    closes_pa = 1e-3 * stack.gap_mm * rate_pa_m(stack)
    said = f"The crossover's gap of {stack.gap_mm:g} mm closes at about {number(1e-5 * closes_pa)} bar; above that the second stage, left as it is, takes part"
    if valving.area_m2 is None:
        return f"{said}."
    reached = (
        "which this test reached: its force there is not promised"
        if valving.fit.force_n[-1] > closes_pa * valving.area_m2
        else "which this test did not reach"
    )
    return f"{said}, {reached}."


def _stack_range(valving: Valving, own: Stack, new: tuple[float, ...]) -> str:
    """How far plate theory holds for the stack at the highest force tested."""
    if valving.area_m2 is None:
        return "Holds while a shim bends less than half its thickness."
    pressure = float(valving.fit.force_n[-1]) / valving.area_m2
    share = max(new) ** 3 / shims.stack_rate(new)  # what the thickest shim carries
    plate = shims.Plate(
        0.5e-3 * own.outer_diameter_mm, 0.5e-3 * own.clamp_diameter_mm, 1e-3 * max(new), 1e9 * own.modulus_gpa, own.poisson
    )  # fmt: skip
    bend = shims.pressure_deflection_m(plate, share * pressure)
    stress = shims.pressure_stress_pa(plate, share * pressure)
    far = (
        "more than half the thickness of a shim, so the real stack is stiffer than said"
        if shims.beyond_linear(plate, bend)
        else "within plate theory"
    )
    high = " That stress is too high for spring steel strip." if stress > shims.HIGH_STRESS_PA else ""
    return (
        f"At the highest force tested its rim lifts {1e3 * bend:.2f} mm ({far}), stress {1e-6 * stress:.0f} MPa.{high}"
    )


def _spring(valving: Valving, ratio: float) -> tuple[float, PartRecord | None]:
    own, way = valving.blowoff, valving.direction
    now, new, named = own.spring_rate_n_mm, None, ""
    if now is not None:
        new = ratio * now
        if own.spring_rates_n_mm:
            new = min((now, *own.spring_rates_n_mm), key=lambda rate: abs(math.log(rate / (ratio * now))))
        ratio = new / now
        named = f": {number(new)} N/mm in place of {number(now)} N/mm"
    if abs(ratio - 1) < LEAST:
        return 1.0, None
    words = f"Blow-off spring of {way}: rate times {number(ratio)}{named}, the opening force set anew as said."
    return ratio, PartRecord(direction=way, part="spring", ratio=ratio, now=now, new=new, unit="N/mm", do=words)


def _preload(valving: Valving, ratio: float) -> PartRecord | None:
    if abs(ratio - 1) < LEAST:
        return None
    way, opens = valving.direction, valving.fit.valve.blowoff_force
    words = f"Blow-off of {way}: opening force from {number(opens)} to {number(ratio * opens)} N, preload times {number(ratio)}"
    if valving.area_m2 is not None:
        bar = 1e-5 * opens / valving.area_m2
        words += f" (opening pressure {number(bar)} to {number(ratio * bar)} bar)"
    words += _preload_travel(valving, ratio)
    return PartRecord(
        direction=way, part="preload", ratio=ratio, now=opens, new=ratio * opens, unit="N", do=words + "."
    )


def _preload_travel(valving: Valving, ratio: float) -> str:
    """The same in millimetres of packing and turns of a nut, where seat and spring are declared."""
    own, per_mm = valving.blowoff, valving.preload_per_mm
    if per_mm is None:
        return ""
    travel = (ratio - 1) * valving.fit.valve.blowoff_force / per_mm
    way = "more" if travel > 0 else "less"
    turns = "" if own.thread_pitch_mm is None else f", {abs(travel) / own.thread_pitch_mm:.2f} turns of the nut"
    packing = round(abs(travel) / own.packing_mm) * own.packing_mm
    return f"; {abs(travel):.2f} mm {way} preload of the spring now fitted (packing {packing:.2f} mm{turns})"


_MAKERS = {"bleed": _bleed, "stack": _stack, "spring": _spring}
