"""Measures of the valves against the known-good reference: readings beside their window, and the part that makes the difference."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from dampkit.expected.differs import Differs, Part
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, Array

OPEN_RATIO = 1.5  # own: a bleed so much larger than when good is a valve held off its seat; drill wear stays far below
OPEN_ERROR = 0.1  # standard uncertainty of that ratio; own
EARLY_RATIO = 0.75  # of the good blow-off force: preload is set within 10 to 15 %; common practice, from memory
KNEE_ERROR = (
    0.05  # standard uncertainty of that ratio: knee as fitted, and as drawn from the reference's few points; own
)
SWAP_GAIN = 4.0  # own: the forces fit the other direction's reference so many times better
EFFECTS: tuple[tuple[str, Part, float], ...] = (
    ("leak_takes", "leak", -1.0),
    ("bleed_adds", "bleed", 1.0),
    ("bleed_takes", "bleed", -1.0),
    ("blowoff_takes", "blowoff", -1.0),
)


def valve_measures(test: UnderTest) -> Iterator[Measure]:
    """For each direction that its reference covers; and whether each makes the other's force.

    Source: laminar clearance beside orifice and blow-off, [merritt1967] ch. 2 and 3; the parts are fitted side by side.
    """
    for found in test.differs.values():
        yield from _readings(found)
        opens = bool(np.isfinite(found.valve.blowoff_force))  # of a blow-off that this test never reached it shows none
        yield from (_effect(found, *effect) for effect in EFFECTS if opens or effect[1] != "blowoff")
        yield _narrow(found)
        yield from _knee(found)
        yield _measure(found, "bleed_ratio", _ratio(found, "bleed"), OPEN_ERROR, OPEN_RATIO)
    yield from _short(test)
    yield from _swapped(test)


def _measure(d: Differs, key: str, value: float, error: float, limit: float) -> Measure:
    return Measure(key, value, error, "", limit, "statistical", direction=d.direction, direct=False)


def _ratio(d: Differs, part: Part) -> float:
    return d.ratio(part) if part in d.changed else 1.0


def _readings(d: Differs) -> Iterator[Measure]:
    """Worst reading under and over its window, in allowances. No model."""
    error = np.maximum(d.error_n / d.allowance_n, 0.02)
    for key, out in (("force_low", -d.out), ("force_high", d.out)):
        at = int(np.argmax(out))
        yield Measure(
            key, float(out[at]), float(error[at]), "", 1.0, "own reference", direction=d.direction,
            velocity_m_s=float(d.velocity_m_s[at]),
            figures=(("measured_n", float(d.measured_n[at])), ("wanted_n", float(d.wanted_n[at]))),
        )  # fmt: skip


def _effect(d: Differs, key: str, part: Part, sign: float) -> Measure:
    """Force that a changed part adds or takes."""
    return _most(d, key, sign * _added_n(d, part), np.full_like(d.wanted_n, d.ratio(part)))


def _narrow(d: Differs) -> Measure:
    """Force that a leak smaller than when good adds, beyond a blow-off set higher, in windows.

    Wear adds leak, so such a one is a narrow passage of the bleed, blocked; but the whole valve firmer is a setting.
    """
    set_higher = max(float(np.max(_added_n(d, "blowoff") / d.allowance_n)), 0.0)
    return _most(d, "narrow_adds", _added_n(d, "leak") - set_higher * d.allowance_n, d.passes_ratio)


def _added_n(d: Differs, part: Part) -> Array:
    return d.effect_n(part) if part in d.changed else np.zeros_like(d.wanted_n)


def _most(d: Differs, key: str, effect: Array, ratio: Array) -> Measure:
    """A part's effect where that is most, in percent of the reference."""
    at = int(np.argmax(effect / d.allowance_n))
    share = 100 / max(d.wanted_n[at], 1.0)  # a reference force may be zero
    doubt = float(share * np.hypot(d.error_n[at], d.left_n[at]))
    return Measure(
        key, float(share * effect[at]), doubt, "%", float(share * d.allowance_n[at]), "own reference",
        direction=d.direction, velocity_m_s=float(d.velocity_m_s[at]), direct=False,
        figures=(
            ("ratio", float(ratio[at])),
            ("measured_n", float(d.measured_n[at])),
            ("wanted_n", float(d.wanted_n[at])),
        ),
    )  # fmt: skip


def _knee(d: Differs) -> Iterator[Measure]:
    """Blow-off force over the good one's. Where the valve is steep above the knee the force may stay in its window."""
    if np.isfinite(d.valve.blowoff_force):
        ratio = _ratio(d, "blowoff")
        yield Measure(
            "opens_at",
            ratio,
            KNEE_ERROR,
            "",
            EARLY_RATIO,
            "common practice",
            "below",
            direction=d.direction,
            direct=False,
        )


def _short(test: UnderTest) -> Iterator[Measure]:
    """Worst reading under its reference with what rubs taken off, in allowances. No model.

    Friction adds the same newtons at every speed and both ways, so no more of it than the lesser of what the two slowest
    readings are over; a blow-off that opens early takes where friction hides it. Source: own, from Coulomb friction.
    """
    if len(test.differs) < len(DIRECTIONS):
        return
    over = {d: x.measured_n - x.wanted_n for d, x in test.differs.items()}
    least = min(DIRECTIONS, key=lambda d: float(over[d][0]))
    rubs = max(float(over[least][0]), 0.0)
    rubs_error = float(test.differs[least].error_n[0]) if rubs > 0 else 0.0
    for direction, d in test.differs.items():
        short = (rubs - over[direction]) / d.allowance_n
        at = int(np.argmax(short))
        error = float(np.hypot(d.error_n[at], rubs_error) / d.allowance_n[at])
        yield Measure(
            "short_of_rubbing", float(short[at]), max(error, 0.02), "", 1.0, "own reference", direction=direction,
            velocity_m_s=float(d.velocity_m_s[at]),
            figures=(("measured_n", float(d.measured_n[at] - rubs)), ("wanted_n", float(d.wanted_n[at]))),
        )  # fmt: skip


def _swapped(test: UnderTest) -> Iterator[Measure]:
    """Readings against their own and against the other direction's reference, root mean square in allowances."""
    if len(test.differs) < 2:
        return
    r, c = test.differs["rebound"], test.differs["compression"]
    if r.wanted_n.size != c.wanted_n.size:
        return
    crossed = [(a.measured_n - b.wanted_n) / b.allowance_n for a, b in ((r, c), (c, r))]
    now, swapped = (float(np.sqrt(np.mean(np.concatenate(x) ** 2))) for x in ([r.out, c.out], crossed))
    yield Measure("off_own", now, 0.1, "", 1.0, "own reference")
    yield Measure("off_other", swapped, 0.1, "", 1.0, "own reference", "below")
    yield Measure("own_over_other", now / max(swapped, 1e-3), 0.5, "", SWAP_GAIN, "statistical")
