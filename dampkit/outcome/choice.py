"""Runs at several settings become a map from setting to curve, and the setting to choose where something is wanted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.bench.told import last_number
from dampkit.damper.reading import reading_curve
from dampkit.damper.unit import Unit
from dampkit.errors import BadSettings
from dampkit.expected.conformity import guard_band
from dampkit.expected.window import window
from dampkit.frozen import frozen
from dampkit.job import Job
from dampkit.needs.corner import Corner
from dampkit.needs.from_file import corner_of
from dampkit.needs.ratio import cycle_damping
from dampkit.needs.requirement import RATED_SPEED_M_S, needed_forces
from dampkit.outcome.change.aim import Aim, vehicle_aim
from dampkit.outcome.side_by_side import Fitted
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction, Estimate

if TYPE_CHECKING:
    import pandas as pd


POINTS = 81


@frozen
class Sweep:
    """Bench forces by setting and speed, N, friction in and gas out: shape (settings, K) for each direction."""

    settings: Array  # rising, shape (settings,)
    velocity_m_s: Array  # shape (K,), from near standstill to the top that all runs reach
    force_n: dict[Direction, Array]
    half_n: dict[Direction, Array]

    def curves(self) -> Iterator[dict[str, Any]]:
        """Each logged setting and direction: speeds, forces and the ends of their interval, by the names of the record."""
        for n, setting in enumerate(self.settings):
            for way in DIRECTIONS:
                force, half = self.force_n[way][n], self.half_n[way][n]
                yield {
                    "setting": float(setting),
                    "direction": way,
                    "velocity_m_s": self.velocity_m_s,
                    "force_n": force,
                    "low_n": force - half,
                    "high_n": force + half,
                }

    def at(self, setting: float, way: Direction) -> tuple[Array, Array]:
        """Force and its 95 % half-width at a setting between those logged, straight between neighbours."""
        pair = (self.force_n[way], self.half_n[way])
        force, half = (np.array([np.interp(setting, self.settings, column) for column in table.T]) for table in pair)
        return force, half


@frozen
class Option:
    """One setting: `worst` as in the search for a change (1 at the edge, guard band in), `plain` without the guard band;
    mean c_eq at the rated speed. `logged`: it was run, and is not to be run again.
    """

    setting: float
    worst: float
    plain: float
    inside: bool
    logged: bool
    damping_n_s_m: Estimate | None


def sweep(settings: Sequence[float], fits: Sequence[Unit]) -> Sweep:
    """The logged settings in rising order.

    Raises BadSettings where fewer than two settings are given, one comes twice, or a run has no fitted valve.
    """
    if len(set(settings)) < 2 or len(set(settings)) < len(settings):
        raise BadSettings(
            "settings", f"found {list(settings)}", "at least two settings, each once", "name the setting of each run"
        )
    order = np.argsort(settings)
    chosen = [fits[i] for i in order]
    tops = []
    for fit in chosen:
        laws = [side.law for side in fit.sides if side.law is not None]
        if len(laws) < len(DIRECTIONS):
            raise BadSettings(
                "settings",
                "a run has no stage that moves the valves",
                "runs with fast stages and a slow pass",
                "test it again",
            )
        tops += [law.top_m_s for law in laws]
    v = np.linspace(1e-3, min(tops), POINTS)
    tables = {way: [reading_curve(v, fit.side(way), fit.friction_used_n) for fit in chosen] for way in DIRECTIONS}
    force = {way: np.array([row[0] for row in rows]) for way, rows in tables.items()}
    half = {way: np.array([row[1] for row in rows]) for way, rows in tables.items()}
    return Sweep(np.array(settings, dtype=np.float64)[order], v, force, half)


def options(found: Sweep, aims: Sequence[Aim], step: float, rated_m_s: float) -> tuple[Option, ...]:
    """Every setting from the lowest to the highest logged, best first."""
    places = np.arange(found.settings[0], found.settings[-1] + 0.5 * step, step)
    made = [_option(found, aims, float(s), rated_m_s) for s in places if s <= found.settings[-1] + 1e-9]
    return tuple(sorted(made, key=lambda option: option.worst))


def _option(found: Sweep, aims: Sequence[Aim], setting: float, rated_m_s: float) -> Option:
    misses = [_misses(found, aim, setting) for aim in aims]
    far, plain = (max((m[k] for m in misses), default=float("nan")) for k in (0, 1))
    logged = bool(np.isclose(found.settings, setting).any())
    return Option(setting, far, plain, far <= 1, logged, _damping(found, setting, rated_m_s))


def _misses(found: Sweep, aim: Aim, setting: float) -> tuple[float, float]:
    """Largest distance from what is wanted with the guard band, and without."""
    force, half = found.at(setting, aim.direction)
    inside = aim.velocity_m_s <= found.velocity_m_s[-1] * 1.02
    at = aim.velocity_m_s[inside]
    read = np.interp(aim.velocity_m_s, found.velocity_m_s, force)
    doubt = np.interp(at, found.velocity_m_s, half)
    plain = np.abs(aim.misses(read)[inside])
    miss = plain + guard_band(1.0) / Z95 * doubt / aim.half_n()[inside]
    ratio = abs(aim.ratio_miss(found.velocity_m_s, force)) if aim.ratio is not None else 0.0
    return max(float(miss.max(initial=0.0)), ratio), max(float(plain.max(initial=0.0)), ratio)


def _damping(found: Sweep, setting: float, rated_m_s: float) -> Estimate | None:
    """Mean c_eq of both directions at the rated speed; None where the runs do not reach it."""
    if found.velocity_m_s[-1] < 0.98 * rated_m_s:
        return None
    sides = [found.at(setting, way) for way in DIRECTIONS]
    c, half = (0.5 * sum(cycle_damping(rated_m_s, found.velocity_m_s, side[k]) for side in sides) for k in (0, 1))
    return Estimate(c, c - half, c + half)


@frozen
class Settings:
    """`sweep`: bench force in N by setting and speed in m/s. `aims`: what is wanted; `options`: every setting, best first.

    Both empty where neither a reference nor a target is declared. `damping_ratio`: of the best setting, where a car is
    known, else None.

    Examples
    --------
    >>> speeds = {"velocity m/s": [0.05, 0.1, 0.3, 0.6]}
    >>> left = {**speeds, "rebound N": [180, 420, 980, 1400], "compression N": [150, 300, 520, 700]}
    >>> right = {**speeds, "rebound N": [120, 270, 640, 900], "compression N": [150, 300, 520, 700]}
    >>> dampkit.settings([right, left], at=[0, 8])
    <Settings 0 to 8, 2 run; nothing is wanted, so none is chosen>
    """

    runs: tuple[Fitted, ...]
    sweep: Sweep
    aims: tuple[Aim, ...]
    options: tuple[Option, ...]
    damping_ratio: Estimate | None

    @property
    def best(self) -> Option | None:
        """What comes closest; `inside` says whether it is surely in its band."""
        return self.options[0] if self.options else None

    def frames(self) -> dict[str, pd.DataFrame]:
        """`curves`: a row a setting, direction and speed; `options`: a row a setting, best first. SI."""
        import pandas as pd

        tables = [pd.DataFrame(curve) for curve in self.sweep.curves()]
        chosen = [{k: v for k, v in asdict(option).items() if k != "damping_n_s_m"} for option in self.options]
        return {"curves": pd.concat(tables, ignore_index=True), "options": pd.DataFrame(chosen)}

    def __repr__(self) -> str:
        low, high = self.sweep.settings[0], self.sweep.settings[-1]
        chosen = "nothing is wanted, so none is chosen"
        if self.best is not None:
            surely = "inside its band" if self.best.inside else "closest, not surely inside its band"
            chosen = f"best {self.best.setting:g}: {surely}"
        return f"<Settings {low:g} to {high:g}, {len(self.sweep.settings)} run; {chosen}>"


def choose(runs: Sequence[Fitted], at: Sequence[float] | None = None, step: float = 1.0) -> Settings:
    """`at`: the setting of each run; else as its table tells, else the last number in its name. `step`: of the adjuster.

    Raises BadSettings where they are not one for each run, fewer than two, or one comes twice.
    """
    if step <= 0:
        raise BadSettings("step", f"found {step:g}", "a step above 0", "1 for whole clicks, 0.25 for quarter turns")
    in_table = [run.setting for run in runs if run.setting is not None]
    found = sweep(in_table if len(in_table) == len(runs) else _settings(runs, at), [run.fit for run in runs])
    job = runs[0].job
    corner = None if job.vehicle is None else corner_of(job.vehicle)
    aims = _aims(job, corner, float(found.velocity_m_s[-1]))
    best = options(found, aims, step, RATED_SPEED_M_S) if aims else ()
    return Settings(tuple(runs), found, tuple(aims), best, _ratio(best, corner))


def _settings(runs: Sequence[Fitted], given: Sequence[float] | None) -> list[float]:
    """As given, else the last number in each name."""
    if given is None:
        numbers = [last_number(run.name) for run in runs]
        missing = next((run for run, found in zip(runs, numbers, strict=True) if found is None), None)
        if missing is not None:
            raise BadSettings(
                missing.name, "no number in its name", "the setting of each run", "say it: --at 0,4,8, or at=[0, 4, 8]"
            )
        return [found for found in numbers if found is not None]
    if len(given) != len(runs):
        raise BadSettings("at", f"{len(given)} settings for {len(runs)} runs", "one for each run", "correct it")
    return [float(value) for value in given]


def _aims(job: Job, corner: Corner | None, top_m_s: float) -> list[Aim]:
    """The reference's window where one is declared, else what the vehicle needs, else nothing."""
    spec = job.damper
    if spec is not None and spec.reference is not None:
        windows = [window(spec.reference, d) for d in DIRECTIONS]
        return [Aim(w.direction, w.velocity_m_s, w.wanted_n, w.low_n, w.high_n, centred=True) for w in windows]
    need = None if corner is None else needed_forces(corner)
    if corner is None or need is None:
        return []
    made = [vehicle_aim(corner, need, way, top_m_s) for way in DIRECTIONS]
    return [aim for aim in made if aim is not None]


def _ratio(best: Sequence[Option], corner: Corner | None) -> Estimate | None:
    """Damping ratio of the best setting; None without a car or a setting."""
    if corner is None or not best or best[0].damping_n_s_m is None:
        return None
    return best[0].damping_n_s_m.scaled(corner.at_wheel(1.0) / corner.critical_damping_n_s_m)
