"""What a vehicle file says about the car, worked out and named: springs, modes, axle, load moved, knee, friction dampers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from dampkit.needs.corner import N_M_PER_N_MM, Corner
from dampkit.needs.declared import Axle, Car, Friction, LeverArm, VehicleSpec
from dampkit.needs.friction_damper import FrictionDamper, friction_for_ratio, friction_ratio
from dampkit.needs.from_file import MM_PER_M, corner_of, lever_of, road_of
from dampkit.needs.requirement import (
    USUAL_REBOUND_SHARE,
    damper_target_ratio,
    needed_damping,
    spring_friction_at_damper_n,
)
from dampkit.needs.road_speeds import road_speeds
from dampkit.needs.springs.figures import Fact, spring_facts
from dampkit.needs.whole_car import BeamAxle, Swing, WholeCar, bounce_and_pitch
from dampkit.quantities import GRAVITY_M_S2

LEVER_TRAVELS_M = (-0.05, 0.0, 0.05)  # wheel travels at which a lever's ratio is shown
SWINGS_M = (0.01, 0.02, 0.04)  # of the body, at which leaf friction is shown as a ratio
MORE_UNSPRUNG_KG = 10.0  # for what a heavier wheel costs
PITCH_RADIUS_SHARE, ROLL_RADIUS_SHARE = 0.46, 0.42  # of wheelbase, of track; common practice, no source


def facts(spec: VehicleSpec) -> tuple[Fact, ...]:
    """Everything but the forces by speed and the ride. Raises BadSettings as `corner_of`."""
    corner = corner_of(spec)
    found = [*_target(spec), *_spring(spec, corner), *_corner(corner)]
    if isinstance(spec.linkage, LeverArm):
        found += _lever(spec.linkage)
    found += _knee(spec, corner)
    if spec.axle is not None:
        found += _axle(spec.axle, corner)
    if spec.car is not None:
        found += _car(spec.car, corner)
    if spec.friction_damper is not None:
        found += _friction_damper(spec.friction_damper, corner)
    return tuple(fact for fact in found if math.isfinite(fact.value))


def _target(spec: VehicleSpec) -> Iterator[Fact]:
    use, ratio = spec.target.use, spec.target.ratio
    if ratio is not None:
        basis = f'usual for "{use}": common practice, no source' if use else "declared"
        yield Fact("Target", "Damping ratio wanted", ratio, "", basis)
    if ratio is not None and spec.target.rebound_share is None:
        basis = "none was given; this is usual: common practice"
        yield Fact("Target", "Share of rebound in the force", USUAL_REBOUND_SHARE, "", basis)


def _spring(spec: VehicleSpec, corner: Corner) -> Iterator[Fact]:
    if spec.spring is not None:
        yield from spring_facts(spec.spring, corner.sprung_mass_kg * GRAVITY_M_S2)
    if corner.spring_friction_n > 0:
        for swing in SWINGS_M:
            ratio = friction_ratio(corner, corner.spring_friction_n, swing)
            what = f"Damping ratio that the friction adds in swings of {MM_PER_M * swing:.0f} mm"
            yield Fact("Spring", what, ratio, "", "most in small swings: a push-down by hand can hide a dead damper")


def _corner(corner: Corner) -> Iterator[Fact]:
    fact, modes = partial(Fact, "Corner"), corner.modes()
    yield fact("Damper travel per wheel travel", corner.motion_ratio, "", "declared or from [linkage]")
    yield fact("Ride rate with the tyre", corner.ride_rate_n_m / N_M_PER_N_MM, "N/mm", "wheel and tyre in series")
    yield fact("Critical damping at the wheel", corner.critical_damping_n_s_m, "N s/m", "2 sqrt(k m)")
    yield fact("Body frequency", modes.body_frequency_hz, "Hz", "two masses, undamped")
    yield fact("Wheel frequency", modes.wheel_frequency_hz, "Hz", "two masses, undamped")
    ratio = damper_target_ratio(corner)
    if ratio is None:
        return
    damped = corner.modes(ratio * corner.critical_damping_n_s_m)
    yield fact(
        "Damping coefficient wanted at the damper",
        needed_damping(corner, ratio),
        "N s/m",
        "mean of both directions, spring friction taken off",
    )
    yield fact("Body ratio with the tyre in", damped.body_ratio, "", "two masses; the target counts the tyre as stiff")
    yield fact("Wheel-hop ratio", damped.wheel_ratio, "", "at least 0.15 is usual: common practice, no source")


def _lever(given: LeverArm) -> Iterator[Fact]:
    ratios = lever_of(given).ratios(np.array(LEVER_TRAVELS_M))
    for travel, ratio in zip(LEVER_TRAVELS_M, ratios, strict=True):
        what = f"Ratio with the wheel {MM_PER_M * travel:+.0f} mm from ride height"
        yield Fact("Lever arm", what, float(ratio), "", "geometry of arm and drop link; up is bump")


def _knee(spec: VehicleSpec, corner: Corner) -> Iterator[Fact]:
    road = road_of(spec)
    speeds, ratio = road_speeds(corner, road), damper_target_ratio(corner)
    if speeds is None or ratio is None:
        return
    fact = partial(Fact, f"Knee and blow-off, for road class {road.road_class} at {3.6 * road.speed_m_s:.0f} km/h")
    share = USUAL_REBOUND_SHARE if corner.rebound_share_ratio is None else corner.rebound_share_ratio
    yield fact("Damper speed from body motion", speeds.body_m_s, "m/s", "root mean square, below midway of the modes")
    yield fact("Damper speed from wheel hop", speeds.wheel_m_s, "m/s", "root mean square, above midway of the modes")
    yield fact(
        "Suggested speed of the knee", speeds.knee_m_s, "m/s", "body motion stays below it 95 % of the time; own choice"
    )
    whole = needed_damping(corner, corner.target_ratio or 0.0) * speeds.knee_m_s
    mean = max(0.0, whole - spring_friction_at_damper_n(corner))
    for way, part in (("rebound", share), ("compression", 1 - share)):
        force = 2 * part * mean
        yield fact(
            f"Suggested blow-off force, {way}",
            force,
            "N",
            "needed force at that knee, spring friction taken off; a place to start",
        )
    heavier = road_speeds(replace(corner, unsprung_mass_kg=corner.unsprung_mass_kg + MORE_UNSPRUNG_KG), road)
    basis = "root mean square over standing load, straight damper of the target ratio"
    yield fact("Tyre-load variation", speeds.tyre_load_variation_ratio, "", basis)
    if heavier is not None:
        what = f"The same with {MORE_UNSPRUNG_KG:.0f} kg more at the wheel"
        yield fact(what, heavier.tyre_load_variation_ratio, "", "what a heavier axle, wheel or brake costs")


def _axle(given: Axle, corner: Corner) -> Iterator[Fact]:
    fact = partial(Fact, "Axle")
    if given.kind == "independent":
        yield fact(
            "Wheel-hop frequency, each wheel by itself", corner.modes().wheel_frequency_hz, "Hz", "independent wheels"
        )
        return
    track = given.track_mm / MM_PER_M
    spring, damper = ((x or given.track_mm) / MM_PER_M for x in (given.spring_spacing_mm, given.damper_spacing_mm))
    inertia = given.roll_inertia_kg_m2 or 2 * corner.unsprung_mass_kg * (track / 2) ** 2
    guessed = (
        "" if given.roll_inertia_kg_m2 else "; inertia taken as if all mass were at the wheels, so on the low side"
    )
    beam = BeamAxle(corner, track, spring, damper, inertia)
    yield fact("Hop, both wheels together", corner.modes().wheel_frequency_hz, "Hz", "two masses, undamped")
    yield fact("Tramp, one wheel up and one down", beam.tramp_frequency_hz(), "Hz", f"body held still{guessed}")
    yield fact("Share of damping left in tramp", beam.share_in_tramp(damper), "", "(damper spacing/track) squared")
    ratio = damper_target_ratio(corner)
    if ratio is not None:
        tramp = beam.tramp_ratio(ratio * corner.critical_damping_n_s_m)
        yield fact("Tramp ratio at the target", tramp, "", "at least 0.15 is usual: common practice, no source")


def _car(given: Car, corner: Corner) -> Iterator[Fact]:
    fact, other = partial(Fact, "Load moved, pitch and roll"), given.other_wheel_rate_n_mm * N_M_PER_N_MM
    front = given.this_axle == "front"
    rates = (corner.wheel_rate_n_m, other) if front else (other, corner.wheel_rate_n_m)
    length, track = given.wheelbase_mm / MM_PER_M, given.track_mm / MM_PER_M
    gyration = (given.pitch_radius_mm or PITCH_RADIUS_SHARE * given.wheelbase_mm) / MM_PER_M
    roll_radius = (given.roll_radius_mm or ROLL_RADIUS_SHARE * given.track_mm) / MM_PER_M
    car = WholeCar(given.mass_kg, length, given.centre_height_mm / MM_PER_M, track, given.front_share, rates,
                   given.mass_kg * gyration**2, given.mass_kg * roll_radius**2)  # fmt: skip
    for what, g in (("Braking", given.braking_g), ("Driving off", given.driving_g)):
        moved = car.moved_along_n(g * GRAVITY_M_S2) / 2
        yield fact(f"{what} at {g:g} g moves, each wheel", moved, "N", "m a h/(2 L)")
    angle = math.degrees(car.pitch_angle_rad(given.braking_g * GRAVITY_M_S2))
    yield fact("Nose dive on the springs alone", angle, "degrees", "linkage that resists dive left out")
    across = car.moved_across_n(given.cornering_g * GRAVITY_M_S2) / 2
    yield fact(f"Cornering at {given.cornering_g:g} g moves, each wheel", across, "N", "m a h/(2 t), both ends alike")
    lean = math.degrees(car.roll_angle_rad(given.cornering_g * GRAVITY_M_S2))
    yield fact("Roll on the springs alone", lean, "degrees", "roll bars and height of the roll axis left out")
    both = bounce_and_pitch(car.mass_kg, gyration, 2 * rates[0], 2 * rates[1], car.arms_m)
    yield fact("Slower of bounce and pitch", both.frequency_hz[0], "Hz", "undamped")
    yield fact("Faster of bounce and pitch", both.frequency_hz[1], "Hz", "undamped")
    if corner.target_ratio is None:
        return
    masses = tuple(0.5 * given.mass_kg * share for share in (given.front_share, 1 - given.front_share))
    damping = [2 * corner.target_ratio * math.sqrt(k * m) for k, m in zip(rates, masses, strict=True)]
    pair = (damping[0], damping[1])
    yield from _transient(fact, "pitch", car.pitch(pair))
    yield from _transient(fact, "roll", car.roll(pair))


def _transient(fact: Callable[..., Fact], name: str, swing: Swing) -> Iterator[Fact]:
    basis = "target ratio at every corner; a step of load, about one axis alone"
    yield fact(f"Damping ratio in {name}", swing.ratio, "", basis)
    yield fact(f"Overshoot in {name}", swing.overshoot_ratio, "", basis)
    yield fact(f"Time until {name} is steady", swing.settle_s, "s", "to 5 %")


def _friction_damper(given: Friction, corner: Corner) -> Iterator[Fact]:
    if corner.target_ratio is None:
        return
    fact, amplitude = partial(Fact, "Friction damper"), given.amplitude_mm / MM_PER_M
    unit = FrictionDamper(
        given.outer_diameter_mm / 2 / MM_PER_M,
        given.inner_diameter_mm / 2 / MM_PER_M,
        given.faces,
        given.friction_coefficient,
        given.arm_mm / MM_PER_M,
    )
    left = max(0.0, friction_for_ratio(corner, corner.target_ratio, amplitude) - corner.spring_friction_n)
    at_arm = left / corner.motion_ratio
    yield fact(
        f"Friction wanted at the wheel, for swings of {given.amplitude_mm:g} mm", left, "N", "spring friction taken off"
    )
    yield fact("Friction wanted at the end of the arm", at_arm, "N", "over the motion ratio")
    yield fact(
        "Clamp force",
        unit.clamp_n(at_arm),
        "N",
        "worn-in discs; the coefficient drifts with damp, oil and wear, so check on the bench",
    )
    for factor, word in ((0.5, "half"), (2.0, "twice")):
        ratio = friction_ratio(corner, left + corner.spring_friction_n, factor * amplitude)
        yield fact(
            f"Damping ratio at {word} that swing", ratio, "", "friction cannot hold a ratio: it goes with 1/swing"
        )
    locked = MM_PER_M * (left + corner.spring_friction_n) / corner.wheel_rate_n_m
    yield fact("Spring locked in swings below", locked, "mm", "friction over wheel rate; only the tyre gives there")
