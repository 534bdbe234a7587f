"""What the rows show about the load cell: clipped, standing still, reading one way only, a zero that drifts."""

from __future__ import annotations

import numpy as np

from dampkit.bench.copies import chance_equal
from dampkit.bench.run import Quality, Run
from dampkit.quantities import Array, Mask, distinct, median, medians, number, quantiles, stretches

CHANCE = 0.01  # of one such run of equal readings in the whole log by noise alone
NOISY = 0.3  # share of equal neighbours up to which standing still is told from a coarse or quiet channel
MOST_AGAIN = 0.7  # chance of one more equal reading after two that is put down to a quiet force
PLACES = 3  # so many times at the very same reading, or the cell is not called full
MOVING = 0.004  # share of the travel that the bench must cover meanwhile
SPEED_ROWS = 5  # to each side, over which the speed of the bench is taken
FAST = 0.1  # of the top speed: rows that count as moving one way
ONE_WAY, OTHER_WAY = 0.6, 0.1  # share of such rows at the very end of the readings: at least this way, at most that
FEWEST_ROWS = 24
REST_S, FEWEST_BLOCKS = 0.03, 3  # a rest is at least so many blocks of so long
STILL, SETTLED = 0.002, 5e-4  # share of the travel within a block at rest, and between the middles of such blocks
DRIFT_N, DRIFT_SHARE = 15.0, 0.01  # least change of the reading at rest that is said: newtons, share of all forces
CERTAIN = 4.0  # standard errors
WARMED_K = 10.0  # from here a change may well be that of a gas charge


def cell_checks(run: Run) -> list[Quality]:
    """A remark for each flaw of the load cell."""
    if not np.ptp(run.force_n) > 0:
        return []
    return _one_way(run) or [*_standing_still(run), *_zero_drift(run)]


def _one_way(run: Run) -> list[Quality]:
    """The very same reading, the end of all readings, through nearly every stroke one way, and a force the other way.

    A side without damping still has friction, noise and the rise of gas force in its readings, so they are not equal;
    with a coarse cell they may be, and only a reading of zero (where it is declared) is no friction. Source: own.
    """
    k = SPEED_ROWS
    if run.rows_used < 4 * FEWEST_ROWS:
        return []
    force = run.force_n[k:-k]
    both = float(force.min()), float(force.max())
    ends = [end_n for end_n in both if np.count_nonzero(force == end_n) > ONE_WAY * FEWEST_ROWS]
    if not ends:
        return []
    speed = run.displacement_m[2 * k :] - run.displacement_m[: -2 * k]
    speed /= run.time_s[2 * k :] - run.time_s[: -2 * k]
    least = FAST * float(quantiles(np.abs(speed), [0.995])[0])
    out, back = force[speed > least], force[speed < -least]
    if min(out.size, back.size) < FEWEST_ROWS:
        return []
    for dead, live, words in ((out, back, "pulled out"), (back, out, "pushed in")):
        for end_n in ends:
            share = float((dead == end_n).mean())
            if share > ONE_WAY and float((live == end_n).mean()) < OTHER_WAY and _is_no_friction(run, end_n):
                return [_one_way_said(words, end_n, share)]
    return []


def _is_no_friction(run: Run, end_n: float) -> bool:
    """Whether noise would have told the readings of a dead side apart, or the reading is that of no load."""
    if chance_equal(np.where(run.force_n == end_n, np.nan, run.force_n)) < 1:
        return True
    return run.zero_known and abs(end_n) <= run.force_resolution_n


def _one_way_said(words: str, end_n: float, share: float) -> Quality:
    return Quality(
        "one_way_cell",
        "bad",
        f"While the rod is {words} the force reads exactly {number(end_n)} N in {100 * share:.0f} % of the rows, and it"
        " works the other way: cell or amplifier reads one way only, so that side of the unit was not measured. Set"
        " the amplifier's range to both signs, see that the reading goes up and down when you pull and push by hand,"
        " and test again.",
    )


def _standing_still(run: Run) -> list[Quality]:
    """Readings of force that stay exactly the same while the bench moves, for longer than noise would let them."""
    force = run.force_n
    same = force[1:] == force[:-1]
    share = float(same.mean())
    if not 0 < share < NOISY or not np.ptp(force) > 0:
        return []
    begin, end = stretches(same)
    again = float(np.count_nonzero(end - begin > 1)) / begin.size  # a quiet, slow force stays equal more often
    longest_by_chance = 2 + int(np.log(CHANCE / same.size) / np.log(min(max(share, again), MOST_AGAIN)))
    keep = end - begin + 1 > longest_by_chance
    begin, end = begin[keep], end[keep]
    travel = np.ptp(run.displacement_m)
    keep = np.array(
        [np.ptp(run.displacement_m[a : b + 1]) > MOVING * travel for a, b in zip(begin, end, strict=True)], dtype=bool
    )
    begin, end = begin[keep], end[keep]
    at = force[begin]
    full = (at == force.max()) | (at == force.min())
    out = [_full_scale(at[at == v], (end - begin + 1)[at == v]) for v in distinct(at[full])]
    held = [_held(run, begin[~full], (end - begin + 1)[~full])] if (~full).any() else []
    return [q for q in [*out, *held] if q is not None]


def _full_scale(at: Array, rows: Array) -> Quality | None:
    if at.size < PLACES:
        return None
    return Quality(
        "force_clipped",
        "bad",
        f"The force stays at exactly {number(float(at[0]), 4)} N for up to {int(rows.max())} rows in {at.size} places:"
        " the load cell or its amplifier is at the end of its range and the peaks are cut off."
        " Choose a larger range and test again.",
    )


def _held(run: Run, begin: Array, rows: Array) -> Quality:
    longest = int(np.argmax(rows))
    share = float(rows.sum()) / run.rows_used
    return Quality(
        "force_held",
        "bad" if share > 0.01 else "warning",
        f"The force reading stands still in {rows.size} places while the bench moves, {100 * share:.1f} % of the rows,"
        f" the longest for {1000 * float(rows[longest]) * run.sample_interval_s:.0f} ms"
        f" at {number(float(run.time_s[int(begin[longest])]), 4)} s. Check plug, cable and logger.",
    )


def _zero_drift(run: Run) -> list[Quality]:
    """The reading at rest against time; place in the stroke and the way of the motion before count besides.

    Friction holds what way the bench last went, gas what place it stopped at. Source: own, least squares.
    """
    found = _rests(run)
    if found.shape[0] < 4:
        return []
    time_s, place_m, way, force_n = found.T
    parts = [np.ones(time_s.size), time_s - time_s.mean()]
    parts += [part for part in (place_m, way) if np.ptp(part) > STILL * np.ptp(run.displacement_m)]
    columns = np.stack(parts, axis=1)
    free = time_s.size - columns.shape[1]
    if free < 2 or np.linalg.matrix_rank(columns) < columns.shape[1]:
        return []
    fitted, *_ = np.linalg.lstsq(columns, force_n, rcond=None)
    scatter_n = float(np.sqrt(np.sum((force_n - columns @ fitted) ** 2) / free))
    span_s = float(np.ptp(time_s))
    error_n = span_s * scatter_n * float(np.sqrt(np.linalg.inv(columns.T @ columns)[1, 1]))
    drift_n = span_s * float(fitted[1])
    if abs(drift_n) < max(DRIFT_N, DRIFT_SHARE * float(np.ptp(run.force_n)), CERTAIN * error_n):
        return []
    t = run.temperature_c
    warmed = t is not None and float(np.ptp(t)) > WARMED_K and (drift_n < 0 or not run.direction_known)
    return [
        Quality(
            "zero_drifts",
            "note" if warmed else "warning",
            f"At rest in like places the force reads {abs(drift_n):.0f} N {'more' if drift_n > 0 else 'less'} after"
            f" {span_s:.0f} s than before: the cell's zero drifts, or a gas charge has warmed. Let cell and amplifier"
            " warm up, and read the cell with nothing fitted before and after.",
        )
    ]


def _rests(run: Run) -> Array:
    """Rests after a motion: time [s], place [m], way of the motion before (+1 or -1), force [N]; shape (rests, 4)."""
    rows = max(4, round(REST_S / run.sample_interval_s))
    blocks = run.rows_used // rows
    x = run.displacement_m[: blocks * rows].reshape(blocks, rows)
    still: Mask = np.ptp(x, axis=1) < STILL * np.ptp(run.displacement_m)
    middle = x.mean(axis=1)
    force = np.zeros(blocks)
    force[still] = medians(run.force_n[: blocks * rows].reshape(blocks, rows)[still])
    travel = float(np.ptp(run.displacement_m))
    settled_m = max(SETTLED * travel, 2 * run.displacement_resolution_m)  # a slow turn is no rest
    out = [
        (run.time_s[a * rows], middle[a:b].mean(), np.sign(middle[a] - middle[a - 1]), median(force[a + 1 : b]))
        for a, b in zip(*stretches(still), strict=True)
        if a > 0 and b - a >= FEWEST_BLOCKS and np.ptp(middle[a + 1 : b]) < settled_m
    ]
    return np.array(out, dtype=np.float64).reshape(-1, 4)
