"""Statistical tolerance interval: the limits that hold a share of all good units, with a stated confidence."""

from __future__ import annotations

import math

import numpy as np

from dampkit.quantities import Array

NODES = 200  # of the integral over where the sample mean may lie
FARTHEST = 8.0  # standard errors of the mean


def two_sided_k(count: int, share: float = 0.95, confidence: float = 0.95) -> float:
    """Factor k: mean +/- k s of `count` normal readings holds `share` of all with `confidence`. Exact.

    Source: [iso16269] (unknown mean and deviation). Raises ValueError for fewer than 2 readings or a bad share.
    """
    from scipy.optimize import brentq
    from scipy.special import chndtrix, gammaincc, ndtri

    _check(count, share, confidence)
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    z = 0.5 * FARTHEST * (nodes + 1)  # standard errors of the mean from the true one
    density = FARTHEST * weights * np.exp(-0.5 * z * z) / math.sqrt(2 * math.pi)  # both sides
    reach: Array = np.sqrt(chndtrix(share, 1.0, z * z / count))  # half-width that holds the share about that mean
    freedom = count - 1

    def sure(k: float) -> float:
        return float(density @ gammaincc(0.5 * freedom, 0.5 * freedom * (reach / k) ** 2)) - confidence

    guess = float(ndtri(0.5 * (1 + share)))
    return float(brentq(sure, 0.5 * guess, 1e4 * guess))


def _check(count: int, share: float, confidence: float) -> None:
    if count < 2 or not 0 < share < 1 or not 0 < confidence < 1:
        raise ValueError(f"{count} readings, share {share}, confidence {confidence}: at least 2, between 0 and 1")
