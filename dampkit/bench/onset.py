"""How far the force channel lags, from the moments at which a resting bench begins to move."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Run
from dampkit.frozen import frozen
from dampkit.quantities import Array, median

REST_S = 0.06  # so long the bench must have stood still
LOOK_S = 0.05  # and so long after it the channels are looked at
AT_ONCE_S = 3.6e-3  # a start in which the motion takes longer to show itself times nothing
STAYS = 0.5  # share of the lag that must be left at a start without any travel, or it is a travel and no time
STANDS_OUT = 5.0  # standard deviations of the rest: what has left it for two rows in a row
OWN_RAMP = 0.05  # share of the travel within the look that is the first, even part of a start
FEWEST = 3  # starts; fewer time nothing
AGREE_ROWS, AGREE_S = 0.8, 1e-3  # all starts must show the same lag, within the larger of these, or it is no delay
OWN_LAG_S = 0.7e-3  # what the unit's own spring adds to a start, as standard uncertainty; own, from made-up units
CHECKED = 20_000_000  # rows; more are not looked at for rests


@frozen
class ForceDelay:
    """Force behind displacement: median over the starts, their scatter and their number."""

    delay_s: float
    standard_error_s: float
    starts: int


def force_delay(run: Run) -> ForceDelay | None:
    """The lag of the force channel, or None where too few starts from rest time it.

    A channel delay is one time at every start; slack, air and soft bushes hold the force back by a travel, so slow
    starts then lag more than quick ones and None is returned. Source: own; checked on the virtual bench, good to
    one sample interval and what the unit's own spring adds: up to 1 ms, at a soft lever-arm up to 2 ms too late.
    """
    if run.rows_used > CHECKED:
        return None
    lags = np.array([found for start in _starts(run) if (found := _lag(run, start)) is not None])
    if len(lags) < FEWEST:
        return None
    lag, ramp = lags.T
    middle = median(lag)
    spread = 1.4826 * median(np.abs(lag - middle))
    parts = (1.2533 * spread / np.sqrt(lag.size), run.sample_interval_s / 12**0.5, OWN_LAG_S)
    error = float(np.linalg.norm(parts))
    if float(np.abs(lag - middle).max()) > max(AGREE_ROWS * run.sample_interval_s, AGREE_S):
        return None
    at_once = float(np.polyfit(ramp, lag, 1)[1])
    if abs(middle) > 3 * error and at_once / middle < STAYS:
        return None
    return ForceDelay(middle, error, int(lag.size))


def _starts(run: Run) -> list[int]:
    """Rows at which a rest of at least `REST_S` ends."""
    rows = max(4, round(REST_S / run.sample_interval_s))
    blocks = run.rows_used // rows
    if blocks < 4:
        return []
    x = run.displacement_m[: blocks * rows].reshape(blocks, rows)
    moved = x.max(axis=1) - x.min(axis=1)
    still = moved < 1e-3 * float(np.ptp(run.displacement_m))
    ends = np.flatnonzero(still[:-1] & ~still[1:])
    return [int(row) for row in (ends + 1) * rows]


def _lag(run: Run, start: int) -> tuple[float, float] | None:
    """Force onset minus motion onset [s] about one row, and how long the motion took to show itself."""
    interval = run.sample_interval_s
    before, after = round(REST_S / interval), round(LOOK_S / interval)
    begin = max(0, start - before)
    window = slice(begin, start + 2 * after)
    t, x, f = run.time_s[window], run.displacement_m[window], run.force_n[window]
    rest = max(3, before // 2)
    if t.size < 2 * rest:
        return None
    moved, pulled = _away(x, rest, run.displacement_resolution_m), _away(f, rest, run.force_resolution_n)
    seen_x, seen_f = _leaves(moved), _leaves(pulled)
    if seen_x is None or seen_f is None or seen_x <= rest or seen_f <= rest:
        return None
    motion = _ramp_began(t, np.abs(x - x[:rest].mean()), seen_x)
    ramp = float(t[seen_x]) - motion
    if not 0 < ramp < AT_ONCE_S or abs(float(t[seen_f]) - motion) > LOOK_S:
        return None
    return float(t[seen_f]) - 0.5 * interval - motion, ramp


def _away(values: Array, rest: int, resolution: float) -> Array:
    """Distance from the mean of the rest in standard deviations of the rest."""
    sigma = max(float(values[:rest].std()), resolution / 12**0.5, 1e-12)
    return np.asarray(np.abs(values - values[:rest].mean()) / sigma)


def _leaves(away: Array) -> int | None:
    """First row from which two in a row stand out."""
    out = away > STANDS_OUT
    both = np.flatnonzero(out[:-1] & out[1:])
    return int(both[0]) if both.size else None


def _ramp_began(t: Array, travel: Array, seen: int) -> float:
    """When a motion of even acceleration began: travel's square root is a straight line in time."""
    early = np.flatnonzero(travel[seen:] > OWN_RAMP * travel[seen:].max())
    stop = seen + max(3, int(early[0]) if early.size else 3)
    root = np.sqrt(travel[seen:stop])
    slope, _ = np.polyfit(t[seen:stop] - t[seen], root, 1)
    return float(t[seen] - root[0] / slope) if slope > 0 else float(t[seen])
