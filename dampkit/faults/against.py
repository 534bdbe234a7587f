"""The fitted unit held against its known-good reference: which part of a valve must have changed to make the difference."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from typing import Literal

import numpy as np

from dampkit.damper.declared import Reference
from dampkit.damper.fitted import ValveFit
from dampkit.damper.valve import PARAMETERS, Valve
from dampkit.damper.warmth import brought_to
from dampkit.faults.judge import Case
from dampkit.quantities import Z95, Array

Part = Literal["leak", "bleed", "blowoff"]
PARTS: tuple[Part, ...] = ("leak", "bleed", "blowoff")
READING_SHARE = 0.02  # of a reference force: how well a bench repeats itself and the law follows it; common practice
READING_N = 3.0  # the same at small forces; common practice
FRICTION_LOW_N, FRICTION_HIGH_N = 15.0, 60.0  # usual friction of a telescopic damper; common practice, from memory
LEAST_SPEEDS = 4  # reference speeds that the log must reach for two parts and friction to be told apart
STEPS = 40
WORTH_ASKING = 0.5  # of the tolerance; below it nothing can be found anyway
TAKEN_UP_SHARE = 0.7  # of the valve's force that must be there by mid-stroke; own
EDGE = 1.02  # a reference speed may lie so far beyond the fastest stage


@dataclass(frozen=True)
class Compared:
    """One direction against its reference. Arrays over the reference speeds that the log reached, shape (S,).

    `slack_n` is the tolerance; `wanted_n` the reference; `measured_n` the fitted force with friction;
    `error_n` its standard uncertainty. `known_good` is the valve that makes the reference with the fewest parts
    changed, `changed` names those parts; `left_n` is what no change of parts explains.
    """

    direction: str
    fit: ValveFit
    velocity_m_s: Array
    wanted_n: Array
    slack_n: Array
    measured_n: Array
    error_n: Array
    known_good: Valve
    friction_good_n: float
    changed: tuple[Part, ...]
    left_n: Array

    def effect_n(self, part: Part) -> Array:
        """Force that one part's change adds (positive) or takes at each speed, shape (S,)."""
        restored = _with(self.fit.valve, part, _value(self.known_good, part))
        return self.fit.valve.force(self.velocity_m_s) - restored.force(self.velocity_m_s)

    def ratio(self, part: Part) -> float:
        """The part now over the part when good."""
        return _value(self.fit.valve, part) / max(_value(self.known_good, part), 1e-12)

    @cached_property
    def out(self) -> Array:
        """Measured less wanted force in tolerances, shape (S,)."""
        return (self.measured_n - self.wanted_n) / self.slack_n


@dataclass(frozen=True)
class _Points:
    velocity_m_s: Array
    wanted_n: Array
    error_n: Array


def compare(case: Case) -> dict[str, Compared]:
    """Both directions against the reference; empty where there is none or the log reaches too few of its speeds.

    The reference is a bench reading with friction in. For every set of parts (leak, bleed, blow-off) of both
    directions the valve as measured is changed in those parts alone, with the friction of the good unit free, until
    it makes the reference best; the set with the least information criterion is taken.
    Source: own; criterion [schwarz1978]; the parts act at different speeds, [dixon2007] ch. 6.
    """
    reference = None if case.spec is None else case.spec.reference
    friction = case.damper.friction_force_n
    if reference is None or friction is None:
        return {}
    sides = {
        d: brought_to(f, case.damper.temperature_c, reference.temperature_c)
        for d, f in (("rebound", case.damper.rebound), ("compression", case.damper.compression))
        if f
    }
    points = {d: _reached(reference, d, fit, _seen_from(case, d)) for d, fit in sides.items()}
    points = {d: p for d, p in points.items() if p.velocity_m_s.size >= LEAST_SPEEDS}
    best: dict[str, list[Solution]] = {
        d: _best_sets(sides[d].valve, p, friction.value)
        if _differs(sides[d], p, reference, friction.value)
        else [(0.0, (), np.array([friction.value]), friction.value)]
        for d, p in points.items()
    }
    if not best:
        return {}
    chosen = _shared_friction(best, points, {d: sides[d].valve for d in points}, friction.value)
    return {d: _compared(d, sides[d], points[d], reference, friction.value, chosen[d]) for d in points}


def _slack_n(reference: Reference, wanted_n: Array) -> Array:
    return np.asarray(np.maximum(0.01 * reference.tolerance_percent * wanted_n, reference.tolerance_floor_n))


def _differs(fit: ValveFit, points: _Points, reference: Reference, friction_n: float) -> bool:
    """Whether any force is so far from the reference that asking for the reason is worth the time."""
    out = fit.valve.force(points.velocity_m_s) + friction_n - points.wanted_n
    return bool(np.any(np.abs(out) > WORTH_ASKING * _slack_n(reference, points.wanted_n)))


def _seen_from(case: Case, direction: str) -> float:
    """Speed from which the valve's force was there by mid-stroke: below, late force hides what the valve does."""
    friction = 0.0 if case.damper.friction_force_n is None else case.damper.friction_force_n.value
    seen = [h for h in case.held[direction] if h.law_n > friction]
    late = [h.peak_velocity_m_s for h in seen if h.wanted_share < TAKEN_UP_SHARE]
    fastest = max((h.peak_velocity_m_s for h in case.held[direction]), default=0.0)
    return max((v for v in late if v < fastest), default=0.0)


def _reached(reference: Reference, direction: str, fit: ValveFit, seen_from_m_s: float) -> _Points:
    v, f = np.array(reference.velocity_m_s), np.array(getattr(reference, f"{direction}_force_n"))
    keep = (v <= fit.velocity_m_s[-1] * EDGE) & (v > 1.02 * seen_from_m_s)
    v, f = v[keep], f[keep]
    half = 0.5 * np.interp(v, fit.velocity_m_s, fit.high_n - fit.low_n)
    return _Points(v, f, np.sqrt((half / Z95) ** 2 + (READING_SHARE * f) ** 2 + READING_N**2))


Solution = tuple[float, tuple[Part, ...], Array, float]  # criterion, changed parts, values, friction


def _usual_friction(measured_n: float) -> tuple[float, float]:
    """Friction expected of the good unit and its spread: as measured where that is usual."""
    if measured_n <= FRICTION_HIGH_N:
        return measured_n, 0.5 * max(measured_n, FRICTION_LOW_N)
    return 0.5 * (FRICTION_LOW_N + FRICTION_HIGH_N), 0.5 * (FRICTION_HIGH_N - FRICTION_LOW_N)


def _best_sets(valve: Valve, points: _Points, friction_n: float) -> list[Solution]:
    """Every set of parts with its best values."""
    parts = [p for p in PARTS if p != "blowoff" or np.isfinite(valve.blowoff_force)]
    sets = [s for n in range(len(parts) + 1) for s in combinations(parts, n)]
    return [_solve(valve, points, s, _usual_friction(friction_n)) for s in sets]


def _shared_friction(
    sets: dict[str, list[Solution]], points: dict[str, _Points], valves: dict[str, Valve], friction_n: float
) -> dict[str, Solution]:
    """One friction for both directions: the mean of what the best sets want, then each direction again with it."""
    wanted = [min(s, key=lambda x: x[0])[3] for s in sets.values()]
    friction = float(np.mean(wanted))
    spread = max(3.0, float(np.ptp(wanted)))
    again = {d: [_solve(valves[d], points[d], s[1], (friction, spread)) for s in sets[d]] for d in sets}
    return {d: min(found, key=lambda x: x[0]) for d, found in again.items()}


def _solve(valve: Valve, points: _Points, parts: tuple[Part, ...], friction: tuple[float, float]) -> Solution:
    """Least squares by damped Gauss-Newton in the logarithm of bleed and blow-off, the leak and the friction as they are."""
    scale = _leak_scale(valve)
    p = np.array([*(0.0 if part != "leak" else valve.leak / scale for part in parts), friction[0]])

    def residual(q: Array) -> Array:
        made = _changed(valve, parts, q, scale).force(points.velocity_m_s) + q[-1]
        return np.append((made - points.wanted_n) / points.error_n, (q[-1] - friction[0]) / friction[1])

    r, damping = residual(p), 1e-2
    for _ in range(STEPS):
        jacobian = _slopes(_changed(valve, parts, p, scale), points, parts, scale, friction[1])
        normal = jacobian.T @ jacobian
        change = np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-9), -jacobian.T @ r)
        trial = p + np.clip(change, -1.0, 1.0) * np.append(np.ones(p.size - 1), max(abs(friction[0]), 1.0))
        trial = _within(trial, p, np.asarray(change, dtype=np.float64), parts)
        new = residual(trial)
        if new @ new < r @ r:
            done = r @ r - new @ new < 1e-6
            p, r, damping = trial, new, 0.3 * damping
            if done:
                break
        else:
            damping *= 5.0
            if damping > 1e8:
                break
    cost = float(r @ r) + len(parts) * (PENALTY + float(np.log(points.wanted_n.size)))
    return cost, parts, p, float(p[-1])


def _slopes(valve: Valve, points: _Points, parts: tuple[Part, ...], leak_scale: float, friction_spread: float) -> Array:
    """Exact derivatives of the residuals by the parts' values, as `_changed` takes them, and by friction."""
    by_parameter = valve.solve(points.velocity_m_s)[2]
    unit: dict[Part, tuple[int, float]] = {
        "leak": (PARAMETERS.index("leak"), leak_scale),
        "bleed": (PARAMETERS.index("bleed"), valve.bleed),
        "blowoff": (PARAMETERS.index("blowoff_force"), valve.blowoff_force),
    }
    columns = [by_parameter[:, i] * size for i, size in (unit[part] for part in parts)]
    of_points = np.stack([*columns, np.ones(points.velocity_m_s.size)], axis=1) / points.error_n[:, None]
    return np.vstack([of_points, np.append(np.zeros(len(parts)), 1 / friction_spread)])


PENALTY = 4.0  # a further part must improve the sum of squares by so much more: two standard uncertainties squared


def _within(trial: Array, p: Array, change: Array, parts: tuple[Part, ...]) -> Array:
    """The step kept where a valve can be: logarithms by one at most, friction and leak not below nothing."""
    out = np.array(trial)
    out[-1] = max(p[-1] + float(change[-1]), 0.0)
    for i, part in enumerate(parts):
        out[i] = max(out[i], 0.0) if part == "leak" else np.clip(out[i], -4.0, 4.0)
    return out


def _changed(valve: Valve, parts: tuple[Part, ...], p: Array, leak_scale: float) -> Valve:
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


def _compared(
    direction: str, fit: ValveFit, points: _Points, reference: Reference, friction_n: float, solution: Solution
) -> Compared:
    _, parts, p, friction_good = solution
    good = _changed(fit.valve, parts, p, _leak_scale(fit.valve))
    return Compared(
        direction,
        fit,
        points.velocity_m_s,
        points.wanted_n,
        _slack_n(reference, points.wanted_n),
        fit.valve.force(points.velocity_m_s) + friction_n,
        points.error_n,
        good,
        friction_good,
        parts,
        good.force(points.velocity_m_s) + friction_good - points.wanted_n,
    )
