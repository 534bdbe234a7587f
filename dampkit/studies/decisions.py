"""Right and wrong decisions counted over many units whose state is known, and how sure such a share is."""

from __future__ import annotations

from collections.abc import Iterable

from dampkit.frozen import frozen
from dampkit.outcome.decision_record import Action

UNSAFE_FROM = 4.0  # severity from which passing a unit is unsafe


@frozen
class Decisions:
    """`unsafe`: passed although a fault was bad. `needless`: a sound unit to be opened or scrapped."""

    units: int
    sound: int
    bad: int
    unsafe: int
    needless: int
    retests: int


def count_decisions(made: Iterable[tuple[float, Action]]) -> Decisions:
    """From pairs of true severity (0 for a sound unit) and the action of the verdict."""
    pairs = list(made)
    return Decisions(
        units=len(pairs),
        sound=sum(severity == 0 for severity, _ in pairs),
        bad=sum(severity >= UNSAFE_FROM for severity, _ in pairs),
        unsafe=sum(severity >= UNSAFE_FROM and action == "fit" for severity, action in pairs),
        needless=sum(severity == 0 and action in ("rebuild", "replace") for severity, action in pairs),
        retests=sum(action == "retest" for _, action in pairs),
    )


def interval(count: int, of: int) -> tuple[float, float]:
    """The true share's 95 % interval for `count` seen among `of`. Source: [clopper1934]."""
    from scipy.stats import beta

    low = float(beta.ppf(0.025, count, of - count + 1)) if count else 0.0
    high = float(beta.ppf(0.975, count + 1, of - count)) if count < of else 1.0
    return low, high
