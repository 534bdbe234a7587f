"""What a valve would do with its oil at another temperature: warm oil is thin, and leaks more through a clearance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from dampkit.damper.areas import DECLARED_AT_C, DENSITY_KG_M3, EXPANSION_PER_K
from dampkit.damper.oil import Temperature, UnitOil, viscosity_mm2_s
from dampkit.damper.unit import Law, Reading, Side, Unit
from dampkit.damper.valve import Valve, stacked
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction, read_only

LIKE_K = 5.0  # temperatures that count as one; common practice: test procedures ask for 20 +/- 5 degC
WIDE_K = 15.0  # span of the stages beyond which one law does not hold for all; common practice, no source
LEAK_NOT_SEEN = 0.05  # of the flow: a leak that a fit may not tell apart; a real damper lost 0 to 0.26 % of work per K
PASSAGE_M = 1.5e-3  # width of a valve's passage; common practice, no source
LONG_PASSAGE = 10.0  # length over width of the longest passage that a sound valve is taken to have; own choice
USUAL = UnitOil()


def at_temperature(
    valve: Valve, is_c: Temperature, to_c: float, oil: UnitOil = USUAL, passes_ratio: float | Array = 1.0
) -> Valve:
    """The valve with its oil brought from one temperature to another [degC]; from several, a column of valves.

    A clearance passes oil in inverse proportion to dynamic viscosity, an orifice to the root of density. `passes_ratio`: what
    the discharge coefficient becomes, over what it was. Source: [merritt1967] ch. 3; viscosity by [astm_d341].
    """
    swollen = (1 + EXPANSION_PER_K * (to_c - DECLARED_AT_C)) / (1 + EXPANSION_PER_K * (is_c - DECLARED_AT_C))
    lighter = passes_ratio * swollen**0.5
    thicker = viscosity_mm2_s(oil.line, to_c) / viscosity_mm2_s(oil.line, is_c) / swollen
    return valve.columns(
        leak=valve.leak / thicker, bleed=valve.bleed * lighter, lift_rate=valve.lift_rate * lighter,
        open=valve.open * lighter,
    )  # fmt: skip


def discharge(reynolds: Array, length: float) -> Array:
    """Discharge coefficient of a round passage `length` widths long at the Reynolds number of its jet, same shape.

    (2.28 + 64 length / Re)^-1/2: the entry of a developing flow, and laminar friction in the passage.
    Source: [merritt1967] ch. 3, short tubes, for Re below 50 lengths; above it the entry alone decides. From memory.
    """
    return np.asarray((2.28 + 64.0 * length / np.maximum(reynolds, 1e-9)) ** -0.5)


def passes_more(force_n: float | Array, area_m2: float, is_c: Temperature, to_c: float, oil: UnitOil = USUAL) -> Array:
    """Discharge coefficient of the longest passages at one temperature over that at another, at hydraulic forces."""
    jet = 1e6 * PASSAGE_M * (2.0 * np.maximum(force_n, 1.0) / area_m2 / DENSITY_KG_M3) ** 0.5
    before = discharge(jet / viscosity_mm2_s(oil.line, is_c), LONG_PASSAGE)
    return discharge(jet / viscosity_mm2_s(oil.line, to_c), LONG_PASSAGE) / before


def with_leak_share(valve: Valve, velocity_m_s: float, share: float) -> Valve:
    """The valve with so much of its flow through the clearance at a speed, where its force stays."""
    force = float(valve.force(np.array([velocity_m_s]))[0])
    return _leaking(valve, velocity_m_s, force, share) if force > 0 else valve


def _leaking(valve: Valve, velocity_m_s: float | Array, force_n: float | Array, share: float) -> Valve:
    leak = share * velocity_m_s / force_n
    return valve.columns(leak=leak, bleed=np.maximum(valve.bleed + (valve.leak - leak) * force_n**0.5, 0.0))


def brought_to(unit: Unit, to_c: float, *, estimated: bool = False) -> Unit:
    """The unit with its oil at another temperature [degC]: laws and readings, intervals wider by what the oil leaves open.

    As it is where the log does not hold the temperature, unless one `estimated` from work will do. Each reading is moved
    from its own stage's temperature. Where the stages span more than WIDE_K one law does not hold for all of them, so it
    moves nothing: the readings within LIKE_K stand as they were read, the others are left out. Worked out once a unit.
    """
    is_c = unit.temperature_c
    if is_c is None and estimated and unit.heat is not None:
        is_c = unit.heat.mean_c
    if is_c is None or not any(side.law for side in unit.sides):
        return unit
    if (is_c, to_c) not in unit.brought:
        wide = unit.temperature_span_k > WIDE_K
        rebound, compression = (_side(side, unit, is_c, to_c, wide) for side in unit.sides)
        unit.brought[is_c, to_c] = replace(
            unit, rebound=rebound, compression=compression, temperature_c=to_c, temperature_span_k=0.0
        )
    return unit.brought[is_c, to_c]


def _side(side: Side, unit: Unit, is_c: float, to_c: float, wide: bool) -> Side:
    law, read = side.law, side.reading
    if law is None or read is None:
        return side
    if wide:
        return replace(side, reading=_like(read, to_c))
    move = _Move(law, side.direction, unit, to_c)
    valve = at_temperature(law.valve, is_c, to_c, unit.oil)
    change, unsure = move.by(
        law.velocity_m_s, np.full(law.velocity_m_s.size, is_c), _error_k(unit, law.velocity_m_s.size)
    )
    force, low, high = _shifted(law, change, unsure)
    moved = replace(law, valve=valve, force_n=force, low_n=low, high_n=high)
    warm = np.full(read.velocity_m_s.size, is_c) if read.temperature_c is None else read.temperature_c
    force, low, high = _shifted(read, *move.by(read.velocity_m_s, warm, _error_k(unit, warm.size, read.stage)))
    return replace(side, law=moved, reading=Reading(read.velocity_m_s, force, low, high, read.stage))


def _error_k(unit: Unit, count: int, stages: tuple[int, ...] = ()) -> Array:
    """Standard uncertainty of the oil's temperature at each stage, or of the mean of all."""
    heat = unit.heat
    if heat is None:
        return np.zeros(count)
    if not stages:
        return np.full(count, max(heat.of_stage(i)[1] for i in range(len(heat.stages))))
    return np.array([heat.of_stage(i)[1] if 0 <= i < len(heat.stages) else 0.0 for i in stages])


@dataclass(frozen=True)
class _Move:
    """How the forces of a law change from one temperature to another, and how unsure that is."""

    law: Law
    direction: Direction
    unit: Unit
    to_c: float

    def by(self, velocity_m_s: Array, from_c: Array, error_k: Array) -> tuple[Array, Array]:
        """Change of force at speeds from temperatures, and its standard uncertainty, all shape (N,)."""
        change, unsure = np.zeros((2, velocity_m_s.size))
        moves = (velocity_m_s > 0) & ((from_c != self.to_c) | (error_k != 0))
        change[moves], unsure[moves] = self._moved(velocity_m_s[moves], from_c[moves], error_k[moves])
        return change, unsure

    def _moved(self, v: Array, from_c: Array, error_k: Array) -> tuple[Array, Array]:
        valve, oil = self.law.valve, self.unit.oil
        force = valve.force(v)
        leakier = valve
        if "leak" not in self.law.reached:
            unseen, leaky = valve.leak * force < LEAK_NOT_SEEN * v, _leaking(valve, v, force, LEAK_NOT_SEEN)
            leakier = valve.columns(
                leak=np.where(unseen, leaky.leak, valve.leak), bleed=np.where(unseen, leaky.bleed, valve.bleed)
            )
        ratio = passes_more(force, oil.area_m2[DIRECTIONS.index(self.direction)], from_c, self.to_c, oil)
        least, laminar, leaky_n, most, warmer = stacked(
            [
                at_temperature(valve, from_c, self.to_c, oil),
                at_temperature(valve, from_c, self.to_c, oil, ratio),
                leakier,
                at_temperature(leakier, from_c, self.to_c, oil),
                at_temperature(leakier, from_c + error_k, self.to_c, oil),
            ]
        ).force(v)
        change = 0.5 * (least - force + most - leaky_n)
        # a leak anywhere between two, and passages anywhere from short to long, which are taken as short
        leak = (most - leaky_n - (least - force)) / 12**0.5
        parts = [oil.unsure_share * change, warmer - most, leak, (laminar - least) / 3**0.5]
        return change, np.linalg.norm(parts, axis=0)


def _like(read: Reading, to_c: float) -> Reading:
    """The readings that were taken at that temperature."""
    if read.temperature_c is None:
        return read
    keep = np.abs(read.temperature_c - to_c) <= LIKE_K
    kept = tuple(stage for stage, here in zip(read.stage, keep, strict=True) if here)
    v, force, low, high, warm = (
        read_only(a[keep]) for a in (read.velocity_m_s, read.force_n, read.low_n, read.high_n, read.temperature_c)
    )
    return Reading(v, force, low, high, kept, warm)


def _shifted(of: Law | Reading, change: Array, unsure: Array) -> tuple[Array, Array, Array]:
    """Force and interval after a change, the interval wider by how unsure that is."""
    half = np.hypot(0.5 * (of.high_n - of.low_n), Z95 * unsure)
    force = of.force_n + change
    return read_only(force), read_only(np.maximum(force - half, 0.0)), read_only(force + half)
