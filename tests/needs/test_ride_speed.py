"""How much quicker a batch is than a general integrator at the same accuracy, in processor time, in one run."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from dampkit.needs.corner import GRAVITY_M_S2
from dampkit.needs.simulate import Cases, Motion, cases_of, half_step_times, run_over
from dampkit.needs.wheel_curve import curves_from
from dampkit.quantities import Array
from tests.needs.made import SALOON
from tests.needs.test_ride import digressive

BATCH, SECONDS, SEEN_S = 64, 3.0, 0.012
SAMPLE = (0, 21, 42, 63)  # cases done by the general integrator; its time is counted BATCH / len(SAMPLE) times
RATES = np.linspace(20e3, 40e3, BATCH)
SHARES = np.linspace(0.6, 1.6, BATCH)
ALLOWED = 1e-3  # of the peak, in suspension travel and in tyre force


def height(t: Array) -> Array:
    return np.asarray(0.02 * np.sin(2 * np.pi * 1.5 * t) * np.sin(2 * np.pi * 7 * t))


def batch() -> Cases:
    return cases_of(SALOON, curves_from(digressive, SALOON.motion_ratio).scaled(SHARES), RATES)


def general(cases: Cases, i: int, rtol: float) -> Array:
    """Travel and tyre force of one case by solve_ivp with its usual method; force from the same table, in plain floats."""
    ms, mu, k, kt = (
        float(v[i]) for v in (cases.sprung_mass_kg, cases.unsprung_mass_kg, cases.wheel_rate_n_m, cases.tyre_rate_n_m)
    )
    table, step = cases.curves.force_n[i].tolist(), cases.curves.step_m_s
    least = -(ms + mu) * GRAVITY_M_S2
    middle, last = (len(table) - 1) // 2, len(table) - 2
    from math import pi, sin

    def rate(t: float, y: Array) -> list[float]:
        body, wheel, body_speed, wheel_speed = y
        place = (body_speed - wheel_speed) / step + middle
        cell = min(max(int(place), 0), last)
        up = k * (wheel - body) - table[cell] - (place - cell) * (table[cell + 1] - table[cell])
        tyre = max(kt * (0.02 * sin(2 * pi * 1.5 * t) * sin(2 * pi * 7 * t) - wheel), least)
        return [body_speed, wheel_speed, up / ms, (tyre - up) / mu]

    seen = np.linspace(SEEN_S, SECONDS, round(SECONDS / SEEN_S))
    y = solve_ivp(rate, (0, SECONDS), np.zeros(4), t_eval=seen, rtol=rtol, atol=1e-3 * rtol).y
    return np.array([y[0] - y[1], np.maximum(kt * (height(seen) - y[1]), least)])


def ours(cases: Cases, parts: int) -> Motion:
    step = SEEN_S / parts
    return run_over(cases, height(half_step_times(SECONDS, step)), step)


def error(found: Array, wanted: Array) -> float:
    """Largest over both quantities, of the peak of each."""
    return float((np.abs(found - wanted).max(axis=1) / np.abs(wanted).max(axis=1)).max())


def processor_s(work: Callable[[], object], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


@pytest.mark.slow
def test_a_batch_of_64_is_far_quicker_than_solve_ivp_at_a_thousandth() -> None:
    """Each side with the largest step or tolerance that keeps to ALLOWED in all cases looked at.

    Measured 51 to 53 times on two shared cores, 3 runs; the limit below leaves room for a busy machine.
    """
    cases = batch()
    truth = {i: general(cases, i, 1e-9) for i in SAMPLE}

    def our_error(parts: int) -> float:
        run = ours(cases, parts)
        both = np.stack([run.travel_m, run.tyre_force_n])[:, parts - 1 :: parts]
        return max(error(both[..., i], truth[i]) for i in SAMPLE)

    parts = next(n for n in range(4, 25) if our_error(n) <= ALLOWED)
    tolerances = 1e-3 * 2.0 ** -np.arange(12)
    rtol = next(r for r in tolerances if max(error(general(cases, i, r), truth[i]) for i in SAMPLE) <= ALLOWED)
    theirs_s = processor_s(lambda: [general(cases, i, rtol) for i in SAMPLE]) * BATCH / len(SAMPLE)
    ours_s = processor_s(lambda: ours(cases, parts))
    print(
        f"step {1e3 * SEEN_S / parts:.2f} ms, {ours_s:.3f} s; rtol {rtol:.1e}, {theirs_s:.2f} s: {theirs_s / ours_s:.0f} times"
    )
    assert theirs_s > 40 * ours_s
