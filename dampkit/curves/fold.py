"""A stage folded on its cycles: one loop of equal time steps, velocity from the measured motion."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.harmonics import Period, one_period
from dampkit.curves.loop import Loop, Stage
from dampkit.quantities import Array, Mask, median, read_only

POINTS = 512  # of a loop
SAME_PLACE = 1e-6  # of a point: rows one whole period apart are no nearer than rounding
COARSE = 200  # rows a cycle; with fewer a straight line from row to row would cut more than 1e-4 of a sine off
WIDE = 3.0  # times the mean distance between rows: over such a gap a channel is drawn straight
ALIKE = 0.5  # least ratio of the bends at two rows in a row that are no corner's
SETTLE_FROM = 3  # a stage with so many cycles or more leaves its first one out of every mean
LONG_GAP = 0.01  # of a period: a log that is used as it is has a cycle with such a gap left out
BIAS_ROWS = 20_000  # are enough to check the velocity on


def fold(run: Run, stage: Stage) -> Loop:
    """The loop of one stage.

    Displacement, velocity and acceleration: see `one_period`, from the mean over the cycles. Force: each cycle on its
    own, unfiltered but for the mean over the rows that fall on a point.
    Source: own; checked on motions in closed form.
    """
    phase = (run.time_s[stage.start : stage.stop] - run.time_s[stage.start]) * stage.frequency_hz
    place = run.displacement_m[stage.start : stage.stop]
    places, force = _per_cycle(phase, stage.cycles, place, run.force_n[stage.start : stage.stop])
    mean = places.mean(axis=0)
    step = run.displacement_resolution_m / float(np.sqrt(12 * stage.cycles))
    periods = one_period(mean, phase.size / stage.cycles, step)
    biases = [_bias(period, phase, place) for period in periods]
    best = int(np.argmin(np.abs(biases)))
    period = periods[best]
    # slopes round corners off
    stroke = float(np.ptp(period.place_m)) if not period.window else max(stage.stroke_m, float(np.ptp(period.place_m)))
    shift = _rising_middle(period.place_m)
    force, x, v, a = (_later(y, shift) for y in (force, period.place_m, period.velocity_m, period.acceleration_m))
    first = 1 if stage.cycles >= SETTLE_FROM else 0
    whole = _without_gap(run, stage) if run.as_logged else np.ones(stage.cycles, dtype=bool)
    settled = force[first:][whole[first:]] if whole[first:].any() else force[first:]
    return Loop(
        replace(stage, stroke_m=stroke),
        read_only(x),
        read_only(v * stage.frequency_hz),
        read_only(a * stage.frequency_hz**2),
        read_only(settled),
        period.harmonics,
        run_in_force_n=read_only(force[:first]),
        velocity_window=period.window,
        velocity_bias=biases[best],
    )


def _without_gap(run: Run, stage: Stage) -> Mask:
    """True for each cycle in which no rows are missing for longer than a share of the period; shape (cycles,)."""
    t = run.time_s[stage.start : stage.stop]
    steps = np.diff(t)
    gaps = np.flatnonzero(steps > max(1.5 * median(steps), LONG_GAP / stage.frequency_hz))
    whole = np.ones(stage.cycles, dtype=bool)
    for ends in (t[gaps], t[gaps + 1]):
        whole[np.minimum(((ends - t[0]) * stage.frequency_hz).astype(np.intp), stage.cycles - 1)] = False
    return whole


def _per_cycle(phase: Array, cycles: int, *channels: Array) -> list[Array]:
    """Channels on the loop's points, cycle by cycle: each (cycles, POINTS). phase in periods, rising."""
    points, place = np.arange(cycles * POINTS, dtype=np.float64), phase * POINTS
    binned = phase.size >= 4 * points.size
    if binned:  # means of the rows near each point, which lie a little beside it
        bins = np.minimum((place + 0.5).astype(np.intp), points.size - 1)
        counts = np.bincount(bins, minlength=points.size)
        held = counts > 0
        place, *channels = (np.bincount(bins, y, points.size)[held] / counts[held] for y in (place, *channels))  # type: ignore[assignment]
    between = np.interp if binned or phase.size >= COARSE * cycles else _cubic
    return [between(points, *_closed(place, y, points.size)).reshape(cycles, POINTS) for y in channels]


def _closed(place: Array, channel: Array, stop: int) -> tuple[Array, Array]:
    """Rows with the end of the last cycle, which they may lack, as it was one period before, and what begins it again."""
    first = int(np.searchsorted(place, place[-1] - POINTS + SAME_PLACE, side="right"))
    last = int(np.searchsorted(place, stop - POINTS)) + 2
    again = slice(first, max(first, last))
    return np.append(place, place[again] + POINTS), np.append(channel, channel[again])


def _cubic(wanted: Array, place: Array, channel: Array) -> Array:
    """Cubic through the two rows on each side, since a line would cut the tops of a coarse log off; but a line over
    gaps, and where the bends at the two rows differ, as beside a corner, which a cubic would swing about."""
    i = np.clip(np.searchsorted(place, wanted) - 1, 1, place.size - 3)
    p, y = place[i[:, None] + np.arange(-1, 3)], channel[i[:, None] + np.arange(-1, 3)]
    step = np.diff(p, axis=1)
    bend = np.diff(np.diff(y, axis=1) / step, axis=1) / (step[:, 1:] + step[:, :-1])
    share = wanted - p[:, 1]
    before, after = share * (share - step[:, 1]), share + step[:, 0]
    third = (bend[:, 1] - bend[:, 0]) / step.sum(axis=1)
    line = y[:, 1] + share * np.diff(y[:, 1:3], axis=1)[:, 0] / step[:, 1]
    even = (share >= 0) & (share <= step[:, 1]) & (step.max(axis=1) < WIDE * (place[-1] - place[0]) / place.size)
    even &= bend.min(axis=1) * bend.max(axis=1) > ALIKE * (bend**2).max(axis=1)
    return np.where(even, line + before * (bend[:, 0] + after * third), np.interp(wanted, place, channel))


def _rising_middle(place_m: Array) -> float:
    """Share of a period by which the loop starts before its fundamental rises through the middle."""
    angle = float(np.angle(np.fft.rfft(place_m)[1]))  # x ~ cos(phase + angle): rises through zero at -pi/2 - angle
    return ((-0.5 * np.pi - angle) / (2 * np.pi)) % 1.0


def _later(values: Array, shift: float) -> Array:
    """Cycles along the last axis begun `shift` periods later; the part before that closes the same cycle."""
    place = (np.arange(POINTS) + shift * POINTS) % POINTS
    left = np.floor(place).astype(np.intp) % POINTS
    part = place - np.floor(place)
    here, after = values.take(left, axis=-1), values.take((left + 1) % POINTS, axis=-1)
    return np.asarray(here * (1 - part) + after * part)


def _bias(period: Period, phase: Array, place_m: Array) -> float:
    """Share by which the loop's speed in mid-stroke is more than that of the rows themselves.

    The velocity integrated back, at the rows' own phases, against the rows in the middle half of the stroke: the slope
    of the one over the other, out and back apart, the larger.
    """
    some = slice(None, None, max(1, phase.size // BIAS_ROWS))
    own = phase[some] % 1.0
    grid = np.arange(POINTS) / POINTS
    back = np.interp(own, grid, period.place_m, period=1.0)
    rising = np.interp(own, grid, period.velocity_m, period=1.0) > 0
    middle = np.abs(back - 0.5 * (period.place_m.max() + period.place_m.min())) < 0.25 * np.ptp(period.place_m)
    found = [0.0]
    for way in (rising, ~rising):
        b, x = back[way & middle], place_m[some][way & middle]
        b = b - b.mean() if b.size else b
        if b @ x > 0:
            found.append(float(b @ b / (b @ x)) - 1)
    return max(found, key=abs)
