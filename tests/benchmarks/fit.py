"""How long the fit takes against general-purpose libraries, on the sample runs.

- lmfit: same points, model and start, with its own finite differences and with the exact Jacobian given to it;
- scipy.optimize.least_squares: same points, model, weights, bounds and start, the exact Jacobian given to both.

Processor time, by turns, the median of five.
With OPENBLAS_NUM_THREADS=1 the libraries' threads do not wait for each other.
"""

from __future__ import annotations

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


def times() -> dict[str, tuple[float, ...]]:
    """By sample run, how many times as long scipy and lmfit take with the exact Jacobian, and lmfit with finite differences."""
    found = {}
    for name in NAMES:
        task = Task.of(name)
        peers = (task.ours, partial(scipys, task), partial(task.theirs, exact=True), task.theirs)
        turns = [[seconds(peer) for peer in peers] for _ in range(TURNS)]
        ours, *theirs = (median(column) for column in zip(*turns, strict=True))
        found[name] = tuple(each / ours for each in theirs)
    return found
