"""Does the advised change bring a made-up unit into its band? Change the plant, run it again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

import dampkit
from dampkit.app.progress import Progress
from dampkit.damper.declared import DamperSpec
from dampkit.frozen import frozen
from dampkit.outcome.advice_record import AdviceRecord, PartRecord
from dampkit.outcome.decision_record import RestoreRecord
from dampkit.outcome.result import Result
from dampkit.quantities import DIRECTIONS, OTHER, Array, Direction
from dampkit.studies.made import sizes, through_file, with_reference
from dampkit.virtual.dialects import PLAIN
from dampkit.virtual.plant import Kind, Opening, Plant
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import random_unit

PASSES = 2  # changes at most
FIRST_UNIT = 4068  # units from here on were never looked at while the advice was worked out; those before were
TOLERANCE, FLOOR_N = 0.15, 25.0  # of the study's window
SPEEDS_M_S: dict[str, tuple[float, ...]] = {"lever-arm": (0.05, 0.1, 0.2, 0.3, 0.5)}
USUAL_M_S = (0.05, 0.1, 0.3, 0.6, 1.0)  # usual test speeds [jaso_c602]
SLOW_M_S, BETWEEN_M_S, CYCLES = 0.005, 0.2, 5.0
ROAMS = {"bleed": 0.7, "crack": 0.45, "span": 0.5}  # logarithm of the farthest that a part of a unit is off
ALTERED = 0.6  # chance that a part is off
# standard deviation of what the made-up workshop gets wrong: hole area with its discharge coefficient, preload, spring
WORK = {"bleed": 0.04, "blow-off": 0.025, "preload": 0.025, "spring": 0.03}
STACK_WORK = 0.03
SPRUNG = {"blow-off": ("crack",), "spring": ("span",), "shim stack": ("crack", "span")}  # what a part of a valve moves
KINDS: tuple[Kind, ...] = ("twin-tube", "monotube", "lever-arm")
SIDE_BY_SIDE = 40  # units in one integration


# What a first run may say of a unit whose valves are not as in its reference
SET = "no fault named, something surely outside"
CLOSE = "no fault named, too close to call"
SUSPECTED = "a fault suspected"
FOUND = "a fault found"
GROUPS = (SET, CLOSE, SUSPECTED, FOUND)


@frozen
class Shop:
    """What a workshop has for one unit. `stacked`: shims make opening force and spring in one."""

    name: str
    stock: dict[str, Any]
    stacked: bool = False


RATES_N_MM = tuple(round(20.0 * 1.12**n, 2) for n in range(-8, 9))  # springs in stock, each an eighth stiffer
SPRING = {"seat_diameter_mm": 12.0, "spring_rate_n_mm": 20.0, "spring_rates_n_mm": RATES_N_MM}
SHIMS = {
    "outer_diameter_mm": 30.0,
    "clamp_diameter_mm": 14.0,
    "thickness_mm": (0.2, 0.2, 0.2, 0.15),
    "stock_mm": (0.1, 0.15, 0.2, 0.25, 0.3),
}
SHOPS = (
    Shop("common drills", {}),
    Shop(
        "inch drills, springs of stock", {"bleed": {"drill_set": "inch"}, "blowoff": dict.fromkeys(DIRECTIONS, SPRING)}
    ),
    Shop("shim stacks of stock", {"stack": dict.fromkeys(DIRECTIONS, SHIMS)}, stacked=True),
)


@frozen
class Pass:
    """One run of a unit. `inside`: every true force within the window; `measured`: every force as analysed within it."""

    inside: bool
    measured: bool
    answers_in: bool
    action: str
    parts: int
    worst: float  # largest true distance from the middle, 1 at the edge
    said: str = SET  # one of GROUPS
    tuned: bool = False  # parts were advised for setting, not for putting a fault right


@frozen
class Story:
    """One unit from first run to last. `shop`: what its workshop has and its valve is; `hole_shared`: open both ways."""

    seed: int
    kind: str
    passes: tuple[Pass, ...]
    advised: tuple[str, ...]
    shop: str = "common drills"
    hole_shared: bool = False

    @property
    def group(self) -> str:
        """What the first run said of the unit, which is sound by truth: only its setting is off."""
        return self.passes[0].said

    def inside_after(self, changes: int) -> bool:
        """True where it is inside by truth and by analysis after at most so many changes."""
        return any(p.inside and p.measured for p in self.passes[: changes + 1])


@dataclass
class _Unit:
    """A unit on its way through the study."""

    seed: int
    sound: Plant
    now: Plant
    rng: np.random.Generator
    passes: list[Pass]
    advised: list[str]
    shop: Shop
    hole_shared: bool
    done: bool = False

    @property
    def spec(self) -> DamperSpec:
        return specification(self.sound, bleed_check=self.sound.kind == "monotube" and not self.hole_shared)


def stories(count: int, jobs: int = 1) -> list[Story]:
    """So many random units that are off: run, change as advised, run again, up to PASSES changes.

    The same stories for the same count, whatever the number of jobs.
    """
    from joblib import Parallel, delayed

    units = [_begun(seed) for seed in range(FIRST_UNIT, FIRST_UNIT + count)]
    progress = Progress(count * (PASSES + 1))
    with Parallel(n_jobs=jobs, return_as="generator") as parallel:
        for change in range(PASSES + 1):
            going = [u for u in units if not u.done]
            results = parallel(
                delayed(analysed)(log, u.spec, u.shop.stock) for u, log in zip(going, _logs(going), strict=True)
            )
            progress.step(worked=False, by=count - len(going))
            for unit, result in zip(going, progress.over(results), strict=True):
                _next(unit, result, last=change == PASSES)
    progress.end()
    return [Story(u.seed, u.sound.kind, tuple(u.passes), tuple(u.advised), u.shop.name, u.hole_shared) for u in units]


def _begun(seed: int) -> _Unit:
    rng = np.random.default_rng([7, seed])
    sound = random_unit(rng, KINDS[seed % len(KINDS)])
    shop = SHOPS[seed // len(KINDS) % len(SHOPS)]
    shared = sound.kind == "monotube" and seed // (len(KINDS) * len(SHOPS)) % 2 == 0
    off = off_target(sound, rng, stacked=shop.stacked, hole_shared=shared)
    return _Unit(seed, sound, off, rng, [], [], shop, shared)


def _next(unit: _Unit, result: Result, last: bool) -> None:
    """Note the run; put the advised parts in, or back what is at fault, unless it is in its band after a change."""
    parts = result.advice.parts if result.advice else ()
    work = len(parts) + len(result.restore)
    passed = _pass(unit.now, unit.sound, result, work)
    unit.done = last or not work or (bool(unit.passes) and passed.inside and passed.measured)
    unit.passes.append(passed)
    if unit.done:
        return
    unit.advised += [part.do for part in parts] + ([result.verdict.next_step] if result.restore else [])
    unit.now = put_back(unit.now, result.restore, unit.rng, hole_shared=unit.hole_shared)
    if result.advice is not None:
        unit.now = worked_on(unit.now, result.advice, unit.rng, hole_shared=unit.hole_shared)


def _logs(units: Sequence[_Unit]) -> list[Log]:
    """A log of each unit; units on the same programme go through the integration side by side."""
    logs: dict[int, Log] = {}
    for ladder in {_ladder(u.sound) for u in units}:
        same = [u for u in units if _ladder(u.sound) == ladder]
        for first in range(0, len(same), SIDE_BY_SIDE):
            group = same[first : first + SIDE_BY_SIDE]
            drives = (Drive.at_speed(SLOW_M_S, 1.0), *(Drive.at_speed(v, CYCLES) for v in ladder))
            rng = np.random.default_rng([11, group[0].seed, len(group[0].passes)])
            made = run_bench([u.now for u in group], Programme(drives), Rig(sample_rate_hz=500.0), rng)
            logs |= {u.seed: log for u, log in zip(group, made, strict=True)}
    return [logs[u.seed] for u in units]


def _ladder(plant: Plant) -> tuple[float, ...]:
    return tuple(sorted({BETWEEN_M_S, *speeds(plant).tolist()}))


def off_target(sound: Plant, rng: np.random.Generator, *, stacked: bool = False, hole_shared: bool = False) -> Plant:
    """The unit with parts of its valves off, drawn again until a true force is outside the window.

    With a stack of shims opening pressure and spring rate are off as one; a hole open both ways is off for both.
    """
    while True:
        rebound, compression = (_off(getattr(sound, way), rng, stacked) for way in DIRECTIONS)
        unit = replace(sound, rebound=rebound, compression=compression)
        if hole_shared:
            off_m2 = unit.rebound.bleed_m2 - sound.rebound.bleed_m2
            unit = replace(unit, compression=_bled(unit.compression, sound.compression.bleed_m2 + off_m2))
        if worst_miss(unit, sound) > 1:
            return unit


def _off(opening: Opening, rng: np.random.Generator, stacked: bool) -> Opening:
    bleed, crack, span = (
        float(np.exp(rng.uniform(-far, far))) if rng.random() < ALTERED else 1.0 for far in ROAMS.values()
    )
    return replace(
        opening,
        bleed_m2=opening.bleed_m2 * bleed,
        crack_pa=opening.crack_pa * crack,
        span_pa=opening.span_pa * (crack if stacked else span),
    )


def _bled(opening: Opening, area_m2: float) -> Opening:
    return replace(opening, bleed_m2=max(area_m2, 0.2 * opening.bleed_m2))


def speeds(plant: Plant) -> Array:
    return np.array(SPEEDS_M_S.get(plant.kind, USUAL_M_S))


def worst_miss(unit: Plant, sound: Plant) -> float:
    """Largest true distance from the sound unit's force over the allowance, both directions and all speeds."""
    v = speeds(sound)
    out = []
    for way in DIRECTIONS:
        wanted = bench_reading(sound, way, v, sound.start_c)
        room = np.maximum(TOLERANCE * wanted, FLOOR_N)
        out.append(np.abs(bench_reading(unit, way, v, unit.start_c) - wanted) / room)
    return float(np.max(out))


def specification(sound: Plant, *, bleed_check: bool = False) -> DamperSpec:
    """The unit as on its drawing, its window about the sound unit's true forces."""
    window = {"tolerance_percent": 100 * TOLERANCE, "tolerance_floor_n": FLOOR_N}
    drawn = {**sizes(sound), "oil_density_kg_m3": sound.oil.density_20_kg_m3, "bleed_check": bleed_check}
    return with_reference(drawn, sound, speeds(sound), sound.start_c, **window)


def analysed(log: Log, spec: DamperSpec, stock: dict[str, Any] | None = None) -> Result:
    """The log written and read back, as a bench's would be, and analysed."""
    return dampkit.analyse(through_file(log, PLAIN), damper=spec, stock=stock)


def worked_on(unit: Plant, advice: AdviceRecord, rng: np.random.Generator, *, hole_shared: bool = False) -> Plant:
    """The plant with the advised parts in it, as well as a workshop does it."""
    for part in advice.parts:
        if part.direction == "both":
            continue
        opening = _with_part(getattr(unit, part.direction), part, rng)
        unit = _with_opening(unit, part.direction, opening, hole_shared)
    return unit


def _with_opening(unit: Plant, way: Direction, opening: Opening, hole_shared: bool) -> Plant:
    """A hole that is open both ways changes the other direction by as much."""
    other: Opening = getattr(unit, OTHER[way])
    if hole_shared:
        added = opening.bleed_m2 - getattr(unit, way).bleed_m2
        other = _bled(other, other.bleed_m2 + added)
    return _fitted(_fitted(unit, way, opening), OTHER[way], other)


def _fitted(unit: Plant, way: Direction, opening: Opening) -> Plant:
    return replace(unit, rebound=opening) if way == "rebound" else replace(unit, compression=opening)


def put_back(
    unit: Plant, restore: Sequence[RestoreRecord], rng: np.random.Generator, *, hole_shared: bool = False
) -> Plant:
    """The plant with each part at fault as the good one is said to be, as well as a workshop does it.

    A leak is left: nothing of these units leaks, so there is nothing that would be renewed. A hole that is open both ways
    is put back once, for the direction that is named first.
    """
    holes = [part.direction for part in restore if part.part == "bleed"]
    for part in restore:
        opening: Opening = getattr(unit, part.direction)
        ratio = part.good / part.now
        if part.part == "bleed" and not (hole_shared and part.direction != holes[0]):
            work = float(np.exp(rng.normal(0.0, WORK["bleed"])))
            unit = _with_opening(
                unit, part.direction, replace(opening, bleed_m2=opening.bleed_m2 * ratio * work), hole_shared
            )
        if part.part in SPRUNG:
            made = ratio * float(np.exp(rng.normal(0.0, WORK.get(part.part, STACK_WORK))))
            crack, span = (made if name in SPRUNG[part.part] else 1.0 for name in ("crack", "span"))
            opening = replace(opening, crack_pa=opening.crack_pa * crack, span_pa=opening.span_pa * span)
            unit = _fitted(unit, part.direction, opening)
    return unit


def _with_part(opening: Opening, part: PartRecord, rng: np.random.Generator) -> Opening:
    error = float(np.exp(rng.normal(0.0, WORK.get(part.part, STACK_WORK))))
    if part.part == "bleed" and part.now is not None and part.new is not None:
        if part.added:
            return replace(opening, bleed_m2=opening.bleed_m2 + error * 1e-6 * (part.new - part.now))
        return replace(opening, bleed_m2=error * 1e-6 * part.new)
    if part.part == "preload":
        return replace(opening, crack_pa=opening.crack_pa * part.ratio * error)
    if part.part == "spring":
        return replace(opening, span_pa=opening.span_pa * part.ratio * error)
    if part.part == "shim stack":
        both = part.ratio * error
        return replace(opening, crack_pa=opening.crack_pa * both, span_pa=opening.span_pa * both)
    return opening


def _pass(unit: Plant, sound: Plant, result: Result, parts: int) -> Pass:
    points = result.reference or ()
    miss = worst_miss(unit, sound)
    return Pass(
        inside=miss <= 1,
        measured=all(p.measured_n is not None and p.low_n <= p.measured_n <= p.high_n for p in points),
        answers_in=all(p.answer == "in" for p in points),
        action=result.verdict.action,
        parts=parts,
        worst=miss,
        said=_said(result),
        tuned=result.advice is not None and bool(result.advice.parts),
    )


def _said(result: Result) -> str:
    levels = {fault.level for fault in result.faults}
    if levels:
        return FOUND if "found" in levels else SUSPECTED
    return SET if any(p.answer == "out" for p in result.reference or ()) else CLOSE
