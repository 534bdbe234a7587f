"""Many made-up dampers side by side: their sizes as arrays, one column a damper."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from dampkit.quantities import Array
from dampkit.virtual.flow import at_temperature, stack, with_leak
from dampkit.virtual.oil import ATMOSPHERE_PA, OilColumns
from dampkit.virtual.plant import Friction, Opening, Plant


def _gas_at_rest_m3(plant: Plant) -> float:
    """Gas above the oil of the reserve; a monotube has an idle reserve that only keeps the arrays whole."""
    return 0.1 * plant.gas_m3 if plant.kind == "monotube" else plant.gas_m3


def _paths(plant: Plant) -> list[tuple[Opening, Opening]]:
    (forward, backward), *others = plant.paths
    leak = plant.piston_leak_m3_s_pa
    return [(with_leak(forward, leak), with_leak(backward, leak)), *others]


class Fleet:
    """Sizes of N plants. Shapes: (N,) for a plant, (3, N) for chambers or paths, (6 or 8, 3, N) for openings."""

    def __init__(self, plants: Sequence[Plant]) -> None:
        self.plants = tuple(plants)
        self.count = len(self.plants)
        self.oil_columns = OilColumns([p.oil for p in self.plants])
        paths = [_paths(p) for p in self.plants]
        shaped = any(opening.is_shaped for plant in paths for pair in plant for opening in pair)
        self.forward = np.stack([stack([p[e][0] for p in paths], shaped) for e in range(3)], axis=1)
        self.backward = np.stack([stack([p[e][1] for p in paths], shaped) for e in range(3)], axis=1)
        # chamber volume given up per travel at the eye in extension
        self.area = self._chambers(lambda p: (p.areas_m2[0] * p.arm_ratio, -p.areas_m2[1] * p.arm_ratio, 0.0))
        self.pressure = self._chambers(lambda p: (p.gas_pressure_pa,) * 3)
        self._oil()
        self._rig()
        self._friction()
        self._groove()
        self._volumes()

    def _each(self, value: Callable[[Plant], float]) -> Array:
        return np.array([value(p) for p in self.plants], dtype=np.float64)

    def _chambers(self, values: Callable[[Plant], tuple[float, ...]]) -> Array:
        return np.array([values(p) for p in self.plants], dtype=np.float64).T.copy()

    def _oil(self) -> None:
        self.per_modulus = self._each(lambda p: 1.0 / p.oil.bulk_modulus_pa)
        self.bubbles = self._each(lambda p: p.oil.free_gas_ratio)
        self.per_n = self._each(lambda p: 1.0 / p.oil.gas_exponent)
        self.expansion = self._each(lambda p: p.oil.expansion_per_k)
        self.pickup = self._each(lambda p: p.pickup_m3 if p.draws_gas else -1.0)
        self.carry = self._each(lambda p: p.pocket_carry)
        self.vent_per_m = self._each(lambda p: p.arm_ratio / p.vent_travel_m)
        self.heat_capacity = self._each(lambda p: p.heat_capacity_j_k)
        self.cooling = self._each(lambda p: p.cooling_w_k)
        self.ambient = self._each(lambda p: p.ambient_c)
        self.start_c = self._each(lambda p: p.start_c)

    def _rig(self) -> None:
        self.stiffness = self._each(lambda p: p.series_stiffness_n_m)
        self.half_play = self._each(lambda p: 0.5 * p.play_m)

    def _friction(self) -> None:
        def part(value: Callable[[Friction], float]) -> Array:
            return self._each(lambda p: value(p.friction))

        self.sliding = part(lambda f: f.sliding_n)
        self.extra_breakaway = part(lambda f: f.breakaway_ratio - 1.0)
        self.per_breakaway_speed = part(lambda f: 1.0 / f.breakaway_speed_m_s)
        self.viscous = part(lambda f: f.viscous_n_s_m)
        self.per_smoothing = part(lambda f: 1.0 / f.smoothing_m_s)
        self.bump = part(lambda f: f.bump_ratio)
        self.bump_at = part(lambda f: f.bump_at_m)
        self.per_bump_width = part(lambda f: 1.0 / f.bump_width_m)
        side = self._each(lambda p: p.side_load.coefficient * p.side_load.load_n)
        self.has_side_load = bool(side.any())
        self.side, self.beside = side, self._each(lambda p: 2.0 * p.side_load.to_guide_m)
        self.apart = self._each(lambda p: p.side_load.guide_to_piston_m)

    def side_friction_n(self, travel_m: Array) -> Array:
        """Friction that the side load adds at a travel; see `SideLoad`. (N,)."""
        apart = self.apart - travel_m
        return np.asarray(self.side * (self.beside + apart) / apart)

    def _groove(self) -> None:
        self.groove = self._each(lambda p: p.groove.area_m2)
        self.has_groove = bool(self.groove.any())
        self.groove_from = self._each(lambda p: p.groove.from_m / p.arm_ratio)
        self.groove_to = self._each(lambda p: p.groove.to_m / p.arm_ratio)
        self.per_groove_edge = self._each(lambda p: p.arm_ratio / p.groove.edge_m)

    def groove_m2(self, travel_m: Array) -> Array:
        """Area that the grooves open past the pistons, for travel at the eye, (N,)."""
        inside = np.minimum(travel_m - self.groove_from, self.groove_to - travel_m) * self.per_groove_edge
        return np.asarray(self.groove * np.minimum(np.maximum(inside + 0.5, 0.0), 1.0))

    def _volumes(self) -> None:
        """Chamber volumes at mid-stroke; pocket gas, gas behind the piston and oil in them, at one atmosphere."""
        ratio = self.gas_volume_ratio(self.pressure)
        behind = self._chambers(lambda p: (0.0, p.gas_m3 if p.kind == "monotube" else 0.0, 0.0))
        above = self._chambers(lambda p: (0.0, 0.0, _gas_at_rest_m3(p)))
        self.volume = behind + self._chambers(lambda p: (*p.chamber_m3, p.reserve_oil_m3 + _gas_at_rest_m3(p)))
        self.charge = behind / ratio
        self.pocket = above / ratio + self._chambers(lambda p: (*p.trapped_gas_m3, 0.0))
        give = self.swelling(self.start_c) * (
            1.0 - (self.pressure - ATMOSPHERE_PA) * self.per_modulus + self.bubbles * ratio
        )
        self.oil = (self.volume - (self.pocket + self.charge) * ratio) / give

    def flow_per_area(self, swelling: Array) -> Array:
        """Oil at 20 degC that passes a square metre per root of pressure drop, (N,)."""
        return np.asarray(np.sqrt(2.0 * swelling / self.oil_columns.density_20) / swelling)

    def swelling(self, temperature_c: Array) -> Array:
        """Volume of oil over its volume at 20 degC, shape (N,)."""
        return 1.0 + self.expansion * (temperature_c - 20.0)

    def gas_volume_ratio(self, pressure_pa: Array) -> Array:
        """Volume of gas at a pressure over its volume at one atmosphere, same shape."""
        return np.asarray((ATMOSPHERE_PA / pressure_pa) ** self.per_n)

    def valves(self, temperature_c: Array) -> tuple[Array, Array]:
        """Forward and backward openings with the oil at its temperature, (6 or 8, 3, N) each."""
        return (
            at_temperature(self.forward, self.oil_columns, temperature_c),
            at_temperature(self.backward, self.oil_columns, temperature_c),
        )
