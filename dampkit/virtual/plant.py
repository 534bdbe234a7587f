"""The made-up damper: sizes, valves, oil and what is wrong with it."""

from __future__ import annotations

import math
from dataclasses import field, replace
from typing import Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.virtual.oil import ATMOSPHERE_PA, Oil

Kind = Literal["twin-tube", "monotube", "lever-arm", "friction-disc", "steering-damper"]
KINDS: tuple[Kind, ...] = ("twin-tube", "monotube", "lever-arm", "friction-disc", "steering-damper")


@frozen
class Opening:
    """Flow through one path in one direction against pressure drop, areas with the discharge coefficient in them.

    q(dp) = leak dp + (bleed + open s^exponent) sqrt(2 dp / rho) c, s rising from 0 to 1 between crack and crack + span,
    both corners rounded over `knee` times the span. `leak` holds at 20 degC and goes with one over the viscosity.
    c = Re / (Re + half_at_reynolds) with Re of the jet in a passage `passage_m` wide; areas hold where c is one.
    """

    leak_m3_s_pa: float = 0.0
    bleed_m2: float = 0.0
    crack_pa: float = 0.0
    span_pa: float = 1e6
    open_m2: float = 0.0
    knee: float = 0.05
    exponent: float = 1.0  # 0.5 a preloaded stack of shims, 1 a coil spring, 2 a progressive stack
    half_at_reynolds: float = 0.0
    passage_m: float = 1.5e-3

    @property
    def is_shaped(self) -> bool:
        """Whether it departs from a lift in proportion to excess pressure and a constant discharge coefficient."""
        return self.exponent != 1.0 or self.half_at_reynolds > 0.0


CLOSED = Opening()
CHECK = Opening(bleed_m2=40e-6)


def preloaded_check(crack_pa: float, area_m2: float = 40e-6) -> Opening:
    """A refill valve held shut by a light spring, wide open at twice the pressure that lifts it."""
    return Opening(crack_pa=crack_pa, span_pa=crack_pa, open_m2=area_m2, knee=0.3)


def _beside(intake: Opening, valve: Opening) -> Opening:
    """An intake with the always-open passages of the valve beside it, which pass oil both ways."""
    return replace(intake, bleed_m2=intake.bleed_m2 + valve.bleed_m2, leak_m3_s_pa=valve.leak_m3_s_pa)


@frozen
class Friction:
    """Dry friction: Coulomb, smoothed at zero speed, with what a bent rod, a dry or a greased joint adds."""

    sliding_n: float = 20.0
    breakaway_ratio: float = 1.0  # force to start over force to keep sliding
    breakaway_speed_m_s: float = 2e-3
    viscous_n_s_m: float = 0.0
    smoothing_m_s: float = 4e-4
    bump_ratio: float = 0.0  # extra friction at the tight spot, as a share of the sliding force
    bump_at_m: float = 0.008
    bump_width_m: float = 0.006


@frozen
class SideLoad:
    """What presses a strut's rod sideways, and what guide and piston rub of what they carry.

    A beam on two supports: the load `to_guide_m` outside the guide, the piston `guide_to_piston_m` inside it in mid-stroke
    and nearer to it the further the rod is out.
    """

    load_n: float = 0.0
    to_guide_m: float = 0.1
    guide_to_piston_m: float = 0.2
    coefficient: float = 0.04  # of bush and piston band, oiled

    def friction_n(self, travel_m: Array | float) -> Array:
        """Friction over that of the rod pulled straight, against travel in extension."""
        apart = self.guide_to_piston_m - np.asarray(travel_m)
        return np.asarray(self.coefficient * self.load_n * (2.0 * self.to_guide_m + apart) / apart)


@frozen
class Groove:
    """A groove in the bore that passes oil round the piston while it stands between two travels, both ways alike."""

    area_m2: float = 0.0  # discharge coefficient in it
    from_m: float = -0.01
    to_m: float = 0.01
    edge_m: float = 2e-3  # travel over which it is uncovered, half inside and half outside

    def open_m2(self, travel_m: Array | float) -> Array:
        """Area against piston travel, in extension positive, same shape."""
        start, end = ((np.asarray(travel_m) - self.from_m), (self.to_m - np.asarray(travel_m)))
        return np.asarray(self.area_m2 * np.clip(np.minimum(start, end) / self.edge_m + 0.5, 0.0, 1.0))


@frozen
class Plant:
    """A damper with two working chambers and a reserve, at mid-stroke, in SI units. Pressures are absolute.

    Chamber 0 lies on the rod side and is squeezed in extension, 1 is squeezed in compression, 2 is the reserve.
    `reserve_oil_m3` is what lies in the reserve at mid-stroke; below `pickup_m3` its intake begins to draw gas.
    `arm_ratio` is piston travel over travel at the eye. A monotube has no reserve: its gas sits behind a free piston
    in chamber 1. A steering damper is built as a twin-tube; with a `membrane` over its reserve it draws no gas, however
    it lies. `trapped_gas_m3` is a pocket in chambers 0 and 1 at the start, at one atmosphere.
    """

    name: str
    kind: Kind
    piston_diameter_m: float = 0.030
    rod_diameter_m: float = 0.012
    arm_ratio: float = 1.0
    rebound: Opening = CLOSED
    compression: Opening = CLOSED
    piston_intake: Opening = CHECK
    foot_intake: Opening = CHECK
    piston_leak_m3_s_pa: float = 0.0
    chamber_m3: tuple[float, float] = (60e-6, 70e-6)
    reserve_oil_m3: float = 70e-6
    pickup_m3: float = 45e-6
    gas_m3: float = 60e-6
    gas_pressure_pa: float = 4e5
    oil: Oil = field(default_factory=Oil)
    friction: Friction = field(default_factory=Friction)
    groove: Groove = field(default_factory=Groove)
    side_load: SideLoad = field(default_factory=SideLoad)
    membrane: bool = False
    series_stiffness_n_m: float = 4e6
    play_m: float = 0.0
    heat_capacity_j_k: float = 900.0
    cooling_w_k: float = 1.5
    ambient_c: float = 20.0
    start_c: float = 22.0
    trapped_gas_m3: tuple[float, float] = (0.0, 0.0)
    vent_travel_m: float = 0.5  # piston travel in which a pocket falls to 1/e through the guide and the foot
    pocket_carry: float = 0.05  # gas share of what leaves a chamber over the gas share of the chamber

    @property
    def has_oil(self) -> bool:
        return self.kind != "friction-disc"

    @property
    def has_foot_valve(self) -> bool:
        return self.kind in ("twin-tube", "steering-damper")

    @property
    def draws_gas(self) -> bool:
        """Whether its reserve is open to gas that an intake may draw in."""
        return (self.has_foot_valve or self.kind == "lever-arm") and not self.membrane

    @property
    def areas_m2(self) -> tuple[float, float]:
        """Piston areas on chambers 0 and 1; none in a friction damper, equal in a pair of pistons."""
        if not self.has_oil:
            return 0.0, 0.0
        bore = 0.25 * math.pi * self.piston_diameter_m**2
        rod = 0.0 if self.kind == "lever-arm" else 0.25 * math.pi * self.rod_diameter_m**2
        return bore - rod, bore

    @property
    def valve_areas_m2(self) -> tuple[float, float]:
        """Area that turns the metering pressure drop into force at the eye: rebound, compression."""
        ring, bore = self.areas_m2
        foot = bore - ring if self.has_foot_valve else ring
        return ring * self.arm_ratio, foot * self.arm_ratio

    @property
    def gas_force_n(self) -> float:
        """Gas force at mid-stroke, negative: it pushes the rod out."""
        ring, bore = self.areas_m2
        return -(self.gas_pressure_pa - ATMOSPHERE_PA) * (bore - ring) * self.arm_ratio

    @property
    def paths(self) -> tuple[tuple[Opening, Opening], ...]:
        """Forward and backward opening between chambers 0-1, 1-2 and 0-2; the piston leak is added to 0-1."""
        piston, foot = _beside(self.piston_intake, self.rebound), _beside(self.foot_intake, self.compression)
        upper = _beside(self.foot_intake, self.rebound)
        tubes = ((self.rebound, piston), (self.compression, foot), (CLOSED, CLOSED))
        table: dict[Kind, tuple[tuple[Opening, Opening], ...]] = {
            "twin-tube": tubes,
            "steering-damper": tubes,
            "monotube": ((self.rebound, self.compression), (CLOSED, CLOSED), (CLOSED, CLOSED)),
            "lever-arm": ((CLOSED, CLOSED), (self.compression, foot), (self.rebound, upper)),
            "friction-disc": ((CLOSED, CLOSED), (CLOSED, CLOSED), (CLOSED, CLOSED)),
        }
        return table[self.kind]
