"""The fit against lmfit, a general-purpose fitting library: same points, same model, same start.

Parameters that the fit leaves at a bound stand there for both: lmfit's way with bounds gets stuck near them. How long
each takes is printed by tests.benchmarks.fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import lmfit
import numpy as np
import pytest

from dampkit import read_run
from dampkit.curves.trace import trace
from dampkit.damper.fit import joint_fit
from dampkit.damper.least_squares import Fit, least_squares
from dampkit.damper.model import Model, Prediction
from dampkit.damper.points import Points
from dampkit.quantities import Array

RUNS = Path(__file__).parents[2] / "sample_runs"
NAMES = ("sound_monotube", "sound_twin_tube", "sound_lever_arm", "weak_blowoff")
OFF = 0.05  # of each parameter: the start, up or down from the optimum by turns


@dataclass(frozen=True)
class Task:
    """What both fit: 18 to 21 free parameters on some 2000 points."""

    model: Model
    points: Points
    sigma_n: Array
    start: Array

    @classmethod
    def of(cls, name: str) -> Task:
        run = read_run(RUNS / f"{name}.csv", RUNS / f"{name}.bench.toml")
        joint = joint_fit(trace(run).loops, run.force_resolution_n)
        assert joint is not None
        best = {k: x for k, x in joint.free_values.items() if k not in joint.at_bound}
        fixed = joint.model.fixed | {k: joint.values[k] for k in joint.at_bound}
        factor = 1 + np.where(np.arange(len(best)) % 2, -OFF, OFF)
        return cls(Model(tuple(best), fixed), joint.points, joint.sigma_n, np.array(list(best.values())) * factor)

    def ours(self) -> Fit:
        on = Prediction(self.model, self.points)
        return least_squares(
            lambda p: (on.force(p) - self.points.force_n) / self.sigma_n,
            lambda p: on.jacobian(p) / self.sigma_n[:, None],
            self.start,
            within=0.01,
        )

    def theirs(self, *, exact: bool = False) -> lmfit.minimizer.MinimizerResult:
        """lmfit's, with its finite differences or with our exact Jacobian."""
        on = Prediction(self.model, self.points)

        def residual(given: lmfit.Parameters) -> Array:
            values = np.array([p.value for p in given.values()])
            return np.asarray((self.model.force(values, self.points) - self.points.force_n) / self.sigma_n)

        def jacobian(given: lmfit.Parameters) -> Array:
            return np.asarray(on.jacobian(np.array([p.value for p in given.values()])) / self.sigma_n[:, None])

        parameters = lmfit.Parameters()
        for free, value in zip(self.model.free, self.start, strict=True):
            parameters.add(free.replace(".", "_"), value=float(value))
        return lmfit.minimize(residual, parameters, **({"Dfun": jacobian} if exact else {}))


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_same_optimum_as_lmfit_with_fewer_evaluations(name: str) -> None:
    task = Task.of(name)
    ours, theirs = task.ours(), task.theirs()
    assert ours.converged, ours.why_not
    assert ours.sum_of_squares < float(theirs.chisqr) * (1 + 1e-6)
    assert 5 * (ours.evaluations + ours.rounds) < theirs.nfev
    assert float(task.theirs(exact=True).chisqr) == pytest.approx(float(theirs.chisqr), rel=1e-3)
