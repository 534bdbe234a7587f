"""How long the fit takes against general-purpose libraries, on the sample runs: python -m tests.benchmarks.fit

- lmfit: same points, model and start, its own finite differences;
- scipy.optimize.least_squares: same points, model, weights, bounds and start, the exact Jacobian given to both.

Processor time, the two by turns, the median of five; the load is printed, since figures mean little on a busy machine.
With OPENBLAS_NUM_THREADS=1 the libraries' threads do not wait for each other.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from functools import partial
from statistics import median

import numpy as np
from scipy.optimize import least_squares

from dampkit.damper.model import Prediction
from dampkit.quantities import Array
from tests.damper.test_lmfit import NAMES, Task

TURNS = 5


def scipys(task: Task) -> int:
    """Residuals and Jacobians that scipy takes."""
    on = Prediction(task.model, task.points)

    def residual(p: Array) -> Array:
        return np.asarray((on.force(p) - task.points.force_n) / task.sigma_n)

    def jacobian(p: Array) -> Array:
        return np.asarray(on.jacobian(p) / task.sigma_n[:, None])

    found = least_squares(residual, task.start, jacobian, x_scale="jac")
    return int(found.nfev + (found.njev or 0))


def seconds(what: Callable[[], object]) -> float:
    begin = time.process_time()
    what()
    return time.process_time() - begin


def main() -> None:
    print("load", *np.round(os.getloadavg(), 2))
    for name in NAMES:
        task = Task.of(name)
        turns = [(seconds(task.ours), seconds(partial(scipys, task)), seconds(task.theirs)) for _ in range(TURNS)]
        ours, scipy, lmfit = (median(column) for column in zip(*turns, strict=True))
        counts = (task.ours().evaluations + task.ours().rounds, scipys(task), task.theirs().nfev)
        print(
            f"{name}: ours {1e3 * ours:.0f} ms, scipy {scipy / ours:.1f} times as long, lmfit {lmfit / ours:.1f} times;"
            f" evaluations {counts[0]}, {counts[1]}, {counts[2]}"
        )


if __name__ == "__main__":
    main()
