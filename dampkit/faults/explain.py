"""Joint explanation: which set of causes accounts best for every abnormal measure and leaves the normal ones normal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np

from dampkit.faults.causes import BESIDE, Cause
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, OTHER, Direction

MOST = 3  # causes at once
BESIDE_ANOTHER = 0.05  # odds of a further cause beside one that is there; own choice
BOTH_WAYS = 0.5  # of one cause in the other direction too
# A measure is never surer than this: what no table of causes holds may move it. Of direct measures that no fault put in
# moves, so many of a made-up fleet were beyond their limits beyond doubt: 8 of 6087 (seeds 5 and 21), and 1 of 3303
# (part of seed 31) since most of what made those was mended.
DOUBT = 0.001
MAY = 0.25  # how often a cause moves any of what it may move: 63 of 240 units of that fleet, severity 3 and more
NO_SURER = 0.05  # how much the absence of an expected measure counts at most
PLAUSIBLE = 0.02  # a cause one of whose measures is less likely abnormal than that is in no set

Key = tuple[str, Direction | None]


@frozen
class Instance:
    """A cause in one direction (None: it has none), with its measures by key and direction."""

    cause: Cause
    direction: Direction | None
    moves: frozenset[Key]
    may: frozenset[Key]
    denies: frozenset[Key]
    expects: frozenset[Key]
    disturbs: frozenset[Key]


def instances(causes: Sequence[Cause]) -> tuple[Instance, ...]:
    """Every cause in each of its directions."""
    return tuple(_instance(cause, d) for cause in causes for d in (DIRECTIONS if _directed(cause) else (None,)))


@frozen
class Share:
    """Of the posterior over sets: those that hold a cause at all, in either direction, and those that hold it in this one.

    What shows in both directions is explained by the cause in either; that the direction is open does not make the cause
    itself doubtful.
    """

    of_code: float
    of_direction: float


def likelihoods(found: Sequence[Instance], beyond: Mapping[Key, float]) -> dict[Instance, Share]:
    """Share of the posterior over all sets of up to MOST causes that holds each instance (or a variant of it).

    beyond: probability that each measure is abnormal. The probability of what was measured, given a set, is the product
    over the measures: abnormal as probable where the set moves it, normal where it does not; what it may move it moves
    together, now and then.
    Exact enumeration. Source: set-covering diagnosis [reggia1983], noisy-OR [pearl1988], both from memory; checked by
    hand on two-cause tables.
    """
    p = {key: min(max(value, DOUBT), 1 - DOUBT) for key, value in beyond.items()}
    plausible = [i for i in found if i.moves <= p.keys() and min(p[k] for k in i.moves) >= PLAUSIBLE]
    sets = [s for n in range(MOST + 1) for s in combinations(plausible, n) if _distinct(s)]
    weight = np.array([_prior(s) * _of_measures(s, p) for s in sets])
    weight /= weight.sum()
    of: dict[str | tuple[str, Direction | None], float] = defaultdict(float)
    for chosen, share in zip(sets, weight, strict=True):
        for name in {i.cause.code for i in chosen} | {(i.cause.code, i.direction) for i in chosen}:
            of[name] += float(share)
    return {i: Share(of[i.cause.code], of[i.cause.code, i.direction]) for i in found}


def _prior(chosen: Sequence[Instance]) -> float:
    weight = float(np.prod([i.cause.weight for i in chosen])) if chosen else 1.0
    codes = len({i.cause.code for i in chosen})
    return weight * BESIDE_ANOTHER ** max(0, codes - 1) * BOTH_WAYS ** (len(chosen) - codes)


def _of_measures(chosen: Sequence[Instance], p: Mapping[Key, float]) -> float:
    moved = frozenset().union(*(i.moves for i in chosen))
    may = frozenset().union(*(i.may for i in chosen)) - moved
    denied = frozenset().union(*(i.denies for i in chosen)) - moved - may
    expected = frozenset().union(*(i.expects for i in chosen)) - moved
    takes = frozenset().union(*(i.disturbs for i in chosen)) - moved - may
    out, disturbed = 1.0, 0.0
    for key, abnormal in p.items():
        if key in moved:
            out *= abnormal
        elif key in expected:
            out *= max(abnormal, NO_SURER)
        elif key in may:  # a measure beside another one is free, as it is without any cause
            disturbed = max(disturbed, 0.0 if key[0] in BESIDE else abnormal)
        elif key in takes and key[0] not in BESIDE:
            late = max(p.get(("comes_after", d), 1.0) for d in (DIRECTIONS if key[1] is None else (key[1],)))
            out, disturbed = out * (1 - abnormal * (1 - late)), max(disturbed, abnormal * late)
        elif key in denied or key[0] not in BESIDE:
            out *= 1 - abnormal
    return out * (1 - (1 - MAY) * disturbed)


def _distinct(chosen: Sequence[Instance]) -> bool:
    """No code twice: its variants and directions are one cause where one is enough."""
    return len({(i.cause.code, i.direction) for i in chosen}) == len(chosen)


def _directed(cause: Cause) -> bool:
    return any(key[-1] in "+-" for key in cause.moves)


def _instance(cause: Cause, direction: Direction | None) -> Instance:
    groups = (cause.moves, cause.may, cause.denies, cause.expects, cause.disturbs)
    return Instance(cause, direction, *(frozenset(k for key in keys for k in _keys(key, direction)) for keys in groups))


def _keys(key: str, direction: Direction | None) -> tuple[Key, ...]:
    """A key of the table as (name, direction) of measures; a signed key of a cause without direction means both."""
    if key[-1] not in "+-":
        return ((key, None),)
    name, sign = key[:-1], key[-1]
    if direction is None:
        return tuple((name, d) for d in DIRECTIONS)
    return ((name, direction if sign == "+" else OTHER[direction]),)
