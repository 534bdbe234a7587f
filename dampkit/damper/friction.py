"""Friction without a valve model: what the loops themselves say, as a bound and, where they can, as a bracket."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SLOW_M_S, noise_n
from dampkit.damper.take_up import same_speed
from dampkit.frozen import frozen
from dampkit.quantities import Z95, Array, Estimate, median

SHARES = np.linspace(0.05, 0.95, 46)  # of the peak speed, at which both branches of both strokes are read
MIDDLE_SHARE = float(SHARES[-3:].mean())
TAKEN_UP = 0.45  # share of the peak speed from which the accelerating branch has taken up
LATE = 0.2  # share of the peak speed at which the decelerating branch bounds friction
CLOSED_M_S = 0.1  # peak speed up to which one stage alone may show friction: a usual knee lies above; common practice
STAYS = 0.6  # of the extrapolated force that the decelerating branch still has at a tenth of the peak speed ...
STAYS_AT = 0.1  # ... or a valve of low opening force may stand behind it
UNIFORM = 0.95  # of the half-width of a uniform distribution holds 95 % of it
EXPONENTS = (0.5, 1.0, 2.0)  # of hydraulic force against speed: a digressive stack, a leak, a bleed
SLOW_DOUBT = 0.1  # share of a slow pass's half-width that a leak may make, or that rubbing so slow may fall short; common practice, no source
NARROW_SHARE, NARROW_N = 0.5, 10.0  # half-width of a bracket up to which it is given as an estimate; own choice


@frozen
class HalfWidth:
    """Half the difference of the forces out and in at equal shares of the peak speed (SHARES), shape (46,).

    Gas force and cell zero fall out. `late_n`: decelerating branches; `mean_n`: of both branches, in which a lag of
    first order falls out. `static_n`: mean of out and in on the decelerating branches, tension positive: gas force and
    zero, the nearer the slower. `ways`: late and mean force of the two directions, shape (2, 2, 46), gas force in.
    `runs_down`: False of a drive with corners, whose shares below the plateau are passed so fast that springs make the
    force there, not the valves.
    """

    peak_velocity_m_s: float
    late_n: Array
    mean_n: Array
    static_n: Array
    noise_n: float
    ways: Array
    runs_down: bool = True

    @property
    def middle_n(self) -> float:
        """Near the peak speed: friction and mean hydraulic force."""
        return float(self.mean_n[-3:].mean())  # at MIDDLE_SHARE

    @property
    def doubt_n(self) -> float:
        """How far an extrapolation from this loop may be off besides its exponent: noise, and 1 % of its force."""
        return 2 * self.noise_n + 0.01 * self.middle_n

    def late_at(self, share: float) -> float:
        return float(np.interp(share, SHARES, self.late_n))

    def at_rest_n(self, exponent: float) -> float:
        """Extrapolated to zero speed with the hydraulic force growing as speed to an exponent."""
        up = SHARES >= TAKEN_UP
        return float(np.polynomial.polynomial.polyfit(SHARES[up] ** exponent, self.mean_n[up], 1)[0])


@frozen
class FrictionBounds:
    """`at_most_n`: no friction above it leaves such loops. `bracket_n`: low and high, None where only the bound is known."""

    at_most_n: float
    bracket_n: tuple[float, float] | None


def half_width(loop: Loop, resolution_n: float) -> HalfWidth:
    """Of one loop; see HalfWidth. Source: own; closed form for a Coulomb and viscous loop in the tests."""
    branches = [_branches(loop, sign) for sign in (1.0, -1.0)]
    late, early = (0.5 * (branches[0][k] + branches[1][k]) for k in (0, 1))
    static = 0.5 * (branches[0][0] - branches[1][0])
    ways = np.array([(late_n, 0.5 * (late_n + early_n)) for late_n, early_n in branches])
    noise, runs_down = noise_n(loop, resolution_n), loop.velocity_window == 0
    return HalfWidth(loop.peak_velocity_m_s, late, 0.5 * (late + early), static, noise, ways, runs_down)


def friction_bounds(loops: Sequence[Loop], resolution_n: float) -> FrictionBounds:
    """Bound and bracket from all loops; a slow pass brackets it by itself.

    Source: own. Hydraulic force only adds to friction, so the narrowest place bounds it. Below the knee force grows with
    an exponent between 1 and 2, so that two stages bracket it; of one stage alone the exponent may be 0.5 to 2. Where a
    stage does not run down to zero speed nothing shows that the valves are closed: a bound only.
    """
    widths = sorted((half_width(loop, resolution_n) for loop in loops), key=lambda w: w.peak_velocity_m_s)
    at_most = min(min(w.late_at(LATE), w.middle_n) + 2 * w.noise_n for w in widths)
    at_most = max(at_most, 0.0)
    slowest = widths[0]
    if slowest.peak_velocity_m_s < SLOW_M_S:
        middle = slowest.middle_n
        doubt = max(SLOW_DOUBT * middle, 2 * slowest.noise_n)
        low = min(middle - doubt, _without_leak_n(slowest, widths) - 2 * slowest.noise_n)
        return FrictionBounds(max(at_most, middle + doubt), (max(low, 0.0), middle + doubt))
    brackets = [b for b in (_one_stage(slowest), _two_stages(widths)) if b is not None]
    if not brackets:
        return FrictionBounds(at_most, None)
    low, high = max(b[0] for b in brackets), min(b[1] for b in brackets)
    if low > high:  # two ways that do not agree bracket it together
        low, high = min(b[0] for b in brackets), max(b[1] for b in brackets)
    return FrictionBounds(max(at_most, high), (max(low, 0.0), high))


def extrapolated_n(first_n: float, second_n: float, ratio: float, exponent: float) -> float:
    """Force at rest from those at a speed and at `ratio` times it, where the hydraulic part grows as speed to an exponent."""
    return float(first_n - (second_n - first_n) / (ratio**exponent - 1.0))


def _without_leak_n(slow: HalfWidth, widths: Sequence[HalfWidth]) -> float:
    """The slow pass less the most that a leak, straight in speed, may make of it: all of the next stage's rise."""
    later = [w for w in widths if w.peak_velocity_m_s >= SLOW_M_S]
    if not later:
        return slow.at_rest_n(1.0)
    ratio = later[0].peak_velocity_m_s / slow.peak_velocity_m_s
    return extrapolated_n(slow.middle_n, max(later[0].middle_n, slow.middle_n), ratio, 1.0)


@frozen
class Static:
    """Gas force and zero together about the middle of the stroke, tension positive.

    `error_n`: standard uncertainty. `unlike_n`: of what rubbing or leak unlike in the two directions may be of it
    besides, which no fit tells from gas force either.
    """

    force_n: float
    error_n: float
    unlike_n: float


def static_force(loops: Sequence[Loop], resolution_n: float) -> Static:
    """From the slowest stage: a slow pass in full, else where it decelerates to a tenth of its speed.

    There the valves of the two directions may still differ by no more than the force that is left. Unlike rubbing may
    be as much as a slow pass's half-width is doubted; on a drive with corners, where no loop runs down to a standstill,
    all of the half-width may be. Both as of a uniform distribution, by its 95 %. No valve model. Source: own.
    """
    w = min((half_width(loop, resolution_n) for loop in loops), key=lambda w: w.peak_velocity_m_s)
    whole_n = UNIFORM * max(w.middle_n, 0.0) / Z95
    if w.peak_velocity_m_s < SLOW_M_S:
        error_n = max(w.noise_n, float(w.static_n.std()) / 3)
        return Static(median(w.static_n), error_n, SLOW_DOUBT * whole_n)
    at, nearer = (float(np.interp(share, SHARES, w.static_n)) for share in (LATE, 0.5 * LATE))
    if any(loop.velocity_window > 0 for loop in loops):
        return Static(nearer, w.noise_n + whole_n, 0.0)
    hydraulic_n = w.late_at(0.5 * LATE)
    if w.peak_velocity_m_s <= CLOSED_M_S:  # valves closed: at half the speed at most half of the force that speed makes
        hydraulic_n = min(hydraulic_n, max(w.late_at(LATE) - hydraulic_n, 0.0))
    return Static(nearer, w.noise_n + abs(at - nearer) + hydraulic_n / 3**0.5, 0.0)


def friction_estimate(bounds: FrictionBounds, fitted: Estimate | None, slow_pass: bool) -> Estimate | None:
    """Friction as an estimate, or None where only its bound is known.

    With a slow pass the joint fit's, never above the bound, where it is the closer; with the doubt that what rubs at speed
    is what rubs so slow. Else the bracket with the fit's value inside, where it is narrow and does not reach zero.
    """
    loose = np.inf if bounds.bracket_n is None else 0.5 * (bounds.bracket_n[1] - bounds.bracket_n[0])
    if slow_pass and fitted is not None and _within(fitted, bounds.at_most_n) < loose:
        value = min(fitted.value, bounds.at_most_n)
        half = float(np.hypot(fitted.half_width, SLOW_DOUBT * value))
        low, high = (min(fitted.value + side * half, bounds.at_most_n) for side in (-1, 1))
        return Estimate(value, max(low, 0.0), high) if value > 0 else None
    if bounds.bracket_n is None:
        return None
    low, high = bounds.bracket_n[0], min(bounds.bracket_n[1], bounds.at_most_n)
    value = fitted.value if fitted is not None and low <= fitted.value <= high else 0.5 * (low + high)
    half = 0.5 * (high - low)
    narrow = half <= max(NARROW_SHARE * 0.5 * (low + high), NARROW_N)
    return Estimate(value, low, high) if narrow and low > 0 else None


def _within(fitted: Estimate, at_most_n: float) -> float:
    """Half the width that the bounds leave of an estimate."""
    return 0.5 * (min(fitted.high, at_most_n) - max(fitted.low, 0.0))


def _one_stage(width: HalfWidth) -> tuple[float, float] | None:
    """From how one slow loop runs down to zero speed, where no valve can stand behind it."""
    if width.peak_velocity_m_s > CLOSED_M_S or not width.runs_down:
        return None
    at_rest = [width.at_rest_n(exponent) for exponent in EXPONENTS]
    stays = width.late_at(STAYS_AT) >= STAYS * at_rest[1]
    return (min(at_rest) - width.doubt_n, max(at_rest) + width.doubt_n) if stays and min(at_rest) > 0 else None


def _two_stages(widths: Sequence[HalfWidth]) -> tuple[float, float] | None:
    """From the two slowest speeds, where force rises from one to the other with an exponent between 1 and 2."""
    first = widths[0]
    later = [w for w in widths if not same_speed(w.peak_velocity_m_s, first.peak_velocity_m_s)]
    if not later or not (first.runs_down and later[0].runs_down):
        return None
    second = later[0]
    ratio = second.peak_velocity_m_s / first.peak_velocity_m_s
    linear, square = (extrapolated_n(first.middle_n, second.middle_n, ratio, n) for n in (1.0, 2.0))
    between = 0.5 * (1 + 1 / ratio) * MIDDLE_SHARE
    # by itself too: beside a bleed the mean would hide a valve that is open
    for (late_n, at_first), (_, at_second) in zip(_both_and_each(first), _both_and_each(second), strict=True):
        one, two = float(at_first[-3:].mean()), float(at_second[-3:].mean())
        # rises slower than a bleed: the valve is open already
        if extrapolated_n(one, two, ratio, 2.0) > float(np.interp(LATE, SHARES, late_n)) + 2 * first.noise_n:
            return None
        # bends down on the way: a knee lies between
        if float(np.interp(between, SHARES, at_second)) > 0.5 * (one + two) + second.doubt_n:
            return None
    return linear - first.doubt_n, square + first.doubt_n


def _both_and_each(width: HalfWidth) -> Array:
    """Late and mean force, of both directions together and of each; shape (3, 2, 46)."""
    return np.array([(width.late_n, width.mean_n), *width.ways])


def _branches(loop: Loop, sign: float) -> tuple[Array, Array]:
    """Resisting force of one direction against the share of peak speed: decelerating, accelerating; shape (46,) each."""
    speed, force = sign * loop.velocity_m_s / loop.peak_velocity_m_s, sign * loop.mean_force_n
    middle = 0.5 * float(loop.displacement_m.max() + loop.displacement_m.min())
    late = sign * (loop.displacement_m - middle) > 0
    out = []
    for half in (late, ~late):
        rows = (speed > 0) & half
        order = np.argsort(speed[rows])
        out.append(np.interp(SHARES, speed[rows][order], force[rows][order]))
    return out[0], out[1]
