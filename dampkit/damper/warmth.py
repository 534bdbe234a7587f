"""What a valve would do with its oil at another temperature: warm oil is thin, and leaks more through a clearance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.damper.areas import DECLARED_AT_C, DENSITY_KG_M3, EXPANSION_PER_K
from dampkit.damper.oil import Temperature, UnitOil, viscosity_mm2_s
from dampkit.damper.passages import LENGTHS, PASSAGE_M, Flow, Passages, discharge, passages
from dampkit.damper.unit import Law, Reading, Side, Unit
from dampkit.damper.valve import Valve
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Z95, Array, Direction, read_only

LIKE_K = 5.0  # temperatures that count as one; common practice: test procedures ask for 20 +/- 5 degC
WIDE_K = 15.0  # span of the stages beyond which one law does not hold for all; common practice, no source
MOST_HIDDEN = 0.5  # of the flow, however thin the oil; own choice
# of the flow at 20 degC: a leak that a fit may not tell apart; a real damper lost 0 to 0.26 % of work per K
LEAK_NOT_SEEN = 0.05
LONG_PASSAGE = 5.0  # length over width of the longest passage that a sound valve is taken to have; own choice
# most of the force at the top speed that refill passages hold back: a larger loss is a lift's bend; own choice
REFILL = 0.2
HARDLY = 0.9  # of the top force, from which a valve's stop was hardly met: thicker oil may lift it further; own choice
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


def passes_more(
    force_n: float | Array,
    area_m2: float,
    is_c: Temperature,
    to_c: float,
    oil: UnitOil = USUAL,
    *,
    length: float = LONG_PASSAGE,
) -> Array:
    """Discharge coefficient of passages, else the longest, at one temperature over that at another, at hydraulic forces."""
    jet = 1e6 * PASSAGE_M * (2.0 * np.maximum(force_n, 1.0) / area_m2 / DENSITY_KG_M3) ** 0.5
    before = discharge(jet / viscosity_mm2_s(oil.line, is_c), length)
    return np.asarray(discharge(jet / viscosity_mm2_s(oil.line, to_c), length) / before)


def with_leak_share(valve: Valve, velocity_m_s: float, share: float) -> Valve:
    """The valve with so much of its flow through the clearance at a speed, where its force stays."""
    force = float(valve.force(np.array([velocity_m_s]))[0])
    if force <= 0:
        return valve
    leak = share * velocity_m_s / force
    return replace(valve, leak=leak, bleed=max(valve.bleed + (valve.leak - leak) * force**0.5, 0.0))


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
        known = None if wide else passages(unit)
        rebound, compression = (_side(side, unit, is_c, to_c, known) for side in unit.sides)
        unit.brought[is_c, to_c] = replace(
            unit, rebound=rebound, compression=compression, temperature_c=to_c, temperature_span_k=0.0
        )
    return unit.brought[is_c, to_c]


def _side(side: Side, unit: Unit, is_c: float, to_c: float, known: Passages | None) -> Side:
    law, read = side.law, side.reading
    if law is None or read is None:
        return side
    if known is None:
        return replace(side, reading=_like(read, to_c))
    move = _Move(law, side.direction, unit, known, to_c)
    knee_n, area = (
        min(law.valve.blowoff_force, float(law.force_n[-1])),
        unit.oil.area_m2[DIRECTIONS.index(side.direction)],
    )
    ratio = float(passes_more(knee_n, area, is_c, to_c, unit.oil, length=known.length))
    valve = at_temperature(law.valve, is_c, to_c, unit.oil, ratio)
    warm = np.full(read.velocity_m_s.size, is_c) if read.temperature_c is None else read.temperature_c
    many, few = law.velocity_m_s.size, warm.size
    errors = np.append(_error_k(unit, many), _error_k(unit, few, read.stage))
    both = np.append(law.velocity_m_s, read.velocity_m_s), np.append(np.full(many, is_c), warm)
    change, unsure = move.by(*both, errors)
    force, low, high = _shifted(law, change[:many], unsure[:many])
    moved = replace(law, valve=valve, force_n=force, low_n=low, high_n=high)
    force, low, high = _shifted(read, change[many:], unsure[many:])
    return replace(side, law=moved, reading=Reading(read.velocity_m_s, force, low, high, read.stage))


def _error_k(unit: Unit, count: int, stages: tuple[int, ...] = ()) -> Array:
    """Standard uncertainty of the oil's temperature at each stage, or of the mean of all."""
    heat = unit.heat
    if heat is None:
        return np.zeros(count)
    if not stages:
        return np.full(count, max(heat.of_stage(i)[1] for i in range(len(heat.stages))))
    return np.array([heat.of_stage(i)[1] if 0 <= i < len(heat.stages) else 0.0 for i in stages])


@frozen
class _Move:
    """How the forces of a law change from one temperature to another, and how unsure that is."""

    law: Law
    direction: Direction
    unit: Unit
    known: Passages
    to_c: float

    def by(self, velocity_m_s: Array, from_c: Array, error_k: Array) -> tuple[Array, Array]:
        """Change of force at speeds from temperatures, and its standard uncertainty, all shape (N,).

        In proportion to what the valve does, with passages as long as the loops show. Unsure by the oil, by its temperature,
        by a leak that the fit does not tell from none, by the passages' length, by a stop that was hardly met, and by whether
        a lift's own bend was read as a loss in series.
        """
        v, known = np.maximum(velocity_m_s, 1e-6), self.known
        force = self.law.valve.force(v)
        sharp = self._flow(0.0)
        flow = self._flow(known.length) if known.length > 0 else sharp
        least = self._ratio(flow, v, from_c)
        most, leaky = least, flow
        seen, hidden = known.seen.get(self.direction), self._hidden_leak(from_c)
        unseen = (seen is None or "leak" not in self.law.reached) & (flow.leak < hidden)
        if unseen.any():
            leaky = _leakier(flow, v, np.where(unseen, hidden, flow.leak))
            most = self._ratio(leaky, v, from_c)
        change = 0.5 * (least + most) - 1.0
        warmer = self._ratio(leaky, v, from_c + error_k) - most
        each = [self._flow(length) for length in LENGTHS]
        leak, bleed, long = (np.array([[getattr(f, name)] for f in each]) for name in ("leak", "bleed", "length"))
        lengths = self._ratio(replace(sharp, leak=leak, bleed=bleed, length=long), v, from_c) - 1.0
        of_length = np.sqrt(known.weight @ (lengths - (lengths[0] if known.length == 0 else change)) ** 2)
        stop = self._ratio(replace(flow, valve=self.law.valve), v, from_c) - least
        trade = bend = np.zeros_like(v)
        if self.law.valve.loss > 0:
            bend = self._ratio(replace(flow, bent=not flow.bent), v, from_c) - least
        if seen is not None:
            error = seen.fitted(known.length)[2]
            trade = self._ratio(_leakier(flow, v, flow.leak + error), v, from_c) - least
        unsure = [
            self.unit.oil.unsure_share * change,
            warmer,
            (most - least) / 12**0.5,
            of_length,
            stop / 12**0.5,
            bend / 12**0.5,
            trade,
        ]
        moves = velocity_m_s > 0
        return np.where(moves, force * change, 0.0), np.where(moves, force * np.linalg.norm(unsure, axis=0), 0.0)

    def _hidden_leak(self, from_c: Array) -> Array:
        """Leak [m/s/N] that a fit may miss, as the oil at a temperature passes it: its share of the flow is largest at the knee."""
        law, line = self.law, self.unit.oil.line
        thin = viscosity_mm2_s(line, DECLARED_AT_C) / viscosity_mm2_s(line, from_c)
        steepest = float(np.max(law.valve.force(law.velocity_m_s[1:]) / law.velocity_m_s[1:]))
        return np.asarray(np.minimum(LEAK_NOT_SEEN * thin, MOST_HIDDEN) / steepest)

    def _flow(self, length: float) -> Flow:
        valve, oil = self.law.valve, self.unit.oil
        leak, bleed, seen = valve.leak, valve.bleed, self.known.seen.get(self.direction)
        if length > 0 and seen is not None:
            leak, bleed, *_ = seen.fitted(length)
        if valve.fully_open_force_n > HARDLY * float(self.law.force_n[-1]):
            valve = replace(valve, open=np.inf)
        bent = valve.loss * self.law.top_m_s**2 > REFILL * float(self.law.force_n[-1])
        return Flow(valve, leak, bleed, length, oil, oil.area_m2[DIRECTIONS.index(self.direction)], bent)

    def _ratio(self, flow: Flow, velocity_m_s: Array, from_c: Array) -> Array:
        """Force of the valve once brought from a temperature, over what it was, shape (N,); (H, N) of a flow of H lengths."""
        both_c = np.stack([np.full_like(from_c, self.to_c), from_c])[:, None]
        brought, was = flow.force_n(velocity_m_s, from_c, both_c)
        ratio = brought / was
        return np.asarray(ratio if np.ndim(flow.length) else ratio[0])


def _leakier(flow: Flow, velocity_m_s: Array, leak: Array | float) -> Flow:
    """With another leak, where the force stays at each speed."""
    force = flow.valve.root(velocity_m_s) ** 2
    return replace(flow, leak=leak, bleed=np.maximum(flow.bleed + (flow.leak - leak) * force**0.5, 0.0))


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
