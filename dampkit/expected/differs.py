"""The fitted unit held against its known-good reference: which part of a valve must have changed to make the difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import Literal

import numpy as np

from dampkit.damper.declared import DamperSpec
from dampkit.damper.least_squares import Search
from dampkit.damper.reading import reading_at
from dampkit.damper.take_up import TakeUp, same_speed
from dampkit.damper.unit import Law, Unit
from dampkit.damper.valve import PARAMETERS, Valve
from dampkit.damper.warmth import brought_to
from dampkit.expected.window import Window, window
from dampkit.frozen import frozen
from dampkit.quantities import Z95, Array, Direction

Part = Literal["leak", "bleed", "blowoff"]
Parts = tuple[Part, ...]
Starts = dict[Parts, Array | None]  # of each set of parts the values to begin with, None for the valve as it is
PARTS: tuple[Part, ...] = ("leak", "bleed", "blowoff")
READING_SHARE = 0.02  # of a reference force: how well a bench repeats itself and the law follows it; common practice
READING_N = 3.0  # the same at small forces; common practice
FRICTION_LOW_N, FRICTION_HIGH_N = 15.0, 60.0  # usual friction of a telescopic damper; common practice, from memory
LEAST_SPEEDS = 4  # reference speeds that the test must reach for two parts and friction to be separated
WORTH_ASKING = 0.5  # of the tolerance; below it no part is far enough off to matter
TAKEN_UP_SHARE = 0.7  # of the valve's force that must be there by mid-stroke; own
PENALTY = 4.0  # a further part must improve the sum of squares by so much more: two standard uncertainties squared


@frozen
class Differs:
    """One direction against its reference. Arrays over the reference speeds that the test reached, shape (S,).

    `allowance_n` is the window's half-width; `wanted_n` the reference; `measured_n` what the bench reads; `error_n` the
    standard uncertainty of the law there. `good` is the valve that makes the reference with the fewest parts changed, `changed` names
    those parts; `left_n` is what no change of parts explains.
    """

    direction: Direction
    valve: Valve
    velocity_m_s: Array
    wanted_n: Array
    allowance_n: Array
    measured_n: Array
    error_n: Array
    good: Valve
    friction_good_n: float
    changed: Parts
    left_n: Array

    def effect_n(self, part: Part) -> Array:
        """Force that one part's change adds (positive) or takes at each speed, shape (S,)."""
        restored = _with(self.valve, part, _value(self.good, part))
        return self.valve.force(self.velocity_m_s) - restored.force(self.velocity_m_s)

    def ratio(self, part: Part) -> float:
        """The part now over the part when good."""
        return _value(self.valve, part) / max(_value(self.good, part), 1e-12)

    @property
    def passes_ratio(self) -> Array:
        """What bleed and leak pass now over what they pass when good, at the wanted forces, shape (S,)."""
        root = np.sqrt(np.maximum(self.wanted_n, 1.0))
        now, good = (valve.bleed + valve.leak * root for valve in (self.valve, self.good))
        return np.asarray(now / np.maximum(good, 1e-12))

    def strays(self, out_m_s: Sequence[float], friction_n: float) -> bool:
        """Whether a reading beside its window at one of the speeds is no business of the valve's parts.

        Its force was not there by mid-stroke, or it is farther than the window is wide from what valve and friction make.
        """
        made = self.valve.force(self.velocity_m_s) + friction_n
        far = set(self.velocity_m_s[np.abs(self.measured_n - made) > self.allowance_n])
        return bool(far & set(out_m_s)) or not set(out_m_s) <= set(self.velocity_m_s)

    @property
    def out(self) -> Array:
        """Measured less wanted force in allowances, shape (S,)."""
        return (self.measured_n - self.wanted_n) / self.allowance_n


@frozen
class _Points:
    velocity_m_s: Array
    wanted_n: Array
    allowance_n: Array
    measured_n: Array
    error_n: Array


def differs(unit: Unit, spec: DamperSpec | None) -> dict[Direction, Differs]:
    """Which part of each valve is not as in the good unit; empty without a reference or with too few of its speeds reached.

    The reference is a bench reading with friction in. For every set of parts (leak, bleed, blow-off) the valve as
    measured is changed in those parts alone, with the friction of the good unit free, until it makes the reference best;
    the set with the least information criterion is taken.
    Source: own; criterion [schwarz1978]; the parts act at different speeds, [dixon2007] ch. 6.
    """
    reference = None if spec is None else spec.reference
    if reference is None or not unit.has_laws:
        return {}
    at = brought_to(unit, reference.temperature_c)
    laws = {side.direction: side.law for side in at.sides if side.law is not None}
    points = {d: _reached(window(reference, d), at, law, _seen_from(unit, d), d) for d, law in laws.items()}
    points = {d: p for d, p in points.items() if p.velocity_m_s.size >= LEAST_SPEEDS}
    if not points:
        return {}
    valves, friction = {d: laws[d].valve for d in points}, unit.friction_used_n
    as_is = np.array([friction])
    starts: dict[Direction, Starts] = {
        d: dict.fromkeys(_sets(valves[d])) if _far(p) else {(): as_is} for d, p in points.items()
    }
    usual = _usual_friction(friction)
    alone = {
        d: _tried(valves[d], p, starts[d], usual) if _far(p) else [Solution(0.0, (), as_is)] for d, p in points.items()
    }
    # one friction for both directions: the mean of what the best sets want, then each direction again with it
    wanted = [found[0].friction_n for found in alone.values()]
    shared = float(np.mean(wanted)), max(3.0, float(np.ptp(wanted)))
    found = {d: _tried(valves[d], p, starts[d] | _values(alone[d]), shared)[0] for d, p in points.items()}
    return {d: _differs(d, valves[d], points[d], found[d]) for d in points}


def _far(points: _Points) -> bool:
    """Whether any force is so far from the reference that asking for the reason is worth the time."""
    out = points.measured_n - points.wanted_n
    return bool(np.any(np.abs(out) > WORTH_ASKING * points.allowance_n))


def _seen_from(unit: Unit, direction: Direction) -> float:
    """Speed from which the valve's force was there by mid-stroke: below, late force hides what the valve does.

    Of a repeated speed the first counts, as in the readings: a hot repeat that has lost force is not late.
    """
    all_of: list[TakeUp] = []
    for t in unit.side(direction).take_ups:
        if not any(same_speed(t.peak_velocity_m_s, seen.peak_velocity_m_s) for seen in all_of):
            all_of.append(t)
    late = [t.peak_velocity_m_s for t in all_of if t.law_n > unit.friction_used_n and t.reached_ratio < TAKEN_UP_SHARE]
    fastest = max((t.peak_velocity_m_s for t in all_of), default=0.0)
    return max((v for v in late if v < fastest), default=0.0)


def _reached(w: Window, unit: Unit, law: Law, seen_from_m_s: float, direction: Direction) -> _Points:
    read = [reading_at(float(v), unit, direction) for v in w.velocity_m_s]
    keep = np.array([r is not None for r in read]) & (w.velocity_m_s > 1.02 * seen_from_m_s)
    v, f = w.velocity_m_s[keep], w.wanted_n[keep]
    known = [r for r, here in zip(read, keep, strict=True) if r is not None and here]
    half = np.maximum(0.5 * np.interp(v, law.velocity_m_s, law.high_n - law.low_n), [r.half_width for r in known])
    error = np.sqrt((half / Z95) ** 2 + (READING_SHARE * f) ** 2 + READING_N**2)
    measured = np.array([r.value for r in known])
    return _Points(v, f, w.allowance_n[keep], measured, error)


@frozen
class Solution:
    """One set of parts: criterion, the parts, their values and the good unit's friction last, shape (parts + 1,)."""

    criterion: float
    parts: Parts
    values: Array

    @property
    def friction_n(self) -> float:
        return float(self.values[-1])


def _usual_friction(measured_n: float) -> tuple[float, float]:
    """Friction expected of the good unit and its spread: as measured where that is usual."""
    if measured_n <= FRICTION_HIGH_N:
        return measured_n, 0.5 * max(measured_n, FRICTION_LOW_N)
    return 0.5 * (FRICTION_LOW_N + FRICTION_HIGH_N), 0.5 * (FRICTION_HIGH_N - FRICTION_LOW_N)


def _sets(valve: Valve) -> list[Parts]:
    """Every set of the parts that the valve has, all of them first."""
    parts = [p for p in PARTS if p != "blowoff" or np.isfinite(valve.blowoff_force)]
    return [s for n in reversed(range(len(parts) + 1)) for s in combinations(parts, n)]


def _tried(valve: Valve, points: _Points, starts: Starts, friction: tuple[float, float]) -> list[Solution]:
    """The sets that may be the best, the best first, which alone is sure to have been searched to the end.

    A set leaves at least what any set leaves that has its parts and more: one that is not the best even so is not
    searched. All others are searched roughly, and to the end where they come near the best.
    """
    each = PENALTY + float(np.log(points.wanted_n.size))
    tried: dict[Parts, Search] = {}
    least = np.inf
    for parts, start in starts.items():
        left = max((at.sum_of_squares for more, at in tried.items() if set(parts) < set(more)), default=0.0)
        if left + len(parts) * each > least + NEAR:
            continue
        tried[parts] = at = _search(valve, points, parts, friction, start)
        at.ends(ROUGHLY, STEPS)
        least = min(least, at.sum_of_squares + len(parts) * each)
    for parts, at in tried.items():
        if at.sum_of_squares + len(parts) * each < least + NEAR:
            at.ends(WITHIN, STEPS)
    found = (Solution(at.sum_of_squares + len(parts) * each, parts, at.p) for parts, at in tried.items())
    return sorted(found, key=lambda s: s.criterion)


def _values(found: list[Solution]) -> Starts:
    return {s.parts: s.values for s in found}


def _search(valve: Valve, points: _Points, parts: Parts, friction: tuple[float, float], start: Array | None) -> Search:
    """Least squares in the logarithm of bleed and blow-off, the leak over its scale and the friction as they are.

    From a `start` near it, else from the valve as it is.
    """
    scale, v = _leak_scale(valve), points.velocity_m_s
    if start is None:
        start = np.array([*(valve.leak / scale if part == "leak" else 0.0 for part in parts), friction[0]])
    changed, root = valve, valve.root(v)  # as last looked at: there slopes are asked for, and near it the next root

    def residual(q: Array) -> Array:
        nonlocal changed, root
        changed = _changed(valve, parts, q, scale)
        root = changed.root(v, root)
        made = root * root + changed.loss * v * v + q[-1]
        return np.append((made - points.wanted_n) / points.error_n, (q[-1] - friction[0]) / friction[1])

    def jacobian(q: Array) -> Array:
        by_parts = _slopes(changed, parts, scale, changed.solve(v, root)[2])
        of_points = np.column_stack([by_parts, np.ones(v.size)]) / points.error_n[:, None]
        return np.vstack([of_points, np.append(np.zeros(len(parts)), 1 / friction[1])])

    low = np.array([*(0.0 if part == "leak" else -4.0 for part in parts), 0.0])
    high = np.array([*(np.inf if part == "leak" else 4.0 for part in parts), np.inf])
    return Search.of(residual, jacobian, start, low=low, high=high)


STEPS = 40
WITHIN, ROUGHLY = 1e-4, 0.05  # of a standard uncertainty: how far the forces of a set may still move where it is left
NEAR = 4.0  # of the criterion: what a rough search may still take off; own


def _slopes(valve: Valve, parts: Parts, leak_scale: float, by_parameter: Array) -> Array:
    """Derivatives of the force by the parts' values as `_changed` takes them, of those by the valve's parameters."""
    unit: dict[Part, tuple[int, float]] = {
        "leak": (PARAMETERS.index("leak"), leak_scale),
        "bleed": (PARAMETERS.index("bleed"), valve.bleed),
        "blowoff": (PARAMETERS.index("blowoff_force"), valve.blowoff_force),
    }
    places, sizes = [unit[part][0] for part in parts], [unit[part][1] for part in parts]
    return np.asarray(by_parameter[:, places] * sizes)


def _changed(valve: Valve, parts: Parts, p: Array, leak_scale: float) -> Valve:
    for part, x in zip(parts, p, strict=False):
        new = x * leak_scale if part == "leak" else _value(valve, part) * float(np.exp(x))
        valve = _with(valve, part, new)
    return valve


def _leak_scale(valve: Valve) -> float:
    """A leak that passes as much as the bleed at the knee, or at 500 N."""
    knee = valve.blowoff_force if np.isfinite(valve.blowoff_force) else 500.0
    return float(max(valve.bleed / np.sqrt(max(knee, 1.0)), 1e-7))


def _value(valve: Valve, part: Part) -> float:
    value: float = getattr(valve, "blowoff_force" if part == "blowoff" else part)
    return value


def _with(valve: Valve, part: Part, value: float) -> Valve:
    name = "blowoff_force" if part == "blowoff" else part
    return replace(valve, **{name: float(max(value, 1e-9 if part != "leak" else 0.0))})


def _differs(direction: Direction, valve: Valve, points: _Points, solution: Solution) -> Differs:
    good = _changed(valve, solution.parts, solution.values, _leak_scale(valve))
    v = points.velocity_m_s
    return Differs(
        direction,
        valve,
        v,
        points.wanted_n,
        points.allowance_n,
        points.measured_n,
        points.error_n,
        good,
        solution.friction_n,
        solution.parts,
        good.force(v) + solution.friction_n - points.wanted_n,
    )
