"""How much quicker a batch of rides is than a general integrator at the same accuracy: python -m tests.benchmarks.ride

Processor time, both in one run, the quickest of three; 51 to 53 times on two shared cores when written.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from tests.needs.test_ride_speed import BATCH, SAMPLE, SEEN_S, alike, general, ours


def processor_s(work: Callable[[], object], times: int = 3) -> float:
    spent = []
    for _ in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


def main() -> None:
    found = alike()
    theirs_s = processor_s(lambda: [general(found.cases, i, found.rtol) for i in SAMPLE]) * BATCH / len(SAMPLE)
    ours_s = processor_s(lambda: ours(found.cases, found.parts))
    print(f"step {1e3 * SEEN_S / found.parts:.2f} ms, {ours_s:.3f} s; rtol {found.rtol:.1e}, {theirs_s:.2f} s")
    print(f"{theirs_s / ours_s:.0f} times as quick")


if __name__ == "__main__":
    main()
