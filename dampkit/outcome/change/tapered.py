"""A stack of shims of unlike diameters: tapered, or with a crossover that lets the face bend alone at first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise, product

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array

CLOSE = 0.01  # share of the rate wanted; among ratios as close the fewest shims are changed
MOST_CHANGED = 2  # shims exchanged at once; own choice


@frozen
class Shim:
    diameter_mm: float
    thickness_mm: float


@frozen
class ShimStack:
    """From the face on; `clamp_mm` is the diameter that holds it. Shims slide on each other and stay in touch."""

    shims: tuple[Shim, ...]
    clamp_mm: float
    modulus_pa: float = 206e9
    poisson: float = 0.3

    @property
    def crossover(self) -> int | None:
        """Index of the shim that is smaller than the one behind it, with which the second stage begins; None without."""
        sizes = [shim.diameter_mm for shim in self.shims]
        return next((i for i, (here, behind) in enumerate(pairwise(sizes)) if i and here < behind), None)

    @property
    def face(self) -> ShimStack:
        """What bends before a crossover's gap has closed, held by the crossover; the whole of a stack without one."""
        at = self.crossover
        if at is None:
            return self
        return replace(self, shims=self.shims[:at], clamp_mm=self.shims[at].diameter_mm)

    @property
    def gap_mm(self) -> float | None:
        return None if self.crossover is None else self.shims[self.crossover].thickness_mm


def rate_pa_m(stack: ShimStack) -> float:
    """Pressure on the face over the lift of its rim, before a crossover closes.

    A plate clamped at its inner edge whose rigidity at a radius is the sum over the shims that reach it: in each ring
    the slope is c r/2 + d/r and the pressure's own part, slope and moment the same on both sides of a step.
    Source: [roark] ch. 11 for the plate of one ring; own for the rings.
    """
    face = stack.face
    outer = 0.5e-3 * max(shim.diameter_mm for shim in face.shims)
    inner = 0.5e-3 * face.clamp_mm / outer  # radii over the outer one from here on
    ends = sorted({round(r, 6) for r in (inner, *(0.5e-3 * s.diameter_mm / outer for s in face.shims)) if r >= inner})
    rings = list(pairwise(ends))
    rigid = np.array([_rigidity(face, outer * 0.5 * (a + b)) for a, b in rings])
    lift = _lift_of_rim(rings, rigid / rigid[0], face.poisson)
    return float(rigid[0] / (lift * outer**4))


def _rigidity(stack: ShimStack, radius_m: float) -> float:
    """Sum of E t^3 / (12 (1 - nu^2)) of the shims that reach so far. Source: [roark]."""
    thick = sum((1e-3 * s.thickness_mm) ** 3 for s in stack.shims if 0.5e-3 * s.diameter_mm > radius_m)
    return stack.modulus_pa * thick / (12 * (1 - stack.poisson**2))


def _lift_of_rim(rings: Sequence[tuple[float, float]], rigid: Array, poisson: float) -> float:
    """Of a plate of outer radius 1 under a pressure of 1, the rigidity of its inmost ring 1; two unknowns a ring."""
    count = len(rings)
    system, right = np.zeros((2 * count, 2 * count)), np.zeros(2 * count)

    def put(row: int, ring: int, r: float, sign: float, of_moment: bool) -> None:
        terms = _moment(r, rigid[ring], poisson) if of_moment else _slope(r, rigid[ring])
        system[row, 2 * ring : 2 * ring + 2] += sign * np.array(terms[:2])
        right[row] -= sign * terms[2]

    put(0, 0, rings[0][0], 1.0, of_moment=False)
    put(1, count - 1, rings[-1][1], 1.0, of_moment=True)
    for n, (_, step) in enumerate(rings[:-1]):
        for row, of_moment in ((2 + 2 * n, False), (3 + 2 * n, True)):
            put(row, n, step, 1.0, of_moment)
            put(row, n + 1, step, -1.0, of_moment)
    found = np.asarray(np.linalg.solve(system, right), dtype=np.float64)
    rises = (_rise(b, rigid[n], found[2 * n :]) - _rise(a, rigid[n], found[2 * n :]) for n, (a, b) in enumerate(rings))
    return abs(math.fsum(rises))


def _slope(r: float, rigid: float) -> tuple[float, float, float]:
    """Of c, of d, and of the pressure."""
    return 0.5 * r, 1 / r, -(r * (0.5 * math.log(r) - 0.25) - r**3 / 8) / (2 * rigid)


def _moment(r: float, rigid: float, poisson: float) -> tuple[float, float, float]:
    """Radial moment: D (slope' + nu slope / r)."""
    bends = (0.5, -1 / r**2, -(0.5 * math.log(r) + 0.25 - 3 * r**2 / 8) / (2 * rigid))
    return tuple(rigid * (b + poisson * s / r) for b, s in zip(bends, _slope(r, rigid), strict=True))  # type: ignore[return-value]


def _rise(r: float, rigid: float, c_d: Array) -> float:
    """Integral of the slope."""
    own = -(0.25 * r**2 * math.log(r) - 0.25 * r**2 - r**4 / 32) / (2 * rigid)
    return float(0.25 * c_d[0] * r**2 + c_d[1] * math.log(r) + own)


def choose_tapered(now: ShimStack, ratio: float, stock_mm: Sequence[float]) -> ShimStack:
    """The stack with one or two shims before the crossover exchanged for others of their diameter, whose rate is closest
    to `ratio` times that of the present one; among equally close ones the fewest exchanged. Source: own.
    """
    wanted, free = ratio * rate_pa_m(now), len(now.face.shims)
    made = {now.shims: now}
    for places in (p for n in range(1, MOST_CHANGED + 1) for p in combinations(range(free), n)):
        for sizes in product(sorted(stock_mm), repeat=len(places)):
            new = list(now.shims)
            for place, thickness in zip(places, sizes, strict=True):
                new[place] = replace(new[place], thickness_mm=thickness)
            made.setdefault(tuple(new), replace(now, shims=tuple(new)))

    def far(stack: ShimStack) -> tuple[float, int]:
        changed = sum(a != b for a, b in zip(stack.shims, now.shims, strict=True))
        return round(abs(math.log(rate_pa_m(stack) / wanted)) / CLOSE), changed

    return min(made.values(), key=far)
