"""The fit against lmfit, a general-purpose fitting library: same points, same model, same start.

Parameters that the fit leaves at a bound stand there for both: lmfit's way with bounds gets stuck near them.
"""

from __future__ import annotations

import time
from pathlib import Path

import lmfit
import numpy as np
import pytest

from dampkit import read_run
from dampkit.curves.trace import trace
from dampkit.damper.fit import joint_fit
from dampkit.damper.least_squares import least_squares
from dampkit.damper.model import Model, Prediction
from dampkit.quantities import Array

RUNS = Path(__file__).parents[2] / "sample_runs"
NAMES = ("sound_monotube", "sound_twin_tube", "sound_lever_arm", "weak_blowoff")
TURNS = 5  # of each by turns; the quickest counts
OFF = 0.05  # of each parameter: the start, up or down from the optimum by turns


def both(name: str) -> tuple[float, float]:
    """Relative difference of the two least sums of squares, and lmfit's processor time over ours."""
    run = read_run(RUNS / f"{name}.csv", RUNS / f"{name}.bench.toml")
    joint = joint_fit(trace(run).loops, run.force_resolution_n)
    assert joint is not None
    model, points, sigma = joint.model, joint.points, joint.sigma_n
    best = joint.fit.parameters
    model = Model(
        tuple(name for i, name in enumerate(model.free) if i not in joint.fit.at_bound),
        {**model.fixed, **{model.free[i]: float(best[i]) for i in joint.fit.at_bound}},
    )
    best = np.delete(best, joint.fit.at_bound)
    start = best * (1 + np.where(np.arange(best.size) % 2, -OFF, OFF))

    def ours() -> float:
        on = Prediction(model, points)
        return least_squares(
            lambda p: (on.force(p) - points.force_n) / sigma, lambda p: on.jacobian(p) / sigma[:, None], start
        ).sum_of_squares

    def by_name(given: lmfit.Parameters) -> Array:
        return np.asarray((model.force(np.array([p.value for p in given.values()]), points) - points.force_n) / sigma)

    parameters = lmfit.Parameters()
    for free, value in zip(model.free, start, strict=True):
        parameters.add(free.replace(".", "_"), value=float(value))
    ours_s, theirs_s = [], []
    for _ in range(TURNS):
        begin = time.process_time()
        least = ours()
        middle = time.process_time()
        theirs = lmfit.minimize(by_name, parameters)
        ours_s.append(middle - begin)
        theirs_s.append(time.process_time() - middle)
    ratio = min(theirs_s) / min(ours_s)
    print(f"\n{name}: lmfit over ours, processor time: {ratio:.1f}; {theirs.nfev} evaluations of lmfit's")
    return least / float(theirs.chisqr) - 1, ratio


@pytest.mark.slow
def test_same_optimum_as_lmfit_about_ten_times_as_fast() -> None:
    """The fit as the tool makes it, 18 to 21 parameters; paired, so that a busy machine slows both alike."""
    found = [both(name) for name in NAMES]
    assert max(abs(difference) for difference, _ in found) < 1e-6
    assert float(np.median([ratio for _, ratio in found])) > 8  # 10.2 measured on a quiet machine
