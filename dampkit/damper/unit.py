"""What the damper room hands on: a Unit of two Sides, each with its Law, and what was separated from them."""

from __future__ import annotations

from dataclasses import field
from functools import cached_property
from typing import Any, Literal

import numpy as np

from dampkit.bench.run import Quality
from dampkit.damper.heat import OilHeat
from dampkit.damper.oil import UnitOil
from dampkit.damper.take_up import TakenOut, TakeUp
from dampkit.damper.valve import Valve
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array, Direction, Estimate, number, with_interval

Regime = Literal["leak", "bleed", "blow-off", "fully-open"]


@frozen
class Reading:
    """What the bench reads at the tested speeds: friction in, gas force out, no valve model. Arrays (S,), slowest first.

    Positive magnitudes; `low_n` and `high_n` are a 95 % interval. `stage`: index of each stage, -1 for a table's point.
    """

    velocity_m_s: Array
    force_n: Array
    low_n: Array
    high_n: Array
    stage: tuple[int, ...]
    temperature_c: Array | None = None  # of each stage, where the log holds it


@frozen
class Stray:
    """How far the loops stray from a law between the tested speeds, where it is 0: half of 95 %; arrays (N,), slowest first."""

    velocity_m_s: Array
    half_n: Array


@frozen
class Law:
    """How the hydraulic force of one direction depends on speed. Curve arrays (K,), positive magnitudes.

    `explained`: the fitted valve leaves no more over than noise and 2 %. Otherwise the curve is the measured one and
    every coefficient is None. `valve` is what was fitted in either case; it serves to read between tested speeds.
    `spare_points`: points more than parameters; without any a law passes through all of them and explains none.
    `point_...`: one point for each fitted loop point, gas and friction taken out, lag averaged out.
    """

    valve: Valve
    velocity_m_s: Array
    force_n: Array
    low_n: Array
    high_n: Array
    point_velocity_m_s: Array
    point_force_n: Array
    reached: tuple[Regime, ...]
    bleed_area_mm2: Estimate | None = None
    bleed_coefficient_n_s2_m2: Estimate | None = None
    leak_coefficient_n_s_m: Estimate | None = None
    blowoff_force_n: Estimate | None = None
    blowoff_velocity_m_s: Estimate | None = None
    slope_above_blowoff_n_s_m: Estimate | None = None
    residual_n: float = 0.0
    leftover_ratio: float = 0.0  # systematic misfit over the direction's forces
    converged: bool = True
    spare_points: int = 1
    friction_doubt_n: float = 0.0  # part of the interval that only friction leaves open: no reading has it
    stray: Stray | None = None  # of what only a table tells there is none
    at_bound: tuple[str, ...] = ()
    not_told_apart: tuple[tuple[str, ...], ...] = ()  # parameters whose trade leaves the forces as they are

    @property
    def explained(self) -> bool:
        return self.converged and self.spare_points > 0 and self.leftover_ratio <= LEFTOVER_LIMIT

    @property
    def shape_half_n(self) -> Array:
        """Half-width of the interval without what friction leaves open, shape (K,)."""
        half = 0.5 * (self.high_n - self.low_n)
        return half if self.friction_doubt_n == 0 else np.sqrt(np.maximum(half**2 - self.friction_doubt_n**2, 0.0))

    @property
    def top_m_s(self) -> float:
        """Fastest speed tested."""
        return float(self.velocity_m_s[-1])


LEFTOVER_LIMIT = 0.02  # of the force; own choice


@frozen
class Side:
    """One direction of a unit. `law` is None where no stage moves the valve; `reading` is None without any point.

    `take_ups`: how each moving stage takes up after the reversal into this direction, in the order they were run.
    """

    direction: Direction
    law: Law | None = None
    reading: Reading | None = None
    lost_motion_mm: Estimate | None = None
    take_ups: tuple[TakeUp, ...] = ()

    def __repr__(self) -> str:
        law = self.law
        if law is None:
            return f"<{self.direction}: no law>"
        end = f"{number(float(law.force_n[-1]))} N of the oil at {number(law.top_m_s)} m/s"
        return f"<{self.direction}: {'explained' if law.explained else 'as measured'}, {end}>"


@frozen
class Sliding:
    """Dry friction of a friction damper against peak speed, slowest first; shape (stages,)."""

    velocity_m_s: Array
    force_n: Array


@frozen
class Unit:
    """Everything the records say about the unit itself. None where they cannot tell; `quality` says why.

    `friction_used_n` is what was taken out of the readings to leave the hydraulic force; it is the estimate where there
    is one, else a value under `friction_at_most_n`, and the curves' intervals hold the doubt. `level_error_n`: standard
    uncertainty of the force that is left, of what friction and gas leave open.

    Examples
    --------
    >>> dampkit.fit(dampkit.read_test(["sample_runs/drawing_table.csv"]))
    <Unit: gas force ...
     friction ...
     <rebound: explained, ... N of the oil at ... m/s>
     <compression: explained, ... N of the oil at ... m/s>>
    """

    rebound: Side
    compression: Side
    gas_force_n: Estimate | None = None
    gas_stiffness_n_m: float | None = None
    friction_force_n: Estimate | None = None
    friction_at_most_n: float | None = None
    friction_used_n: float = 0.0
    level_error_n: float = 0.0
    taken_out: TakenOut = field(default_factory=TakenOut)
    series_stiffness_n_m: Estimate | None = None
    channel_delay_s: Estimate | None = None
    moving_mass_kg: Estimate | None = None  # between cell and damper
    sliding: Sliding | None = None  # of a friction damper only
    temperature_c: float | None = None  # mean of the stages, where the log holds it
    temperature_span_k: float = 0.0  # hottest less coldest stage
    heat: OilHeat | None = None  # how warm the oil was, of a log
    oil: UnitOil = field(default_factory=UnitOil)
    quality: tuple[Quality, ...] = field(default=())

    def __repr__(self) -> str:
        lines = [f"<Unit: gas force {with_interval(self.gas_force_n, 'N')}"]
        lines.append(f" friction {with_interval(self.friction_force_n, 'N')}")
        lines += [f" {side!r}" for side in self.sides]
        return "\n".join(lines) + ">"

    def side(self, direction: Direction) -> Side:
        return self.rebound if direction == "rebound" else self.compression

    @cached_property
    def brought(self) -> dict[tuple[float, float], Unit]:
        """This unit from one temperature to another [degC], as `warmth.brought_to` made it: several ask for the same."""
        return {}

    @cached_property
    def known(self) -> dict[tuple[object, ...], Any]:
        """What a room worked out of this unit and is asked for again, by a name and what it went by."""
        return {}

    @property
    def friction_or_bound_n(self) -> Estimate:
        """Friction, or what was used for it with the bound as its interval."""
        at_most = max(self.friction_at_most_n or 0.0, self.friction_used_n)
        return self.friction_force_n or Estimate(self.friction_used_n, 0.0, at_most)

    @property
    def sides(self) -> tuple[Side, Side]:
        return self.rebound, self.compression

    @property
    def has_laws(self) -> bool:
        """Both directions have a law."""
        return all(self.side(d).law is not None for d in DIRECTIONS)
