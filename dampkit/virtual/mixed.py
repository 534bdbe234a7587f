"""A mixed fleet: any unit, sound or faulty, on any bench, drive and programme, with any valve; and what is true of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.frozen import frozen
from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.quantities import DIRECTIONS, Array
from dampkit.virtual.dialects import PLAIN, Dialect, bench_toml, write_csv
from dampkit.virtual.faulted import faulted
from dampkit.virtual.mixed_truth import MixedTruth, is_charged, oil_missing_m3, series_stiffness, stage_truths
from dampkit.virtual.papers import Car, damper_toml, vehicle_toml
from dampkit.virtual.plant import Kind, Plant
from dampkit.virtual.programme import Programme
from dampkit.virtual.programmes import DRIVES, LADDERS_M_S, PLANS, programme
from dampkit.virtual.rig import Log, Ran, Rig, Setup, run_benches
from dampkit.virtual.shapes import SHAPES, shaped
from dampkit.virtual.truth import bench_reading, truth
from dampkit.virtual.units import random_unit

STEPS_PER_CYCLE = 160
SIDE_BY_SIDE = 120  # runs in one integration: a step costs little more for many than for one
REFERENCE_C = 20.0
Faults = tuple[tuple[str, float], ...]


@frozen
class Wanted:
    """One run of the mixed fleet; what is None is drawn from the seed."""

    seed: int
    kind: Kind
    faults: Faults = ()
    programme: str | None = None
    drive: str | None = None
    valves: str | None = None
    rig: Rig | None = None


@frozen
class MixedCase:
    """A run, the papers that came with it, and what is true. `sound` is the unit before its faults, `plant` with them."""

    wanted: Wanted
    sound: Plant
    plant: Plant
    rig: Rig
    motion: Programme
    log: Log
    declared_zero_n: float | None
    truth: MixedTruth

    @property
    def speeds_m_s(self) -> Array:
        """Speeds of the reference: the ladder of the kind without its slow pass."""
        return np.array(LADDERS_M_S[self.sound.kind][1:])

    def files(self, dialect: Dialect = PLAIN) -> dict[str, bytes]:
        """run.csv, run.bench.toml, run.damper.toml and run.vehicle.toml."""
        return {"run.csv": write_csv(self.log, dialect)} | self.papers(dialect)

    def papers(self, dialect: Dialect = PLAIN) -> dict[str, bytes]:
        """What is declared beside the log."""
        extra = f"[uncertainty]\nforce_percent = 0.5\nforce_n = {max(2.0, self.rig.force_step_n):.1f}\n"
        if self.declared_zero_n is not None:
            extra = f"[zero]\nforce_n = {dialect.force_sign * self.declared_zero_n:.1f}\n\n{extra}"
        number = 1000 + self.wanted.seed % 9000
        return {
            "run.bench.toml": bench_toml(dialect, zero_known=False, extra=extra).encode(),
            "run.damper.toml": damper_toml(self.sound, number, self.speeds_m_s, REFERENCE_C).encode(),
            "run.vehicle.toml": vehicle_toml(car_for(self.sound)).encode(),
        }


def mixed_cases(wanted: Sequence[Wanted]) -> tuple[MixedCase, ...]:
    """Runs in the order asked for, made side by side with others of about their length."""
    drawn = [_draw(w) for w in wanted]
    order = sorted(range(len(drawn)), key=lambda i: drawn[i].motion.steps(STEPS_PER_CYCLE).size)
    made: dict[int, MixedCase] = {}
    for start in range(0, len(order), SIDE_BY_SIDE):
        group = order[start : start + SIDE_BY_SIDE]
        setups = [Setup(drawn[i].plant, drawn[i].motion, drawn[i].rig, drawn[i].wanted.seed) for i in group]
        made |= {i: _case(drawn[i], ran) for i, ran in zip(group, _run(setups), strict=True)}
    return tuple(made[i] for i in range(len(drawn)))


def _run(setups: Sequence[Setup]) -> tuple[Ran, ...]:
    """All in one integration; where that stalls, in halves, and the one that stalls with finer steps."""
    try:
        return run_benches(setups, STEPS_PER_CYCLE)
    except ArithmeticError:
        if len(setups) == 1:
            return run_benches(setups, 4 * STEPS_PER_CYCLE)
        half = len(setups) // 2
        return _run(setups[:half]) + _run(setups[half:])


@frozen
class _Drawn:
    wanted: Wanted
    names: tuple[str, str, str]  # programme, drive, valves
    sound: Plant
    plant: Plant
    rig: Rig
    motion: Programme


def _draw(wanted: Wanted) -> _Drawn:
    """Unit, valve, heat, carry, bench, drive and programme of a seed."""
    rng = np.random.default_rng([wanted.seed, 17])
    names = tuple(
        str(asked if asked is not None else drawn)
        for asked, drawn in zip(
            (wanted.programme, wanted.drive, wanted.valves),
            (rng.choice(list(PLANS)), rng.choice(list(DRIVES)), rng.choice(list(SHAPES))),
            strict=True,
        )
    )
    sound = plant = shaped(_sound_unit(rng, wanted), SHAPES[names[2]])
    for code, severity in wanted.faults:
        plant = faulted(plant, code, severity)
    drive = DRIVES[names[1]]
    rig = wanted.rig or random_rig(rng)
    plan = PLANS[names[0]]
    rig = replace(rig, droop_share=drive.droop_share, temperature=rig.temperature if plan.temperature else "none")
    motion = programme(names[0], wanted.kind, drive)
    return _Drawn(wanted, (names[0], names[1], names[2]), sound, plant, rig, motion)


def _sound_unit(rng: np.random.Generator, wanted: Wanted) -> Plant:
    """A random unit, charged where a fault needs a charge, at a workshop's temperature, with a car unit's heat."""
    unit = random_unit(rng, wanted.kind)
    while any(code == "low_gas_pressure" for code, _ in wanted.faults) and not is_charged(unit):
        unit = random_unit(rng, wanted.kind)
    celsius = float(rng.uniform(12.0, 30.0))
    return replace(
        unit,
        start_c=celsius,
        ambient_c=celsius,
        heat_capacity_j_k=float(rng.uniform(350.0, 700.0)),  # car damper body with its oil: common practice, no source
        cooling_w_k=float(rng.uniform(0.5, 2.5)),
        pocket_carry=float(np.exp(rng.uniform(np.log(0.05), np.log(5.0)))),
    )


def random_rig(rng: np.random.Generator) -> Rig:
    """A bench with the habits of many: rate, noise, steps, hum, drift, offset, delay, give and moving mass."""
    return Rig(
        sample_rate_hz=float(rng.choice([200.0, 500.0, 1000.0, 2000.0], p=[0.2, 0.4, 0.3, 0.1])),
        force_noise_n=float(np.exp(rng.uniform(np.log(0.5), np.log(8.0)))),
        force_step_n=float(rng.choice([0.1, 1.0, 2.0, 5.0, 10.0])),
        displacement_step_m=float(rng.choice([5e-6, 2e-5, 5e-5])),
        temperature_lag_s=float(rng.choice([0.0, 15.0])),
        cell_zero_n=float(rng.choice([0.0, 1.0]) * rng.uniform(-40.0, 40.0)),
        cell_drift_n_s=float(rng.choice([0.0, 1.0], p=[0.7, 0.3]) * rng.uniform(-0.1, 0.1)),
        hum_n=float(rng.choice([0.0, 1.0], p=[0.7, 0.3]) * rng.uniform(1.0, 6.0)),
        force_delay_s=float(rng.choice([0.0, 1.0]) * rng.uniform(0.0, 0.003)),
        flex_m_n=float(rng.choice([0.0, 1.0]) * rng.uniform(0.0, 3e-7)),
        moving_mass_kg=float(rng.choice([0.0, 1.0]) * rng.uniform(0.0, 2.0)),
    )


def _case(drawn: _Drawn, ran: Ran) -> MixedCase:
    plant, rig, facts = drawn.plant, drawn.rig, truth(drawn.plant)
    plan = PLANS[drawn.names[0]]
    declared = round(rig.cell_zero_n, 0) if plan.zero_declared else None  # read off a display that shows newtons
    return MixedCase(
        wanted=drawn.wanted,
        sound=drawn.sound,
        plant=plant,
        rig=rig,
        motion=drawn.motion,
        log=ran.log,
        declared_zero_n=declared,
        truth=MixedTruth(
            kind=plant.kind,
            faults=drawn.wanted.faults,
            programme=drawn.names[0],
            drive=drawn.names[1],
            valves=drawn.names[2],
            friction_n=facts.friction_n,
            breakaway_ratio=plant.friction.breakaway_ratio,
            gas_force_n=facts.gas_force_n,
            play_mm=facts.play_mm,
            series_stiffness_n_m=series_stiffness(plant, rig),
            carry=plant.pocket_carry,
            oil_missing_m3=oil_missing_m3(drawn.sound, plant),
            cell_zero_n=rig.cell_zero_n,
            zero_declared=plan.zero_declared,
            has_temperature=ran.log.temperature_c is not None,
            moving_mass_kg=rig.moving_mass_kg,
            force_delay_s=rig.force_delay_s,
            stages=stage_truths(plant, drawn.motion, ran),
        ),
    )


def car_for(unit: Plant, wheel_rate_n_mm: float = 22.0, motion_ratio: float = 0.85) -> Car:
    """An invented corner whose wanted damping the sound unit gives, so far as a sprung mass of 150 to 600 kg can.

    Ratio c R^2 / (2 sqrt(k m)) with the equivalent c of the mean of both directions. Source: [dixon2007].
    """
    angle = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 181)
    peak = RATED_SPEED_M_S
    speed = peak * np.cos(angle)
    sides = [bench_reading(unit, side, speed, REFERENCE_C) for side in DIRECTIONS]
    damping = [2.0 / np.pi * float(np.trapezoid(force * np.cos(angle), angle)) / peak for force in sides]
    rate = 0.5 * sum(damping) * motion_ratio**2
    mass = float(np.clip((rate / (2.0 * 0.3)) ** 2 / (1e3 * wheel_rate_n_mm), 150.0, 600.0))
    ratio = float(np.clip(rate / (2.0 * np.sqrt(1e3 * wheel_rate_n_mm * mass)), 0.05, 1.5))
    share = float(np.clip(damping[0] / sum(damping), 0.2, 0.9))
    return Car(
        "Hollow Moon test corner (made up)", mass, 0.13 * mass, wheel_rate_n_mm, 200.0, motion_ratio, ratio, share
    )
