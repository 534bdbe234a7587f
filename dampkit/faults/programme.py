"""The next tests as one programme: steps in the order in which they are done, within what the bench did in this test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.damper.points import SLOW_M_S
from dampkit.damper.take_up import same_speed
from dampkit.faults.needs_of import CYCLES, SPEEDS_APART
from dampkit.faults.next_tests import HAND_TEST, Doubt, NextTest, next_tests, untested
from dampkit.faults.under_test import UnderTest
from dampkit.frozen import frozen
from dampkit.quantities import median

SLOW_PASS_M_S = 0.005  # friction and gas, hardly any valve; usual test speed, no source
SLOW_STAGE_M_S = 0.1  # where lost motion shows best, and most valves make more than friction; common practice
STILL_SLOW_M_S = 0.14  # the fastest that a bench surely keeps within the slow band; own choice
SLOW_CYCLES = 2
CLOSE_CYCLES = 10  # where a reading was too close to its limit: the mean of so many is surer
PRIME_STROKES = 12  # after which air from filling or lying has gone; common practice, no source
REST_S = 600.0  # in which bubbles rise in a unit that stands upright; common practice, no source
MOST_SPEEDS = 6  # that one programme adds; own choice
WHOLE_SPEEDS = 12  # of a whole test that is run again; own choice
USUAL_TOP_M_S = 1.0  # usual top of a test
BEYOND = 1.02  # ratio to the highest speed of this test from which a speed is more than the bench has shown
ASIDE = 0.25  # of the stroke, that the middle of half a stroke lies aside: inside what the whole stroke went through
ALONE = {"turn_the_rod", "other_middle"}  # their own stages are enough
WARM_CYCLES = 20  # at the highest speed, before the first is run again; own choice
WRITTEN = (
    "declare_bench",
    "declare_kind",
    "declare_rod",
    "declare_friction",
    "declare_reference",
    "read_zero",
    "log_temperature",
)
BY_HAND = ("push_by_hand", HAND_TEST)
BEFORE = ("put_right", "side_load", "stand_upright", "rigid_link")


@frozen
class TestStep:
    """One thing to do. `do`: "run" for a stage of the bench, else the key of a test, "prime" or "rest".

    `middle_m`: how far out of the middle of this test's strokes, further in below 0. `turned_degrees`: of the rod, from
    how it was first fitted. `beyond`: faster than the bench has run in this test. `tells`: keys of the tests it is for.
    `decides`: the verdict waits for it. None where this test does not tell, or it does not apply.
    """

    __test__ = False

    do: str
    tells: tuple[str, ...]
    decides: bool = False
    velocity_m_s: float | None = None
    stroke_m: float | None = None
    middle_m: float | None = None
    frequency_hz: float | None = None
    cycles: int | None = None
    rest_s: float | None = None
    turned_degrees: float | None = None
    beyond: bool = False


@frozen
class Programme:
    """`joined`: what it gives is one test with what was measured before; else unit or bench is not the same any more.

    `top_m_s`, `stroke_m`, `temperature_c`: of this test, to be kept to.
    """

    steps: tuple[TestStep, ...]
    joined: bool
    top_m_s: float | None = None
    stroke_m: float | None = None
    temperature_c: float | None = None


@frozen
class _Bench:
    """What this test shows of its bench. `hz_per_m_s`: of its own motion at its own stroke."""

    speeds_m_s: tuple[float, ...]
    stroke_m: float | None
    hz_per_m_s: float | None

    @property
    def spread(self) -> list[float]:
        """Three speeds up to the highest, well over SPEEDS_APART from slowest to fastest."""
        top = max(self.top_m_s, SLOW_STAGE_M_S)
        return [top / 3.5, top / 1.9, top]

    @property
    def top_m_s(self) -> float:
        return max(self.speeds_m_s, default=0.0)

    def run(self, test: str, velocity_m_s: float, cycles: int, decides: bool) -> TestStep:
        """A stage with the stroke of this test."""
        hz = None if self.hz_per_m_s is None else velocity_m_s * self.hz_per_m_s
        fast = velocity_m_s > BEYOND * self.top_m_s
        middle = None if self.stroke_m is None else 0.0
        return TestStep("run", (test,), decides, velocity_m_s, self.stroke_m, middle, hz, cycles, beyond=fast)


def programme(test: UnderTest, doubts: Sequence[Doubt]) -> Programme | None:
    """The steps that settle the doubts; None where no step does. What changes the unit is done only where the verdict
    waits for it, and then the whole test is run again: what is measured before and after is not one unit.
    """
    waits = {doubt.key for doubt in doubts if doubt.decides}
    chosen = [t for t in _cheapest(next_tests(test, doubts)) if not t.changes or t.tells & waits]
    anew = any(t.changes for t in chosen)
    if anew and all(t.key in ALONE for t in chosen if t.tells & waits):
        chosen = [t for t in chosen if t.tells & waits]
    decides = {t.key: bool(t.tells & waits) for t in chosen}
    bench = _bench(test)
    keys = [t.key for t in chosen]
    asked = _Asked(test, bench, doubts)
    stages = _merged([s for key in keys for s in asked.stages(key, decides[key])])
    if "spread_speeds" in keys and not _apart(stages, bench):
        stages = _merged(
            [*stages, *(bench.run("spread_speeds", v, CYCLES, decides["spread_speeds"]) for v in bench.spread)]
        )
    if anew and not set(keys) <= ALONE:
        stages = _whole(stages, bench)
    stages = _warmed(stages, bench)
    steps = (
        *(TestStep(key, (key,), decides[key]) for group in (WRITTEN, BY_HAND, BEFORE) for key in keys if key in group),
        *(_settled(decides) if {"rest_upright", "stand_upright"} & set(keys) else ()),
        *stages,
        *(s for key in keys for s in _after(key, bench, decides[key])),
    )
    if not steps:
        return None
    unit_c = test.unit.temperature_c
    return Programme(steps, not anew and bool(test.loops), bench.top_m_s or None, bench.stroke_m, unit_c)


def _cheapest(tests: Sequence[NextTest]) -> list[NextTest]:
    """Of several tests that settle the same no more than the first one."""
    told: set[str] = set()
    kept = []
    for t in tests:
        if not t.tells <= told:
            kept.append(t)
            told |= t.tells
    return kept


def _bench(test: UnderTest) -> _Bench:
    if not test.loops:
        read = [side.reading for side in test.unit.sides if side.reading is not None]
        return _Bench(tuple(sorted({float(v) for r in read for v in r.velocity_m_s})), None, None)
    loops = test.moving or test.loops
    stroke = median([loop.stage.stroke_m for loop in loops])
    shape = median([lp.stage.frequency_hz * lp.stage.stroke_m / lp.peak_velocity_m_s for lp in loops])
    speeds = tuple(loop.peak_velocity_m_s for loop in loops)
    return _Bench(speeds, stroke, shape / stroke)


@frozen
class _Asked:
    """Stages that tests ask for, on the unit as it stands."""

    test: UnderTest
    bench: _Bench
    doubts: Sequence[Doubt]

    @property
    def asked(self) -> bool:
        """Whether lost motion itself is out, or too close to its limit to be sure: two slow speeds tell what it is."""
        return any(d.key in ("asked_open", "asked_out") for d in self.doubts)

    def stages(self, key: str, decides: bool) -> list[TestStep]:
        """Of one test; none where it runs nothing, or in its own order."""
        cycles = {"slow_pass": SLOW_CYCLES, "side_load": SLOW_CYCLES}.get(key, CYCLES)
        if key == "slow_stage" and self.asked:
            cycles = CLOSE_CYCLES
        return [self.bench.run(key, v, cycles, decides) for v in self.speeds(key)]

    def speeds(self, key: str) -> list[float]:
        bench = self.bench
        asked = {
            "slow_pass": lambda: [SLOW_PASS_M_S],
            "side_load": lambda: [SLOW_PASS_M_S],
            "slow_stage": lambda: [self.slow(), *([STILL_SLOW_M_S] if self.asked else [])],
            "five_cycles": lambda: list(bench.speeds_m_s[:1]),
            "repeat_first": lambda: list(bench.speeds_m_s[:1]),
            "faster_stage": self.faster,
            "log_strokes": lambda: _spread([*bench.speeds_m_s, SLOW_PASS_M_S, SLOW_STAGE_M_S]),
            "open_speeds": self.open,
        }
        return asked[key]() if key in asked else []

    def open(self) -> list[float]:
        """Speeds at which the answer is open; those of the reference where it is the valve that is in doubt."""
        named = [d.velocity_m_s for d in self.doubts if d.velocity_m_s is not None]
        reference = None if self.test.spec is None else self.test.spec.reference
        return _spread(named or (self.bench.speeds_m_s if reference is None else reference.velocity_m_s))

    def slow(self) -> float:
        """A slow speed at which the valves make more than friction; one that is asked for anyway, or was run, first."""
        laws = [side.law for side in self.test.unit.sides if side.law is not None]
        friction = self.test.unit.friction_used_n
        slow = [v for v in (*self.open(), *self.bench.speeds_m_s) if v <= STILL_SLOW_M_S]
        strong = (
            v
            for v in (*slow, SLOW_STAGE_M_S)
            if all(np.interp(v, law.velocity_m_s, law.force_n) > friction for law in laws)
        )
        return next(strong, STILL_SLOW_M_S)

    def faster(self) -> list[float]:
        """The next speed that the reference names; else twice the highest, up to where tests usually end."""
        top = self.bench.top_m_s
        named = [v for v in untested(self.test) if v > BEYOND * top]
        return named[:1] or [v for v in [min(2 * top, USUAL_TOP_M_S)] if v > BEYOND * top]


def _apart(steps: Sequence[TestStep], bench: _Bench) -> bool:
    """Whether these stages, with those that were run, are three speeds far enough apart."""
    speeds = sorted({*bench.speeds_m_s, *(s.velocity_m_s for s in steps if s.velocity_m_s and not s.beyond)})
    moving = [v for v in speeds if v >= SLOW_M_S]
    return len(moving) >= 3 and moving[-1] >= SPEEDS_APART * moving[0]


def _spread(speeds: Sequence[float], most: int = MOST_SPEEDS) -> list[float]:
    """No more than so many of them, slowest and fastest among them, each once."""
    each = sorted(set(speeds))
    return [each[round(i)] for i in np.linspace(0, len(each) - 1, min(len(each), most))] if each else []


def _merged(steps: Sequence[TestStep]) -> list[TestStep]:
    """Slowest first, each speed once with the most cycles asked of it; the repeat of the first speed comes last."""
    last = [s for s in steps if s.tells == ("repeat_first",)]
    out: list[TestStep] = []
    for step in sorted((s for s in steps if s not in last), key=lambda s: s.velocity_m_s or 0.0):
        out = [*out[:-1], _both(out[-1], step)] if out and _same(out[-1], step) else [*out, step]
    repeats = [s for s in out for r in last if _same(s, r)]
    if repeats:
        return [_both(s, last[0]) if s in repeats else s for s in out]
    return [*out, *last]


def _warmed(steps: Sequence[TestStep], bench: _Bench) -> list[TestStep]:
    """A speed that is repeated alone is run warm: the highest speed goes before it."""
    if [s.tells for s in steps] != [("repeat_first",)]:
        return list(steps)
    return [bench.run("repeat_first", bench.top_m_s, WARM_CYCLES, steps[0].decides), *steps]


def _same(a: TestStep, b: TestStep) -> bool:
    return same_speed(a.velocity_m_s or 1.0, b.velocity_m_s or 1.0)


def _both(a: TestStep, b: TestStep) -> TestStep:
    tells = tuple(dict.fromkeys((*a.tells, *b.tells)))
    return replace(a, tells=tells, decides=a.decides or b.decides, cycles=max(a.cycles or 0, b.cycles or 0))


def _whole(stages: Sequence[TestStep], bench: _Bench) -> list[TestStep]:
    """With all speeds of this test and a slow pass, the first speed again at the end."""
    again = [bench.run("whole", v, CYCLES, True) for v in _spread(bench.speeds_m_s, WHOLE_SPEEDS)]
    slow = [bench.run("slow_pass", SLOW_PASS_M_S, SLOW_CYCLES, True)]
    first = [replace(s, tells=("repeat_first",)) for s in again[:1]]
    return [*_merged([*slow, *stages, *again]), *first]


def _settled(decides: dict[str, bool]) -> list[TestStep]:
    """Air from lying and filling out, then bubbles up."""
    why = tuple(key for key in ("rest_upright", "stand_upright") if key in decides)
    prime = TestStep("prime", why, True, cycles=PRIME_STROKES)
    return [prime, TestStep("rest", why, True, rest_s=REST_S)]


def _after(key: str, bench: _Bench, decides: bool) -> list[TestStep]:
    """Stages that need unit or bench set otherwise, and what is done last."""
    if key == "turn_the_rod":
        slow = bench.run(key, SLOW_PASS_M_S, SLOW_CYCLES, decides)
        return [replace(slow, turned_degrees=angle) for angle in (90.0, 180.0)]
    if key == "other_middle" and bench.stroke_m is not None and bench.speeds_m_s:
        half = bench.run(key, min(bench.speeds_m_s), CYCLES, decides)
        short = replace(half, stroke_m=0.5 * bench.stroke_m, frequency_hz=2 * (half.frequency_hz or math.nan))
        return [replace(short, middle_m=side * ASIDE * bench.stroke_m) for side in (-1.0, 1.0)]
    return []
