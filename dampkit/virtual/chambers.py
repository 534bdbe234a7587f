"""Three chambers joined by the paths 0-1, 1-2 and 0-2: sums, differences and the linear step of Newton."""

from __future__ import annotations

import numpy as np

from dampkit.quantities import Array

FROM, TO = np.array([0, 1, 0]), np.array([1, 2, 2])  # chambers that each path joins


def divergence(q: Array) -> Array:
    """Net flow into each chamber from the flows of the paths 0-1, 1-2, 0-2; shapes (3, N)."""
    out = np.empty_like(q)
    out[0] = -q[0] - q[2]
    out[1] = q[0] - q[1]
    out[2] = q[1] + q[2]
    return out


def path_drop(level: Array) -> Array:
    """Difference along the paths 0-1, 1-2, 0-2 of a value held by the chambers; shapes (3, N)."""
    return np.asarray(level.take(FROM, 0) - level.take(TO, 0))


def solve(give: Array, slope: Array, area: Array, stiff: Array, right: Array) -> Array:
    """Solve (diag(give) + graph of slope + stiff a a^T) x = right for a 3x3 system per plant; shapes (3, N)."""
    push = stiff * area
    m00 = give[0] + slope[0] + slope[2] + push[0] * area[0]
    m11 = give[1] + slope[0] + slope[1] + push[1] * area[1]
    m22 = give[2] + slope[1] + slope[2]
    m10 = push[0] * area[1] - slope[0]
    l10 = m10 / m00
    l20 = -slope[2] / m00
    m21 = -slope[1] - l20 * m10
    d1 = m11 - l10 * m10
    l21 = m21 / d1
    y1 = right[1] - l10 * right[0]
    y2 = right[2] - l20 * right[0] - l21 * y1
    out = np.empty_like(right)
    out[2] = y2 / (m22 + l20 * slope[2] - l21 * m21)
    out[1] = y1 / d1 - l21 * out[2]
    out[0] = right[0] / m00 - l10 * out[1] - l20 * out[2]
    return out
