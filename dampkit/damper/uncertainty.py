"""Covariance of the fitted parameters from blocks of the loops, since points inside a cycle are not independent."""

from __future__ import annotations

import numpy as np

from dampkit.damper.fit import JointFit
from dampkit.quantities import Array, Index


def covariance(joint: JointFit) -> Array:
    """Covariance (K, K) of the free parameters; rows of parameters at a bound are zero.

    Two parts added: bench noise, as if points were independent; and what the model leaves over, by a sandwich
    whose blocks are the half-strokes' branches (stage, direction, before or after mid-stroke), inside which
    left-over force may be correlated in any way.
    Source: [white1980] for the sandwich with blocks; the factor G/(G-1) is the usual small-sample one.
    """
    fit = joint.fit
    free = [i for i in range(fit.parameters.size) if i not in fit.at_bound and np.any(fit.jacobian[:, i])]
    j = fit.jacobian[:, free]
    scale = np.linalg.norm(j, axis=0)
    bread = np.linalg.pinv((j / scale).T @ (j / scale)) / np.outer(scale, scale)
    blocks = _blocks(joint)
    count = int(blocks.max()) + 1
    scores = np.zeros((count, len(free)))
    np.add.at(scores, blocks, j * fit.residuals[:, None])
    noise_share = (joint.points.sigma_n / joint.sigma_n) ** 2
    noise = bread @ (j.T @ (j * noise_share[:, None])) @ bread
    meat = scores.T @ scores * (count / max(1, count - 1))
    out = np.zeros((fit.parameters.size, fit.parameters.size))
    out[np.ix_(free, free)] = noise + bread @ meat @ bread
    return out


def _blocks(joint: JointFit) -> Index:
    p = joint.points
    late = p.velocity_m_s * p.acceleration_m_s2 < 0
    key = p.stage * 4 + 2 * (p.direction > 0) + late
    return np.asarray(np.unique(key, return_inverse=True)[1])
