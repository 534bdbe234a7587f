"""Clicks or turns: what each logged setting does, and which setting comes closest to what is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dampkit.damper.reading import reading_curve
from dampkit.damper.unit import Unit
from dampkit.errors import BadSettings
from dampkit.expected.conformity import guard_band
from dampkit.needs.cycle import cycle_damping
from dampkit.outcome.change.aim import Aim
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction, Estimate

POINTS = 81


@dataclass(frozen=True)
class Sweep:
    """Bench forces by setting and speed, N, friction in and gas out: shape (settings, K) for each direction."""

    settings: Array  # rising, shape (settings,)
    velocity_m_s: Array  # shape (K,), from near standstill to the top that all runs reach
    force_n: dict[Direction, Array]
    half_n: dict[Direction, Array]

    def at(self, setting: float, way: Direction) -> tuple[Array, Array]:
        """Force and its 95 % half-width at a setting between those logged, straight between neighbours."""
        pair = (self.force_n[way], self.half_n[way])
        force, half = (np.array([np.interp(setting, self.settings, column) for column in table.T]) for table in pair)
        return force, half


@dataclass(frozen=True)
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
    tables = {way: [_row(fit, way, v) for fit in chosen] for way in DIRECTIONS}
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


def _row(unit: Unit, way: Direction, v: Array) -> tuple[Array, Array]:
    return reading_curve(v, unit.side(way), unit.friction_used_n)
