"""Covariance of the fitted parameters from blocks of the loops, since points inside a cycle are not independent."""

from __future__ import annotations

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves
from dampkit.damper.fit import TAKEN_OUT, JointFit
from dampkit.damper.least_squares import FLAT
from dampkit.quantities import Z95, Array, Index, median, quantiles

OPEN_AT_BOUND = ".leak"  # a leak that the fit puts at nothing may still be there, and the bleed carries it then
LEAST_LEFT = 1e-3  # of the information on a combination of parameters that must be left without a block
FAINT = 1e-100  # norm of a column of the Jacobian, below which its parameter moves nothing and its square would be no number

NOISE_ROWS = 20_000  # are enough for the noise of a long stage


def covariance(joint: JointFit, curves: Curves) -> Array:
    """Covariance (K, K) of the free parameters; rows of parameters at a bound are zero, but for a leak.

    Three parts added: bench noise, as if points were independent; what the model leaves over, by a jackknife whose
    blocks are the half-strokes' branches (stage, direction, before or after mid-stroke); and the rounding of the
    force channel, which shifts a whole half-stroke where noise is finer than the steps. Inside a block left-over
    force may be correlated in any way. The change of the parameters without a block is taken to first order.
    Source: [white1980] and the delete-a-group jackknife of [efron1982].
    """
    fit = joint.fit
    size = np.linalg.norm(fit.jacobian, axis=0)
    firm = [i for i in fit.at_bound if not joint.model.free[i].endswith(OPEN_AT_BOUND)]
    free = [i for i in range(fit.parameters.size) if i not in firm and size[i] > FAINT]
    scale = size[free]
    j = fit.jacobian[:, free] / scale
    whole = j.T @ j
    values, vectors = np.linalg.eigh(whole)
    root = vectors / np.sqrt(np.maximum(values, values[-1] * FLAT))  # what the points do not fix has a wide spread
    bread = root @ root.T
    noise_share = (joint.points.sigma_n / joint.sigma_n) ** 2
    spread = bread @ (j.T @ (j * noise_share[:, None])) @ bread
    weighted = bread @ (j / joint.sigma_n[:, None]).T  # what a newton at each point does to the parameters
    for rows, shift_n in _shifts(joint, curves):
        change = weighted[:, rows].sum(axis=1) * shift_n
        spread = spread + np.outer(change, change)
    blocks = _blocks(joint)
    count = int(blocks.max()) + 1
    for rows in (blocks == block for block in range(count)):
        change = _change_without(root, j[rows], fit.residuals[rows])
        spread = spread + np.outer(change, change) * (count - 1) / count
    out = np.zeros((fit.parameters.size, fit.parameters.size))
    out[np.ix_(free, free)] = spread / np.outer(scale, scale)
    return out


def sure_lag(joint: JointFit, spread: Array) -> dict[str, float]:
    """Moving mass [kg] and channel delay [s] as they may be taken out of a log, by their names in the model.

    Zero where the programme of stages does not tell them, the fit did not settle, or the interval holds zero.
    """
    out = dict.fromkeys(TAKEN_OUT, 0.0)
    for name in TAKEN_OUT & joint.free_values.keys():
        i = joint.model.free.index(name)
        if joint.settled and abs(joint.fit.parameters[i]) > Z95 * float(np.sqrt(spread[i, i])):
            out[name] = joint.values[name]
    return out | {name: x for name, x in joint.model.fixed.items() if name in TAKEN_OUT}


def _change_without(root: Array, j: Array, residuals: Array) -> Array:
    """First-order change of the scaled parameters when a block is left out; `root` of the inverse information.

    Combinations of which the rest would hold next to nothing are held: a block cannot speak against itself.
    """
    share, turn = np.linalg.eigh(root.T @ (j.T @ j) @ root)
    basis = root @ turn
    left = np.maximum(1.0 - share, LEAST_LEFT)
    return np.asarray(basis @ ((basis.T @ (j.T @ residuals)) / left))


def _blocks(joint: JointFit) -> Index:
    p = joint.points
    late = p.velocity_m_s * p.acceleration_m_s2 < 0
    key = p.stage * 4 + 2 * (p.direction > 0) + late
    return np.asarray(np.unique(key, return_inverse=True)[1])


def _shifts(joint: JointFit, curves: Curves) -> list[tuple[Index, float]]:
    """Points of each stage and direction, and the standard deviation [N] by which rounding shifts them together.

    A step of q rounds a steady force by up to q / 2 either way; noise of standard deviation s washes that out as
    exp(-2 (pi s / q)^2), and a force that runs over several steps leaves no more than its share of one.
    Source: [widrow1996], first harmonic of the characteristic function.
    """
    step = curves.run.force_resolution_n
    if step <= 0:
        return []
    points, modelled = joint.points, joint.points.force_n + joint.fit.residuals * joint.sigma_n
    out = []
    for loop in curves.loops:
        noise = row_noise_n(curves.run, loop.stage.start, loop.stage.stop)
        washed = float(np.exp(-2 * (np.pi * noise / step) ** 2))
        for sign in (1.0, -1.0):
            rows = np.flatnonzero((points.stage == loop.stage.index) & (points.direction == sign))
            if rows.size:
                low, high = quantiles(modelled[rows], (0.1, 0.9))
                out.append((rows, washed * step / 12**0.5 * min(1.0, step / max(float(high - low), 1e-12)) ** 0.5))
    return out


def row_noise_n(run: Run, start: int, stop: int) -> float:
    """Standard deviation [N] of the force from row to row, from fourth differences, which motion hardly enters.

    At 200 rows a second second ones take the bend of a fast stroke's force for noise. Their median, so that the force's
    turning over at a reversal does not count. White noise of deviation s has fourth differences of 70^(1/2) s.
    """
    rough = np.diff(run.force_n[start : min(stop, start + NOISE_ROWS)], 4)
    return 1.4826 * median(np.abs(rough)) / 70**0.5 if rough.size else 0.0
