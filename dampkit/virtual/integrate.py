"""The plant in time: implicit second-order steps over a fleet, oil and gas conserved to rounding.

Oil volume and pocket gas of each chamber (both counted at one atmosphere) are the stored states; pressures follow
from the volume that oil and gas must fill. What leaves one chamber enters another, so mass is kept whatever the
step. Steps are BDF2 with variable step size, the pressures and the piston speed solved together by Newton.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.virtual.chambers import divergence, path_drop, solve
from dampkit.virtual.fleet import Fleet
from dampkit.virtual.flow import BLEED, LEAK, OPEN, flow
from dampkit.virtual.oil import ATMOSPHERE_PA, KELVIN
from dampkit.virtual.plant import Plant

PRESSURE_DONE_PA = 10.0
TRAVEL_DONE_M = 1e-8
MOST_ITERATIONS = 80
STEPS_PER_TEMPERATURE = 8
LEVEL_BAND_M3 = 0.1e-6  # reserve oil over which the intake goes from all oil to all gas


@frozen
class Motion:
    """What the bench imposes on the eye, at the steps of the integration: shapes (K,) or (K, N) each."""

    time_s: Array
    displacement_m: Array


@frozen
class Trace:
    """What came out. Shapes (K, N); pressures, oil and gas (K, 3, N), the last two at one atmosphere.

    Time as in the motion.
    """

    time_s: Array
    force_n: Array  # at the eye, tension positive, without moving mass
    travel_m: Array  # of the rod, behind bush and play
    speed_m_s: Array
    temperature_c: Array
    heat_w: Array
    pressure_pa: Array
    oil_m3: Array
    gas_m3: Array
    worst_iterations: int

    def alone(self, index: int, steps: int) -> Trace:
        """The first steps of one plant."""
        own = slice(index, index + 1)
        parts = {f.name: getattr(self, f.name)[:steps, ..., own] for f in fields(self)[1:-1]}
        time_s = self.time_s if self.time_s.ndim == 1 else self.time_s[:, index]
        return replace(self, time_s=time_s[:steps], **parts)


@frozen
class _State:
    pressure: Array
    oil: Array
    gas: Array
    travel: Array
    speed: Array


@frozen
class _Step:
    """Known parts of the step: y_new = past + weight * rate_new."""

    weight: float | Array
    oil: Array
    gas: Array
    travel: Array
    bench_m: float | Array
    sliding: Array
    share: Array  # share of pocket gas in what each path carries forward and backward


def simulate(plants: Sequence[Plant], motion: Motion) -> Trace:
    """Drive N plants through one motion. Raises ArithmeticError where a step does not converge."""
    return _Integrator(Fleet(plants)).run(motion)


class _Integrator:
    def __init__(self, fleet: Fleet) -> None:
        self.f = fleet
        zero = np.zeros(fleet.count)
        self.now = _State(fleet.pressure.copy(), fleet.oil.copy(), fleet.pocket.copy(), zero, zero)
        self.before = self.older = self.now
        self.last_ratio: float | Array = 0.0
        self.temperature = fleet.start_c.copy()
        self.atmosphere_n = ATMOSPHERE_PA * fleet.area.sum(axis=0)
        self.force = np.asarray((fleet.area * fleet.pressure).sum(axis=0) - self.atmosphere_n)
        self.heat, self.stored_heat = zero.copy(), zero.copy()
        self.has_pockets = bool(np.any(fleet.pocket[:2] > 0))
        self.no_share = np.zeros((2, 3, fleet.count))
        self.worst = 0
        self._warm()
        self._settle_bush()

    def _settle_bush(self) -> None:
        """Let bush and play take up the force at rest, so that the run does not start with a jump."""
        slack = self.force / self.f.stiffness + np.sign(self.force) * self.f.half_play
        state = self.now
        self.now = self.before = _State(state.pressure, state.oil, state.gas, -slack, state.speed)
        held = self.f.area * slack  # keep the pressures: give the chambers the oil that fills their volume
        give = self.swell * self._specific(state.pressure, self.f.gas_volume_ratio(state.pressure))
        self.now = self.before = _State(state.pressure, state.oil + held / give, state.gas, -slack, state.speed)

    def run(self, motion: Motion) -> Trace:
        steps, n = len(motion.time_s), self.f.count
        force, travel, speed, temperature, heat = np.empty((5, steps, n))
        pressure, oil, gas = np.empty((3, steps, 3, n))
        lengths = np.diff(motion.time_s, axis=0)
        ratios = np.zeros_like(lengths)
        ratios[1:] = np.where(lengths[1:] < 2.0 * lengths[:-1], lengths[1:] / lengths[:-1], 0.0)
        pace = list(zip(*(x.tolist() if x.ndim == 1 else x for x in (lengths, ratios)), strict=True))
        since: float | Array = 0.0
        for k in range(steps):
            if k:
                step, ratio = pace[k - 1]
                self._step(step, ratio, motion.displacement_m[k])
                since = since + step
            if k % STEPS_PER_TEMPERATURE == 0 and k:
                self._heat(since)
                since = 0.0
            now = self.now
            force[k], travel[k], speed[k], temperature[k], heat[k] = (
                self.force,
                now.travel,
                now.speed,
                self.temperature,
                self.heat,
            )
            pressure[k], oil[k], gas[k] = now.pressure, now.oil, now.gas
        return Trace(motion.time_s, force, travel, speed, temperature, heat, pressure, oil, gas, self.worst)

    def _heat(self, seconds: float | Array) -> None:
        loss = self.f.cooling * (self.temperature - self.f.ambient)
        self.temperature = self.temperature + (self.stored_heat - seconds * loss) / self.f.heat_capacity
        self.stored_heat = np.zeros(self.f.count)
        self._warm()

    def _warm(self) -> None:
        """Put the oil temperature into the valves, the oil volume and the gas."""
        self.swell = self.f.swelling(self.temperature)
        self.forward, self.backward = self.f.valves(self.temperature)
        for valve in (self.forward, self.backward):  # flow counted as oil volume at 20 degC
            valve[[LEAK, BLEED, OPEN]] /= self.swell
        self.past_piston = self.forward[BLEED, 0].copy(), self.backward[BLEED, 0].copy()
        self.gas_swell = ((self.temperature + KELVIN) / (self.f.start_c + KELVIN)) ** self.f.per_n

    def _specific(self, pressure: Array, ratio: Array) -> Array:
        """Volume of oil and its bubbles per volume of oil at one atmosphere, without heat."""
        return 1.0 - (pressure - ATMOSPHERE_PA) * self.f.per_modulus + self.f.bubbles * ratio

    def _enthalpy(self, pressure: Array, ratio: Array) -> Array:
        """Work that oil with its bubbles brings along into a chamber, per volume of oil at one atmosphere."""
        springy = 1.0 - (0.5 * pressure - ATMOSPHERE_PA) * self.f.per_modulus
        return pressure * (springy + self.f.bubbles * ratio / (1.0 - self.f.per_n))

    def _shares(self) -> Array:
        """Share of pocket gas by volume that each path carries, forward in [0] and backward in [1]: (2, 3, N)."""
        now, f = self.now, self.f
        self.has_pockets = self.has_pockets or bool((now.oil[2] < f.pickup + LEVEL_BAND_M3).any())
        if not self.has_pockets:
            return self.no_share
        out = np.zeros((2, 3, f.count))
        filled = f.volume - f.area * now.travel
        carried = np.clip(f.carry * (now.gas[:2] * f.gas_volume_ratio(now.pressure[:2]) / filled[:2]), 0.0, 1.0)
        out[0, 0], out[0, 2], out[0, 1], out[1, 0] = carried[0], carried[0], carried[1], carried[1]
        level = (f.pickup - now.oil[2]) / LEVEL_BAND_M3
        out[1, 1] = out[1, 2] = np.clip(level + 0.5, 0.0, 1.0)
        return out

    def _step(self, step: float | Array, ratio: float | Array, bench_m: float | Array) -> None:
        a, b = (1.0 + ratio) ** 2 / (1.0 + 2.0 * ratio), ratio**2 / (1.0 + 2.0 * ratio)
        now, old = self.now, self.before
        known = _Step(
            weight=step * (1.0 + ratio) / (1.0 + 2.0 * ratio),
            oil=a * now.oil - b * old.oil,
            gas=a * now.gas - b * old.gas,
            travel=a * now.travel - b * old.travel,
            bench_m=bench_m,
            sliding=self._sliding(now),
            share=self._shares(),
        )
        if self.f.has_groove:
            self._uncover(step)
        pressure, speed = self._guess(ratio)
        self.older, self.before = old, now
        self.now = self._newton(known, pressure, speed)
        if self.has_pockets:
            self._vent(step)
        self.stored_heat += step * self.heat

    def _guess(self, ratio: float | Array) -> tuple[Array, Array]:
        """Pressures and piston speed carried on from the last steps, through three of them where they are equal."""
        now, old, older = self.now, self.before, self.older
        even = (np.abs(ratio - 1.0) < 1e-6) & (np.abs(self.last_ratio - 1.0) < 1e-6)

        def carried_on(now: Array, old: Array, older: Array) -> Array:
            return np.where(even, 3.0 * (now - old) + older, now + ratio * (now - old))

        pressure = carried_on(now.pressure, old.pressure, older.pressure)
        speed = carried_on(now.speed, old.speed, older.speed)
        self.last_ratio = ratio
        return np.maximum(pressure, 0.3 * now.pressure), speed

    def _newton(self, known: _Step, pressure: Array, speed: Array) -> _State:
        f, w = self.f, known.weight
        last, last_faster, damp = np.zeros_like(pressure), np.zeros(f.count), np.ones(f.count)
        for iteration in range(1, MOST_ITERATIONS + 1):
            miss, give, slope, oil, gas = self._chambers(known, pressure, speed)
            unbalance, damping = self._mechanics(known, pressure, speed)
            right = f.area * (w * unbalance / damping) - miss
            change = solve(give, slope, f.area, w / damping, right)
            faster = (unbalance - (f.area * change).sum(axis=0)) / damping
            if iteration > 2:  # square-root laws make Newton swing to and fro about no flow: shorten the swings
                turned = (change * last).sum(axis=0) < -(PRESSURE_DONE_PA**2)
                turned |= w * w * faster * last_faster < -(TRAVEL_DONE_M**2)
                damp = np.where(turned, 0.5 * damp, np.minimum(1.0, 1.4 * damp))
                change, faster = damp * change, damp * faster
            last, last_faster = change, faster
            start, pressure = pressure, np.maximum(pressure + change, 0.2 * pressure)
            new = speed + faster
            crossed = new * speed < 0.0  # dry friction: stop at rest before turning round
            speed = np.where(crossed, 0.0, new)
            if np.abs(change).max() < PRESSURE_DONE_PA and (w * np.abs(faster)).max() < TRAVEL_DONE_M:
                break
        else:
            raise ArithmeticError(f"no convergence: pressure still moving by {np.abs(change).max():.3g} Pa")
        self.worst = max(self.worst, iteration)
        oil = oil + divergence(self.oil_slope * path_drop(pressure - start))  # what the last correction lets through
        travel = known.travel + w * speed
        self.force = f.stiffness * self._slack(known.bench_m - travel)
        lost = path_drop(self._enthalpy(pressure, self.ratio))
        self.heat = self.swell * (self.flow * lost).sum(axis=0) + self.friction * speed
        if self.has_pockets:
            lost = path_drop(pressure * self.ratio / (1.0 - f.per_n))
            self.heat += self.gas_swell * (self.gas_flow * lost).sum(axis=0)
        return _State(pressure, oil, gas, travel, speed)

    def _chambers(self, known: _Step, pressure: Array, speed: Array) -> tuple[Array, Array, Array, Array, Array]:
        """Volume each chamber is short of, what it gives per pascal, the slope of the paths; new oil and gas."""
        f, w = self.f, known.weight
        ratio = np.asarray((ATMOSPHERE_PA / pressure) ** f.per_n)
        drop = path_drop(pressure)
        forward = drop > 0.0
        q, slope = flow(np.abs(drop), np.where(forward, self.forward, self.backward))
        q, whole = np.copysign(q, drop), slope
        gas = known.gas
        if self.has_pockets:
            share = np.where(forward, known.share[0], known.share[1])
            per_gas = 1.0 / ratio
            upstream = np.where(forward, per_gas[[0, 1, 0]], per_gas[[1, 2, 2]])
            self.gas_flow = q * share * upstream
            gas = gas + w * divergence(self.gas_flow)
            q, slope = q * (1.0 - share), slope * (1.0 - share)
        oil = known.oil + w * divergence(q)
        soft = self.gas_swell * (gas + f.charge) * ratio
        wet = self.swell * oil
        miss = f.volume - f.area * (known.travel + w * speed) - wet * self._specific(pressure, ratio) - soft
        give = wet * f.per_modulus + (wet * f.bubbles * ratio + soft) * f.per_n / pressure
        self.flow, self.ratio, self.oil_slope = q, ratio, w * slope
        return miss, give, w * whole, oil, gas

    def _mechanics(self, known: _Step, pressure: Array, speed: Array) -> tuple[Array, Array]:
        """Force left over at the rod, and its slope against piston speed."""
        f = self.f
        slack = self._slack(known.bench_m - known.travel - known.weight * speed)
        hydraulic = (f.area * pressure).sum(axis=0) - self.atmosphere_n
        smooth = np.tanh(speed * f.per_smoothing)
        friction = known.sliding * smooth + f.viscous * speed
        rising = known.sliding * (1.0 - smooth * smooth) * f.per_smoothing + f.viscous
        self.friction = friction
        damping = f.stiffness * (slack != 0.0) * known.weight + rising
        return f.stiffness * slack - hydraulic - friction, np.maximum(damping, 1.0)

    def _sliding(self, now: _State) -> Array:
        """Dry friction at the last step: more at the tight spot, more near rest.

        Taken a step late, since friction that falls with speed has no single answer at once.
        """
        f, level = self.f, self.f.sliding
        if f.has_side_load:
            level = level + f.side_friction_n(now.travel)
        if f.bump.any():
            level = level * (1.0 + f.bump * np.exp(-(((now.travel - f.bump_at) * f.per_bump_width) ** 2)))
        if f.extra_breakaway.any():
            level = level * (1.0 + f.extra_breakaway * np.exp(-((now.speed * f.per_breakaway_speed) ** 2)))
        return level

    def _uncover(self, step: float | Array) -> None:
        """Open the grooves at the place where the piston will be: the same passage both ways."""
        area = self.f.groove_m2(self.now.travel + step * self.now.speed) * self.f.flow_per_area(self.swell)
        for valve, shut in zip((self.forward, self.backward), self.past_piston, strict=True):
            valve[BLEED, 0] = shut + area

    def _slack(self, stretch: Array) -> Array:
        """What is left of the stretch between bench and rod once the play is used up."""
        return stretch - np.minimum(np.maximum(stretch, -self.f.half_play), self.f.half_play)

    def _vent(self, step: float | Array) -> None:
        """Let pockets rise out of the working chambers into the reserve with piston travel; what they bring along is heat."""
        now, old = self.now, self.before
        leaving = now.gas[:2] * -np.expm1(-step * np.abs(now.speed) * self.f.vent_per_m)
        work = now.pressure * self.ratio / (1.0 - self.f.per_n)
        self.heat += self.gas_swell * (leaving * (work[:2] - work[2])).sum(axis=0) / step
        moved = np.concatenate([-leaving, leaving.sum(axis=0, keepdims=True)])
        self.now = _State(now.pressure, now.oil, now.gas + moved, now.travel, now.speed)
        self.before = _State(old.pressure, old.oil, old.gas + moved, old.travel, old.speed)
