"""How warm the oil was, stage by stage: as a probe shows it, or from the work done; either way with its doubt."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import product

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop
from dampkit.damper.declared import DamperSpec
from dampkit.frozen import frozen
from dampkit.quantities import Array, distinct, median, read_only, running_integral

BODY_J_K = (350.0, 700.0)  # of a car damper's body with its oil; common practice, no source
OTHER_BODY_J_K = (
    90.0,
    180.0,
    1400.0,
    2800.0,
    5600.0,
)  # of small and of heavy units, each as likely as OTHER of a car's; own
OTHER = 0.02
DECLARED_SHARE = 0.1  # standard uncertainty of a declared heat capacity; own choice
COOLING_W_K = (0.5, 1.5, 2.5)  # to still air and clevises; common practice, no source
LAGS_S = (0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 30.0)  # of a probe behind the oil; common practice, no source
ROOM_C, ROOM_ERROR_K = 20.0, 5.0  # where nothing tells how warm a test began: test procedures ask for 20 +/- 5 degC
PROBE_ERROR_K = 0.5  # standard uncertainty of a probe; common practice
FOLLOWS_K = 0.2  # standard uncertainty of how a probe follows what it lags behind; own choice
INDEPENDENT = 10.0  # so many readings of a probe tell for themselves: they follow one another; own choice
MOST_STEPS = 300


@frozen
class OilHeat:
    """Oil temperature over a run, as a set of what it may have been. `time_s` (N,), `each_c` (H, N), `weight` (H,) sums to 1.

    `stages`: start and end of each stage [s]. `level_error_k`: standard uncertainty that all times share; `step_error_k`: of
    a difference, besides what the set says. `measured`: by a probe.
    """

    time_s: Array
    each_c: Array
    weight: Array
    stages: tuple[tuple[float, float], ...]
    level_error_k: float
    step_error_k: float
    measured: bool

    def at(self, time_s: float) -> tuple[float, float]:
        """Temperature [degC] and its standard uncertainty."""
        value, spread = self._mean(self._then(time_s))
        return value, float(np.hypot(spread, self.level_error_k))

    def of_stage(self, index: int) -> tuple[float, float]:
        """Middle of a stage: temperature [degC] and its standard uncertainty."""
        return self.at(self.middle_s(index))

    @cached_property
    def mean_c(self) -> float:
        """Mean of the stages [degC]: where a law fitted to all of them holds."""
        return float(np.mean([self.of_stage(i)[0] for i in range(len(self.stages))]))

    def middle_s(self, index: int) -> float:
        return 0.5 * sum(self.stages[index])

    def rise(self, from_s: float, to_s: float) -> tuple[float, float]:
        """Warming between two times [K] and its standard uncertainty; what both temperatures share is not in it."""
        value, spread = self._mean(self._then(to_s) - self._then(from_s))
        return value, float(np.hypot(spread, self.step_error_k))

    def _then(self, time_s: float) -> Array:
        time, each = self.time_s, self.each_c
        if time.size == 1:
            return each[:, 0]
        k = int(np.clip(np.searchsorted(time, time_s, "right") - 1, 0, time.size - 2))
        within = min(max(time_s, float(time[0])), float(time[-1])) - time[k]
        return np.asarray(each[:, k] + (each[:, k + 1] - each[:, k]) / (time[k + 1] - time[k]) * within)

    def _mean(self, values: Array) -> tuple[float, float]:
        mean = float(self.weight @ values)
        return mean, float(np.sqrt(self.weight @ (values - mean) ** 2))


def oil_heat(curves: Curves, spec: DamperSpec | None = None) -> OilHeat | None:
    """The temperature of the oil from work, and from a probe where the log has one; None without any stage.

    A body of one heat capacity takes up the work and loses heat to the room; a probe on it follows late. Every
    likely capacity, cooling and lag is tried, and weighed by how well the probe agrees. A probe's own readings stand: only
    what it lags behind is added. Source: own, an energy balance; checked on closed form and on made-up units.
    """
    if not curves.loops:
        return None
    time, work, probe, stages = _series(curves)
    declared = None if spec is None else spec.damper.heat_capacity_j_k
    tried = _tried(declared, probe is not None)
    capacity, cooling, lag, weight = (np.array(column) for column in zip(*tried, strict=True))
    start_c = ROOM_C if probe is None else float(probe[0])
    oil, late = _warmed(time, work, capacity, cooling, lag)
    if probe is None:
        each, step_error = start_c + oil, 0.0
    else:
        off = np.sqrt(np.mean((start_c + late - probe) ** 2, axis=1))
        weight = weight * np.exp(-0.5 * INDEPENDENT * (off**2 - np.min(off**2)) / FOLLOWS_K**2)
        each, step_error = probe + oil - late, PROBE_ERROR_K
    return OilHeat(
        read_only(time), read_only(each), read_only(weight / weight.sum()), stages,
        ROOM_ERROR_K if probe is None else PROBE_ERROR_K, step_error, probe is not None,
    )  # fmt: skip


def _tried(declared: float | None, has_probe: bool) -> list[tuple[float, float, float, float]]:
    """Heat capacity, cooling, lag and how likely they are beforehand."""
    if declared is not None:
        bodies = [(declared * (1 + k * DECLARED_SHARE), np.exp(-0.5 * k * k)) for k in (-2, -1, 0, 1, 2)]
    else:
        bodies = [(float(c), 1.0) for c in np.linspace(*BODY_J_K, 8)]
        bodies += [(c, OTHER) for c in OTHER_BODY_J_K] if has_probe else []
    lags = LAGS_S if has_probe else (0.0,)
    return [(c, k, lag, w) for (c, w), k, lag in product(bodies, COOLING_W_K, lags)]


def _warmed(time_s: Array, work_j: Array, capacity: Array, cooling: Array, lag_s: Array) -> tuple[Array, Array]:
    """Rise of the oil and of a probe behind it since the start, shape (H, N), exact for power that is steady in a step."""
    step = np.diff(time_s)[:, None]
    kept = np.exp(-step * cooling / capacity)
    settles = np.diff(work_j)[:, None] / step / cooling
    oil, late = np.zeros((2, time_s.size, capacity.size))
    for k in range(step.size):
        oil[k + 1] = settles[k] + (oil[k] - settles[k]) * kept[k]
    follows = np.exp(-step / np.maximum(lag_s, 1e-3))
    middle = 0.5 * (oil[1:] + oil[:-1])
    for k in range(step.size):
        late[k + 1] = middle[k] + (late[k] - middle[k]) * follows[k]
    return oil.T, np.where(lag_s > 0, late, oil).T


def _series(curves: Curves) -> tuple[Array, Array, Array | None, tuple[tuple[float, float], ...]]:
    """Time, work done since the start, probe, each (N,), and when each stage began and ended."""
    run, loops = curves.run, curves.loops
    if run.closed_hz is None and max(loop.stage.stop for loop in loops) <= run.rows_used:
        return _of_rows(run, loops)
    return _of_stages(loops)


def _of_rows(run: Run, loops: Sequence[Loop]) -> tuple[Array, Array, Array | None, tuple[tuple[float, float], ...]]:
    few = distinct(np.linspace(0, run.rows_used - 1, MOST_STEPS).astype(int))
    work = running_integral(run.force_n, run.displacement_m)[few]
    # an offset of the cell does no work
    work -= median(run.force_n) * (run.displacement_m[few] - run.displacement_m[0])
    stages = tuple((float(run.time_s[loop.stage.start]), float(run.time_s[loop.stage.stop - 1])) for loop in loops)
    probe = run.temperature_c
    return run.time_s[few], _never_less(work), None if probe is None else probe[few], stages


def _never_less(work_j: Array) -> Array:
    """Springs give back what they took within a stroke: no heat."""
    return np.maximum.accumulate(np.maximum(work_j, 0.0))


def _of_stages(loops: Sequence[Loop]) -> tuple[Array, Array, Array | None, tuple[tuple[float, float], ...]]:
    """As if the stages had followed each other without a rest."""
    lasts = np.array([loop.stage.cycles * loop.period_s for loop in loops])
    work = np.array([max(float(loop.energy_j.mean()), 0.0) * loop.stage.cycles for loop in loops])
    ends = np.cumsum(lasts)
    told = [loop.stage.temperature_c for loop in loops]
    known = [c for c in told if c is not None]
    time = np.concatenate([[0.0], np.stack([ends - 0.5 * lasts, ends], axis=1).ravel()])
    done = np.concatenate([[0.0], np.stack([np.cumsum(work) - 0.5 * work, np.cumsum(work)], axis=1).ravel()])
    probe = None if len(known) < len(loops) else np.interp(time, ends - 0.5 * lasts, np.array(known))
    return time, done, probe, tuple((float(e - d), float(e)) for e, d in zip(ends, lasts, strict=True))
