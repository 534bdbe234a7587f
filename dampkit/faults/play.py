"""Play: travel at one common force after both reversals, the same at every speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.points import SMOOTH, noise_n, smoothed
from dampkit.damper.take_up import same_speed, static_force_n
from dampkit.damper.uncertainty import row_noise_n
from dampkit.faults.finding import Measure, Span
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Array, Mask, median

PLAY_LIMIT_MM = 0.4  # common practice, no source: play that a hand feels at an eye
FOLLOWS_BELOW_M_S = 0.15  # own: below it a gas-charged rod follows the bench through the slack
READING_MM = 0.08  # standard uncertainty of a travel read off a loop of 512 points
BAND = 4.0  # standard deviations of the smoothed force within which it counts as one level
OF_PEAK = 0.003  # of the peak force, at least: what a cell's resolution and drift leave; common practice
BELOW_FRICTION = 0.5  # the band must be so much narrower than friction, or a void looks alike
RESTS = 1.5  # bands from a level within which a sound unit's force rests at the ends of a stroke; own
ROWS = 2  # of the log between which a fold draws straight lines, at a turn and at its end; own
LEVELS = 41  # force levels tried for the common plateau, at most
AT_TURN_MM = 1.0  # from a turn, within which slack opens: an eye's rubber under friction; common practice, no source
ALIKE = 0.5  # the shorter of the two travels over the longer one, at least; own
ZERO_N = 12.0  # how far a cell's zero may be off its declared one; common practice, no source
MOST_GAS_N = 600.0  # gas force of a unit, where its zero is not declared; common practice, no source
INNER = 0.5  # of the loop's half range about its middle, where a sound unit's force rests nowhere; own choice


def play_measures(test: UnderTest) -> Iterator[Measure]:
    """Travel at one common force after both reversals.

    In a damper the force passes every level between friction out and friction in at once. Only slack lets the bench move
    while the cell's reading rests at one level: nothing is pulled there, so that level is the cell's zero (and the weight
    that hangs on it), after both reversals and alike at every speed. Gas force above friction makes the rod follow the
    bench through the slack: then one reversal shows too little and the other too much, the more the slower, so the mean
    of both is read on faster stages.
    Source: own. Confused with a void (rests at friction level, two levels apart, one direction first) and bubbles (curved).
    """
    read = _read(test)
    if read is None:
        return
    value, error = read
    spans = (Span("rebound", 1e-3 * value), Span("compression", 1e-3 * value))
    yield Measure(
        "play", value, error, "mm", PLAY_LIMIT_MM, "common practice", stage=test.moving[-1].stage.index, spans=spans
    )


def play_of(test: UnderTest) -> float:
    """Play [mm] that other travels hold too; 0 below its limit."""
    read = _read(test)
    return read[0] if read is not None and read[0] > PLAY_LIMIT_MM else 0.0


def rod_follows(test: UnderTest) -> bool:
    """Whether gas force moves the rod against its friction, so that one reversal may show all of the slack.

    Without the cell's zero the gas force is not known: then the rod of every kind that holds its oil together by gas does.
    """
    if test.zero_known:
        return abs(test.unit.taken_out.gas_n) > test.unit.friction_used_n
    return test.facts.gas in ("charge", "unknown")


def _read(test: UnderTest) -> tuple[float, float] | None:
    """Play [mm] with its standard uncertainty; None where no stage can show it."""
    follows = rod_follows(test)
    loops: list[Loop] = []
    for loop in sorted(test.moving, key=lambda loop: loop.peak_velocity_m_s):
        again = any(same_speed(loop.peak_velocity_m_s, other.peak_velocity_m_s) for other in loops)
        if not again and (not follows or loop.peak_velocity_m_s > FOLLOWS_BELOW_M_S):
            loops.append(loop)
    read = [_over_stages([_slack_mm(loop, test, mass) for loop in loops], follows) for mass in _masses_kg(test)]
    return max((r for r in read if r is not None), default=None)


def _over_stages(read: Sequence[float | None], follows: bool) -> tuple[float, float] | None:
    """Play of all stages, from slow to fast, with its standard uncertainty; None where no stage can show it, or stages say both.

    Two speeds show that it is alike at both, so that the shorter of two counts, with their spread; one that could show it
    and does not is enough to rule it out, but not against another that does: a mass that nobody knows may hide it there.
    Where the rod follows, slower stages show more, so that readings that only fall with speed and all show play agree.
    """
    seen = sorted(s for s in read if s is not None)
    if not seen or (len(seen) == 1 and seen[0] > PLAY_LIMIT_MM):
        return None
    middle = seen[(len(seen) - 1) // 2]
    if middle <= PLAY_LIMIT_MM < seen[-1]:
        return None
    falls = max(np.diff([s for s in read if s is not None]), default=0.0) < 2 * READING_MM
    agree = follows and falls and seen[0] > PLAY_LIMIT_MM
    spread = 0.0 if agree else 1.4826 * median(np.abs(np.array(seen) - middle))
    return middle, float(np.hypot(READING_MM, spread / len(seen) ** 0.5))


def _slack_mm(loop: Loop, test: UnderTest, mass_kg: float) -> float | None:
    """Mean travel at the common level after the two reversals; None where the force is too rough or crosses no level.

    Slack opens at both reversals, and alike unless the rod follows: else the shorter of the two is read. A slow stage of a
    sound unit may rest near one level further on, where the valve's force is small: that shows nothing. A dry joint has no
    such force: wherever its force rests, once the spring of its arm has let go, slack is open. Nor does a travel show any
    that is one because the band about the level is wide: at no width, which twice the band tells, there is none.
    """
    follows = rod_follows(test)
    dry = not test.facts.oil
    friction_n = test.unit.friction_used_n
    force = smoothed(loop.mean_force_n - mass_kg * loop.acceleration_m_s2)
    half_range = 0.5 * float(np.ptp(force))
    still = max(BAND * _noise_n(loop, test), test.curves.run.force_resolution_n, OF_PEAK * half_range)
    if still > BELOW_FRICTION * friction_n or half_range < 3 * still:
        return None
    levels = _levels(test, loop, still)
    at_turn, anywhere = _level_mm(loop, force, levels, still, follows)
    best = anywhere if follows or dry else at_turn
    wider = _level_mm(loop, force, levels, 2 * still, follows)[follows or dry] if best > PLAY_LIMIT_MM or dry else best
    if best > PLAY_LIMIT_MM or wider > PLAY_LIMIT_MM:  # noise may part one travel in two that are short
        return best if 2 * best - wider > PLAY_LIMIT_MM else None
    hidden = _hides_zero(test, loop, still) or _inertia_open_n(test, loop) > 2 * still or _blurred(loop)
    return None if hidden or anywhere > PLAY_LIMIT_MM else best


def _level_mm(loop: Loop, force_n: Array, levels: Array, still: float, follows: bool) -> tuple[float, float]:
    """Travel [mm] within so much of a common level after both turns: from the turn on, and anywhere."""
    start = int(np.argmax(force_n))
    x, force = np.roll(loop.displacement_m, -start), np.roll(force_n, -start)
    down = int(np.argmin(force))
    idle = np.abs(force - levels[:, None]) < still
    turns = (_longest(idle[:, :down], x[:down], x.max()), _longest(idle[:, down:], x[down:], x.min()))
    at_turn, anywhere = (_shared_mm(travel, follows) for travel in np.stack(turns, axis=1))
    return at_turn, anywhere


def _shared_mm(travel: Array, follows: bool) -> float:
    """Travel [mm] of the level that shows most of it after both turns, from those of each turn and level, shape (2, L)."""
    shorter, longer = travel.min(axis=0), travel.max(axis=0)
    alike = (shorter > 0) & (follows | (shorter > ALIKE * longer))
    return 1e3 * float(np.where(alike, travel.mean(axis=0), shorter).max(initial=0.0))


def _hides_zero(test: UnderTest, loop: Loop, still: float) -> bool:
    """Whether a sound unit's force rests where the cell reads nothing pulled: gas force as large as friction."""
    if not test.zero_known:
        return False
    static = float(static_force_n(test.unit.taken_out, loop.displacement_m).mean())
    return abs(abs(static) - test.unit.friction_used_n) < RESTS * still


def _blurred(loop: Loop) -> bool:
    """Whether slack at its limit is over within the points that are averaged and the rows that stand between points.

    A triangle's corner may be as short, and a fast stroke at few rows a second.
    """
    x, stage = loop.displacement_m, loop.stage
    points_a_row = x.size * stage.cycles / max(stage.stop - stage.start, 1)
    seen = 1 + SMOOTH + int(np.ceil(ROWS * points_a_row))
    after = [np.roll(x, -int(at))[:seen] for at in (np.argmax(x), np.argmin(x))]
    return max(float(np.ptp(piece)) for piece in after) > 1e-3 * PLAY_LIMIT_MM


def _inertia_open_n(test: UnderTest, loop: Loop) -> float:
    """How far the masses that may hang between cell and damper differ in inertia while slack at its limit is open."""
    x, masses = loop.displacement_m, _masses_kg(test, sure=True)
    turning = np.minimum(float(x.max()) - x, x - float(x.min())) < 1e-3 * PLAY_LIMIT_MM
    return (max(masses) - min(masses)) * float(np.mean(np.abs(loop.acceleration_m_s2[turning])))


def _levels(test: UnderTest, loop: Loop, still: float) -> Array:
    """Levels at which the cell may read nothing pulled: about its declared zero, and about the static force.

    Not near static force plus or less friction, where a sound unit's force rests at the ends of a stroke; nor, further
    from zero, near the loop's own greatest forces.
    """
    taken, reach = test.unit.taken_out, test.unit.friction_used_n
    static = float(static_force_n(taken, loop.displacement_m).mean())
    step = max(still, 2 * ZERO_N / LEVELS)
    beside = step * np.arange(-(LEVELS // 2), LEVELS // 2 + 1)
    tried = static + beside[np.abs(beside) <= BELOW_FRICTION * reach]
    further = np.append(np.arange(-ZERO_N, ZERO_N + step, step), 0.0)
    if not test.zero_known:
        further = _untared(loop, static, step)
    tried = np.concatenate([tried, further])
    rests = np.minimum(np.abs(tried - static - reach), np.abs(tried - static + reach)) < RESTS * still
    return np.asarray(tried[~rests])


def _untared(loop: Loop, static_n: float, step: float) -> Array:
    """Further levels where no zero is declared: the static force less the gas force that may be in it, wherever that lies."""
    tried = static_n + np.arange(0.0, MOST_GAS_N, step)
    high, low = float(loop.mean_force_n.max()), float(loop.mean_force_n.min())
    return np.asarray(tried[np.abs(tried - 0.5 * (high + low)) < INNER * 0.5 * (high - low)])


def _noise_n(loop: Loop, test: UnderTest) -> float:
    """Standard deviation of the smoothed force.

    Rows further apart than points lend their noise to several of them at once, so that it does not show from point to point.
    Of an oil damper, whose force comes through zero slowly, what shows there counts too.
    """
    stage = loop.stage
    averaged = float(max(stage.cycles, SMOOTH * (stage.stop - stage.start) / loop.velocity_m_s.size))
    of_rows = row_noise_n(test.curves.run, stage.start, stage.stop) / float(np.sqrt(averaged))
    if not test.facts.oil:
        return of_rows
    return max(of_rows, noise_n(loop, test.curves.run.force_resolution_n) / float(np.sqrt(SMOOTH)))


def _masses_kg(test: UnderTest, *, sure: bool = False) -> tuple[float, ...]:
    """Mass between cell and damper, whose inertia is read while the slack is open: as declared, or 0 and as fitted.

    Slack itself may look like mass to the fit, so the fitted one is not trusted alone; nor is 0, where it is open, but where
    only `sure` ones are asked for.
    """
    declared, fitted = (test.curves.run.moving_mass_kg if test.loops else 0.0), test.unit.moving_mass_kg
    if declared:
        return (declared,)
    known = fitted is not None and (fitted.low if sure else fitted.value) > 0
    return (0.0, fitted.value) if fitted is not None and known else (0.0,)


def _longest(idle: Mask, x: Array, turn_m: float) -> Array:
    """Longest travel in one piece where each row of the mask (L, N) holds: of pieces that begin at the turn, and of all; shape (2, L)."""
    rows, width = idle.shape[0], x.size + 1
    edges = np.flatnonzero(np.diff(idle.astype(np.int8), axis=1, prepend=0, append=0))  # a start and a stop in turn
    longest = np.zeros((2, rows))
    if edges.size:
        along, begins = np.tile(np.append(x, x[-1]), rows), edges[::2]
        travel = (np.maximum.reduceat(along, edges) - np.minimum.reduceat(along, edges))[::2]
        at_turn = np.abs(along[begins] - turn_m) <= 1e-3 * AT_TURN_MM
        for longest_here, pieces in zip(longest, (at_turn, np.ones_like(at_turn)), strict=True):
            np.maximum.at(longest_here, begins[pieces] // width, travel[pieces])
    return longest
