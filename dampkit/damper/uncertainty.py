"""Covariance of the fitted parameters from blocks of the loops, since points inside a cycle are not independent."""

from __future__ import annotations

import numpy as np

from dampkit.damper.fit import JointFit
from dampkit.quantities import Array, Index

LEAST_LEFT = 1e-3  # of the information on a combination of parameters that must be left without a block


def covariance(joint: JointFit) -> Array:
    """Covariance (K, K) of the free parameters; rows of parameters at a bound are zero.

    Two parts added: bench noise, as if points were independent; and what the model leaves over, by a jackknife whose
    blocks are the half-strokes' branches (stage, direction, before or after mid-stroke). Inside a block left-over
    force may be correlated in any way. The change of the parameters without a block is taken to first order.
    Source: [white1980] and the delete-a-group jackknife of [efron1982].
    """
    fit = joint.fit
    size = np.linalg.norm(fit.jacobian, axis=0)
    free = [i for i in range(fit.parameters.size) if i not in fit.at_bound and size[i] > 0]
    scale = size[free]
    j = fit.jacobian[:, free] / scale
    whole = j.T @ j
    bread = np.linalg.pinv(whole, hermitian=True)
    noise_share = (joint.points.sigma_n / joint.sigma_n) ** 2
    spread = bread @ (j.T @ (j * noise_share[:, None])) @ bread
    blocks = _blocks(joint)
    count = int(blocks.max()) + 1
    for block in range(count):
        rows = blocks == block
        change = _change_without(whole, j[rows], fit.residuals[rows])
        spread = spread + np.outer(change, change) * (count - 1) / count
    out = np.zeros((fit.parameters.size, fit.parameters.size))
    out[np.ix_(free, free)] = spread / np.outer(scale, scale)
    return out


def _change_without(whole: Array, j: Array, residuals: Array) -> Array:
    """First-order change of the scaled parameters when a block is left out.

    Combinations of which the rest would hold next to nothing are held: a block cannot speak against itself.
    """
    values, vectors = np.linalg.eigh(whole)
    root = vectors / np.sqrt(np.maximum(values, values[-1] * 1e-14))
    share, turn = np.linalg.eigh(root.T @ (j.T @ j) @ root)
    basis = root @ turn
    left = np.maximum(1.0 - share, LEAST_LEFT)
    return np.asarray(basis @ ((basis.T @ (j.T @ residuals)) / left))


def _blocks(joint: JointFit) -> Index:
    p = joint.points
    late = p.velocity_m_s * p.acceleration_m_s2 < 0
    key = p.stage * 4 + 2 * (p.direction > 0) + late
    return np.asarray(np.unique(key, return_inverse=True)[1])
