"""How much quicker a batch of rides is than a general integrator at the same accuracy.

Processor time, both in one run, medians of three. On one given road for 3 s, to a thousandth of the peak: 100 times
when written, on two shared cores. On a random road, mean figures to half a percent: 250 times.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import numpy as np

from dampkit.needs.simulate import Cases
from tests.needs.test_lanes import ALLOWED, general_ride, our_ride
from tests.needs.test_ride_speed import BATCH, SAMPLE, alike, general, ours


def processor_s(work: Callable[[], object], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return median(spent)


def loosest(cases: Cases) -> tuple[float, float]:
    """The largest tolerance that keeps the figures of a random road to ALLOWED in all of SAMPLE; our own largest error."""
    truth = {i: general_ride(cases, i, 1e-7, settle_s=8.0) for i in SAMPLE}
    found = our_ride(cases)
    worst = max(float(np.abs(found[:, i] / truth[i] - 1).max()) for i in SAMPLE)
    for rtol in (2e-3, 1e-3, 5e-4, 2.5e-4, 1.25e-4):
        if max(float(np.abs(general_ride(cases, i, rtol) / truth[i] - 1).max()) for i in SAMPLE) <= ALLOWED:
            return rtol, worst
    raise AssertionError("no tolerance keeps to what is allowed")


def times() -> dict[str, float]:
    """How many times as long the general integrator takes, of one road by its course and of a random one by its figures."""
    found = alike()
    share = BATCH / len(SAMPLE)
    theirs_s = share * processor_s(lambda: [general(found.cases, i, found.rtol) for i in SAMPLE])
    given = theirs_s / processor_s(lambda: ours(found.cases, found.parts))
    rtol, _ = loosest(found.cases)
    theirs_s = share * processor_s(lambda: [general_ride(found.cases, i, rtol) for i in SAMPLE])
    return {"one road": given, "figures of a road": theirs_s / processor_s(lambda: our_ride(found.cases), 9)}
