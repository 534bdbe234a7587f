"""Does the advised change bring a made-up unit into its band? Change the plant, run it again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

import dampkit
from dampkit.app.progress import Progress
from dampkit.damper.declared import DamperSpec
from dampkit.outcome.result import AdviceRecord, PartRecord, RestoreRecord, Result
from dampkit.quantities import DIRECTIONS, Array
from dampkit.studies.made import sizes, through_file, with_reference
from dampkit.virtual.dialects import PLAIN
from dampkit.virtual.plant import Kind, Opening, Plant
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import random_unit

PASSES = 2  # changes at most
FIRST_UNIT = 2000  # units from here on were never looked at while the advice was worked out; those before were
TOLERANCE, FLOOR_N = 0.15, 25.0  # of the study's window
SPEEDS_M_S: dict[str, tuple[float, ...]] = {"lever-arm": (0.05, 0.1, 0.2, 0.3, 0.5)}
USUAL_M_S = (0.05, 0.1, 0.3, 0.6, 1.0)  # usual test speeds [jaso_c602]
SLOW_M_S, BETWEEN_M_S, CYCLES = 0.005, 0.2, 5.0
ROAMS = {"bleed": 0.7, "crack": 0.45, "span": 0.5}  # logarithm of the farthest that a part of a unit is off
ALTERED = 0.6  # chance that a part is off
# standard deviation of what the made-up workshop gets wrong: hole area with its discharge coefficient, preload, spring
WORK = {"bleed": 0.04, "preload": 0.025, "spring": 0.03}
KINDS: tuple[Kind, ...] = ("twin-tube", "monotube", "lever-arm")
SIDE_BY_SIDE = 40  # units in one integration


@dataclass(frozen=True)
class Pass:
    """One run of a unit. `inside`: every true force within the window; `measured`: every force as analysed within it."""

    inside: bool
    measured: bool
    answers_in: bool
    action: str
    parts: int
    worst: float  # largest true distance from the middle, 1 at the edge


@dataclass(frozen=True)
class Story:
    """One unit from first run to last, `curves` (true rebound, compression at the speeds) before and after."""

    seed: int
    kind: str
    passes: tuple[Pass, ...]
    advised: tuple[str, ...]

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
    done: bool = False


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
                delayed(analysed)(log, specification(u.sound)) for u, log in zip(going, _logs(going), strict=True)
            )
            progress.step(worked=False, by=count - len(going))
            for unit, result in zip(going, progress.over(results), strict=True):
                _next(unit, result, last=change == PASSES)
    progress.end()
    return [Story(u.seed, u.sound.kind, tuple(u.passes), tuple(u.advised)) for u in units]


def _begun(seed: int) -> _Unit:
    rng = np.random.default_rng([7, seed])
    sound = random_unit(rng, KINDS[seed % len(KINDS)])
    return _Unit(seed, sound, off_target(sound, rng), rng, [], [])


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
    unit.now = put_back(unit.now, result.restore, unit.rng)
    if result.advice is not None:
        unit.now = worked_on(unit.now, result.advice, unit.rng)


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


def off_target(sound: Plant, rng: np.random.Generator) -> Plant:
    """The unit with parts of its valves off, drawn again until a true force is outside the window."""
    while True:
        unit = replace(sound, rebound=_off(sound.rebound, rng), compression=_off(sound.compression, rng))
        if worst_miss(unit, sound) > 1:
            return unit


def _off(opening: Opening, rng: np.random.Generator) -> Opening:
    bleed, crack, span = (
        float(np.exp(rng.uniform(-far, far))) if rng.random() < ALTERED else 1.0 for far in ROAMS.values()
    )
    return replace(
        opening, bleed_m2=opening.bleed_m2 * bleed, crack_pa=opening.crack_pa * crack, span_pa=opening.span_pa * span
    )


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


def specification(sound: Plant) -> DamperSpec:
    """The unit as on its drawing, its window about the sound unit's true forces."""
    window = {"tolerance_percent": 100 * TOLERANCE, "tolerance_floor_n": FLOOR_N}
    drawn = {**sizes(sound), "oil_density_kg_m3": sound.oil.density_20_kg_m3}
    return with_reference(drawn, sound, speeds(sound), sound.start_c, **window)


def analysed(log: Log, spec: DamperSpec) -> Result:
    """The log written and read back, as a bench's would be, and analysed."""
    return dampkit.analyse(through_file(log, PLAIN), damper=spec)


def worked_on(unit: Plant, advice: AdviceRecord, rng: np.random.Generator) -> Plant:
    """The plant with the advised parts in it, as well as a workshop does it."""
    for part in advice.parts:
        if part.direction == "both":
            continue
        opening = _with_part(getattr(unit, part.direction), part, rng)
        unit = replace(unit, rebound=opening) if part.direction == "rebound" else replace(unit, compression=opening)
    return unit


def put_back(unit: Plant, restore: Sequence[RestoreRecord], rng: np.random.Generator) -> Plant:
    """The plant with each part at fault as the good one is said to be, as well as a workshop does it.

    A leak is left: nothing of these units leaks, so there is nothing that would be renewed.
    """
    for part in restore:
        opening: Opening = getattr(unit, part.direction)
        ratio = part.good / part.now
        if part.part == "bleed":
            opening = replace(
                opening, bleed_m2=opening.bleed_m2 * ratio * float(np.exp(rng.normal(0.0, WORK["bleed"])))
            )
        if part.part == "blow-off":
            opening = replace(
                opening, crack_pa=opening.crack_pa * ratio * float(np.exp(rng.normal(0.0, WORK["preload"])))
            )
        unit = replace(unit, rebound=opening) if part.direction == "rebound" else replace(unit, compression=opening)
    return unit


def _with_part(opening: Opening, part: PartRecord, rng: np.random.Generator) -> Opening:
    error = float(np.exp(rng.normal(0.0, WORK.get(part.part, 0.03))))
    if part.part == "bleed" and part.now is not None and part.new is not None:
        if part.added:
            return replace(opening, bleed_m2=opening.bleed_m2 + error * 1e-6 * (part.new - part.now))
        return replace(opening, bleed_m2=error * 1e-6 * part.new)
    if part.part == "preload":
        return replace(opening, crack_pa=opening.crack_pa * part.ratio * error)
    if part.part == "spring":
        return replace(opening, span_pa=opening.span_pa * part.ratio * error)
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
    )
