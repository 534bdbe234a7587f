"""Each fault changes the plant, and shows in the run as the physics says it must."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from dampkit.errors import BadSettings
from dampkit.quantities import Array
from dampkit.virtual.faulted import BY_CODE, FAULTS, faulted
from dampkit.virtual.integrate import simulate
from dampkit.virtual.plant import KINDS, Kind, Plant
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import motion_of
from dampkit.virtual.truth import hydraulic_force, truth
from dampkit.virtual.units import BASE, LEVER_ARM, MONOTUBE, TWIN_TUBE, random_unit

CONTRACT_CODES = (
    "low_oil",
    "aerated_oil",
    "low_gas_pressure",
    "internal_leak",
    "weak_blowoff",
    "blocked_bleed",
    "high_friction",
    "bent_rod",
    "loose_mount",
    "fade",
    "trapped_air",
)
STEADY = Programme((Drive.at_speed(0.1, 6.0),), dwell_s=0.1)
FAST = Programme((Drive.at_speed(0.8, 6.0),), dwell_s=0.1)


@cache
def force_of(plant: Plant, programme: Programme) -> Array:
    """Force at the steps of the programme."""
    return simulate([plant], motion_of(programme)).force_n[:, 0]


def cycle(plant: Plant, programme: Programme = STEADY, number: int = 5) -> tuple[Array, Array]:
    """Displacement and force over one cycle of the first stage, starting at mid-stroke outward."""
    drive, motion = programme.drives[0], motion_of(programme)
    start = programme.starts_s[0] + (0.025 + number - 1) / drive.frequency_hz
    time_s = start + np.arange(2000) / 2000.0 / drive.frequency_hz
    here = np.interp(time_s, motion.time_s, motion.displacement_m)
    return here, np.interp(time_s, motion.time_s, force_of(plant, programme))


def idle_travel_mm(plant: Plant, sound: Plant, programme: Programme = STEADY, number: int = 5) -> tuple[float, float]:
    """Travel from a reversal until half of the sound unit's mid-stroke force is there: into compression, rebound."""
    (here, force), (_, whole) = cycle(plant, programme, number), cycle(sound, programme, number)
    force, whole = force - plant.gas_force_n, whole - sound.gas_force_n
    found = []
    for part, sign in ((np.arange(500, 1500), -1.0), (np.r_[1500:2000, 0:500], 1.0)):
        built_up = sign * force[part] > 0.5 * sign * whole[part[500]]
        late = int(np.argmax(built_up)) if built_up.any() else 999
        found.append(1e3 * abs(float(here[part[late]] - here[part[0]])))
    return found[0], found[1]


def test_every_contract_code_has_its_fault() -> None:
    assert set(CONTRACT_CODES) <= set(BY_CODE)
    assert all(fault.physical for fault in FAULTS)


@pytest.mark.parametrize("kind", KINDS)
def test_random_units_are_sound_sizes_and_take_every_fault_of_their_kind(kind: Kind) -> None:
    rng = np.random.default_rng(11)
    plants = [random_unit(rng, kind) for _ in range(6)]
    for fault in FAULTS:
        if kind in fault.kinds:
            unit = replace(plants[0], gas_pressure_pa=max(plants[0].gas_pressure_pa, 4e5))
            plants.append(faulted(unit, fault.code, 4.0))
    trace = simulate(plants, motion_of(FAST))
    assert np.isfinite(trace.force_n).all()
    assert trace.pressure_pa.min() > 0.0


@pytest.mark.parametrize(
    ("code", "severity", "plant", "says"),
    [
        ("no_such", 3.0, TWIN_TUBE, "not known"),
        ("low_oil", 3.0, MONOTUBE, "cannot have it"),
        ("low_oil", 9.0, TWIN_TUBE, "1 to 5"),
        ("low_gas_pressure", 2.0, BASE["twin-tube"][1], "no charge"),
    ],
)
def test_impossible_faults_are_refused(code: str, severity: float, plant: Plant, says: str) -> None:
    with pytest.raises(BadSettings, match=says):
        faulted(plant, code, severity)


def test_low_oil_loses_motion_entering_compression_and_more_with_severity() -> None:
    slight, gross = faulted(TWIN_TUBE, "low_oil", 1.0), faulted(TWIN_TUBE, "low_oil", 4.0)
    sound, less, more = (idle_travel_mm(p, TWIN_TUBE) for p in (TWIN_TUBE, slight, gross))
    assert more[0] > less[0] > sound[0]
    assert more[0] - sound[0] > 3.0 * abs(more[1] - sound[1])
    # 2 mm a step went in; by half the force the gas in the void has shrunk to (p0/p)^(1/n) of it, polytropic law
    half = 0.5 * float(hydraulic_force(TWIN_TUBE, "compression", np.array([0.1]))[0])
    ring, bore = gross.areas_m2
    shrunk = (gross.gas_pressure_pa / (gross.gas_pressure_pa + half / (bore - ring))) ** (1.0 / 1.4)
    assert more[0] - less[0] == pytest.approx(6.0 * (1.0 - shrunk), rel=0.3)


def test_trapped_air_clears_with_travel() -> None:
    plant, long = faulted(TWIN_TUBE, "trapped_air", 4.0), Programme((Drive.at_speed(0.1, 10.0),), dwell_s=0.1)
    extra = [
        idle_travel_mm(plant, TWIN_TUBE, long, n)[0] - idle_travel_mm(TWIN_TUBE, TWIN_TUBE, long, n)[0] for n in (1, 10)
    ]
    assert extra[0] > 3.0
    assert extra[1] < 0.35 * extra[0]


def test_play_is_a_flat_at_no_force_as_wide_as_the_play() -> None:
    here, force = cycle(faulted(BASE["twin-tube"][1], "loose_mount", 5.0))  # no gas, which would push the rod across
    inward = (np.abs(force) < 1e-6) & (np.gradient(here) < 0)
    assert 1e3 * np.ptp(here[inward]) == pytest.approx(2.0, abs=0.25)


def test_low_gas_starves_fast_compression_and_then_the_rebound_after_it() -> None:
    plant = faulted(MONOTUBE, "low_gas_pressure", 5.0)
    (_, force), (_, whole) = cycle(plant, FAST), cycle(MONOTUBE, FAST)
    force, whole = force - plant.gas_force_n, whole - MONOTUBE.gas_force_n
    assert force[1000] / whole[1000] < 0.93
    assert force[0] / whole[0] == pytest.approx(1.0, abs=0.05)
    slow, sound_slow = idle_travel_mm(plant, MONOTUBE), idle_travel_mm(MONOTUBE, MONOTUBE)
    fast, sound_fast = idle_travel_mm(plant, MONOTUBE, FAST), idle_travel_mm(MONOTUBE, MONOTUBE, FAST)
    assert fast[1] - sound_fast[1] > 2.0
    assert abs(slow[1] - sound_slow[1]) < 0.7


def test_starved_refill_loses_motion_only_when_fast() -> None:
    plant, slow = faulted(LEVER_ARM, "starved_refill", 1.0), Programme((Drive.at_speed(0.05, 5.0),), dwell_s=0.1)
    gain = [idle_travel_mm(plant, LEVER_ARM, p)[0] - idle_travel_mm(LEVER_ARM, LEVER_ARM, p)[0] for p in (slow, FAST)]
    assert abs(gain[0]) < 0.7
    assert gain[1] > 5.0


def test_bent_rod_binds_at_one_place_both_ways() -> None:
    plant = faulted(MONOTUBE, "bent_rod", 5.0)
    slow = Programme((Drive.at_speed(0.005, 1.0),), dwell_s=0.1)
    (here, bent), (_, sound) = cycle(plant, slow, 1), cycle(MONOTUBE, slow, 1)
    extra = bent - sound
    for part in (np.r_[1600:2000, 0:400], np.arange(600, 1400)):
        place = here[part][np.argmax(np.abs(extra[part]))]
        assert place == pytest.approx(plant.friction.bump_at_m, abs=1e-3)
    assert extra.max() == pytest.approx(-extra.min(), rel=0.05)


def test_leak_lowers_slow_force_most_and_grows_when_hot() -> None:
    leaky, speeds = faulted(TWIN_TUBE, "internal_leak", 4.0), np.array([0.05, 1.0])
    kept = hydraulic_force(leaky, "rebound", speeds) / hydraulic_force(TWIN_TUBE, "rebound", speeds)
    hot = hydraulic_force(leaky, "rebound", speeds, 80.0) / hydraulic_force(TWIN_TUBE, "rebound", speeds, 80.0)
    assert kept[0] < kept[1] < 1.0
    assert hot[0] < kept[0]


def test_weak_spring_and_blocked_bleed_change_their_own_truth_alone() -> None:
    sound = truth(TWIN_TUBE)
    weak, blocked = truth(faulted(TWIN_TUBE, "weak_blowoff", 3.0)), truth(faulted(TWIN_TUBE, "blocked_bleed", 3.0))
    assert weak.blowoff_force_n[0] == pytest.approx(0.58 * sound.blowoff_force_n[0])
    assert weak.bleed_area_mm2 == sound.bleed_area_mm2
    assert blocked.bleed_area_mm2[0] == pytest.approx(0.49 * sound.bleed_area_mm2[0])
    assert blocked.blowoff_force_n == sound.blowoff_force_n
