"""Sound made-up units tested at 10 to 90 degC, their oil declared: nothing is found, and at 20 degC they read what they do there.

Truth is the plant's own closed form at 20 degC (`virtual/truth.py`), which no part of the analysis sees.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.curves.trace import trace
from dampkit.damper.declared import DamperSpec
from dampkit.damper.identify import identify
from dampkit.damper.passages import bent_lift, lifted
from dampkit.damper.unit import Unit
from dampkit.damper.valve import Valve
from dampkit.damper.warmth import brought_to
from dampkit.faults.diagnose import diagnose
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import Array
from dampkit.studies.fault_runs import SPEEDS_M_S
from dampkit.studies.made import as_run, sizes, with_reference
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import STANDARD_SPEEDS_M_S, standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.shapes import SHAPES, shaped
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import LEVER_ARM, MONOTUBE, STEERING_DAMPER, TWIN_TUBE, TWIN_TUBE_LARGE

CELSIUS = (10.0, 20.0, 40.0, 60.0, 90.0)
SHARE = 0.03  # asked of forces brought to 20 degC, from 0.05 m/s on
HOT_C, HOT_SHARE = (
    90.0,
    0.05,
)  # measured there: up to 3.5 %, at 0.05 m/s alone, where a leak passes a quarter of the flow
UNITS = {"twin-tube": TWIN_TUBE, "monotube": MONOTUBE, "lever-arm": LEVER_ARM, "steering-damper": STEERING_DAMPER}


def as_tested(plant: Plant, celsius: float) -> tuple[UnderTest, Plant]:
    """A whole ladder with the unit, its oil and the room that warm; the reference holds at 20 degC."""
    speeds, rig = SPEEDS_M_S.get(plant.kind, STANDARD_SPEEDS_M_S), Rig(sample_rate_hz=500.0, force_noise_n=2.0)
    warm = replace(plant, start_c=celsius, ambient_c=celsius)
    log = run_bench([warm], standard_programme(speeds), rig, np.random.default_rng(4))[0]
    drawn = sizes(plant) | {
        "oil_viscosity_40_mm2_s": plant.oil.viscosity_40_mm2_s,
        "oil_viscosity_100_mm2_s": plant.oil.viscosity_100_mm2_s,
        "oil_density_kg_m3": plant.oil.density_20_kg_m3,
    }
    spec: DamperSpec = with_reference(drawn, warm, np.array(speeds[1:]), 20.0)
    curves = trace(as_run(log, rig))
    return UnderTest(curves, identify(curves, spec), spec), warm


def at_20(unit: Unit, plant: Plant) -> tuple[Array, Array]:
    """Force brought to 20 degC over what it is there, less one, and whether the interval holds the truth; both directions."""
    off, held = [], []
    for side in brought_to(unit, 20.0).sides:
        read = side.reading
        assert read is not None
        moving = read.velocity_m_s > 0.02
        wanted = bench_reading(plant, side.direction, read.velocity_m_s, 20.0)
        off.append((read.force_n / wanted - 1.0)[moving])
        held.append(((read.low_n <= wanted) & (wanted <= read.high_n))[moving])
    return np.concatenate(off), np.concatenate(held)


@pytest.mark.slow
@pytest.mark.parametrize("celsius", CELSIUS)
@pytest.mark.parametrize("kind", UNITS)
def test_a_sound_unit_has_no_finding_and_reads_at_20_what_it_reads_there(kind: str, celsius: float) -> None:
    test, plant = as_tested(UNITS[kind], celsius)
    assert diagnose(test).findings == ()
    off, held = at_20(test.unit, plant)
    assert np.abs(off).max() < (HOT_SHARE if celsius == HOT_C else SHARE)
    assert held.all()


@pytest.mark.slow
@pytest.mark.parametrize("celsius", [60.0, 90.0])
@pytest.mark.parametrize("shape", ["soft shims", "narrow passages", "preloaded shims"])
@pytest.mark.parametrize("kind", ["twin-tube", "lever-arm"])
def test_what_hot_loops_cannot_tell_is_in_the_interval(kind: str, shape: str, celsius: float) -> None:
    """Hot, a leak looks like a lift that begins at once, and a passage like a hole: 2 to 20 % at 0.05 m/s, and said."""
    test, plant = as_tested(shaped(UNITS[kind], SHAPES[shape]), celsius)
    assert diagnose(test).findings == ()
    assert at_20(test.unit, plant)[1].mean() > 0.9  # of 12 to 14 readings whose intervals are of 95 %


@pytest.mark.slow
def test_a_leak_that_hot_loops_hide_is_in_the_interval() -> None:
    """At 60 degC 14 % of the flow at the knee leaks, of which the fit sees 2 %: read as a hole, 6 % too low and sure of it."""
    test, plant = as_tested(TWIN_TUBE_LARGE, 60.0)
    off, held = at_20(test.unit, plant)
    assert np.abs(off).max() < SHARE
    assert held.all()


def test_a_bend_that_a_loss_stands_for_begins_where_the_valve_opens() -> None:
    """F + loss v^2 is the force the law has at v: there as much is lifted as the law's own valve lets through at F."""
    valve = Valve(leak=1e-5, bleed=5e-3, blowoff_force=400.0, lift_rate=4e-5, loss=500.0)
    over = np.array([300.0, 450.0, 700.0])
    whole = over + valve.loss * valve.velocity(over) ** 2
    assert bent_lift(valve, whole**0.5)[0] == pytest.approx(lifted(valve, over**0.5)[0], rel=0.02, abs=1e-4)
