"""Long passages in thick and thin oil: closed form, and made-up units brought to 20 degC against what they read there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.areas import DENSITY_KG_M3
from dampkit.damper.oil import UnitOil, viscosity_mm2_s
from dampkit.damper.passages import PASSAGE_M, Flow, passages
from dampkit.damper.valve import Valve
from dampkit.damper.warmth import brought_to
from dampkit.quantities import DIRECTIONS
from dampkit.virtual.shapes import SHAPES, shaped
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import TWIN_TUBE
from tests.damper.warm import fitted_at

OIL, AREA_M2 = UnitOil(), 5e-4


def by_hand(speed_m_s: float, bleed: float, length: float, temperature_c: float) -> float:
    """dp = (2.28 u^2 + 64 (l/d) (nu/d) u) rho/2 with u the mean speed in the passage [merritt1967]; force dp times area.

    Where friction is nothing the force is (v/bleed)^2, which says how fast the passage runs for a speed of the rod.
    """
    nu = 1e-6 * viscosity_mm2_s(OIL.line, temperature_c)
    u = speed_m_s / (bleed * (AREA_M2 * 2.28 * DENSITY_KG_M3 / 2) ** 0.5)
    return float(AREA_M2 * (2.28 * u**2 + 64 * length * nu / PASSAGE_M * u) * DENSITY_KG_M3 / 2)


@pytest.mark.parametrize("length", [0.0, 1.0, 5.0])
@pytest.mark.parametrize("temperature_c", [10.0, 90.0])
def test_entry_and_friction_add_up(length: float, temperature_c: float) -> None:
    flow = Flow(Valve(bleed=4e-3), 0.0, 4e-3, length, OIL, AREA_M2)
    v, here = np.array([0.02, 0.1, 0.3]), np.full(3, temperature_c)
    wanted = [by_hand(float(x), 4e-3, length, temperature_c) for x in v]
    assert flow.force_n(v, here, here) == pytest.approx(wanted, rel=1e-6)


def test_several_lengths_at_once_are_each_alone() -> None:
    v, cold, warm = np.array([0.05, 0.2]), np.full(2, 10.0), np.full(2, 60.0)
    one = Flow(Valve(leak=1e-6, bleed=4e-3), 1e-6, 4e-3, 3.0, OIL, AREA_M2)
    several = replace(one, leak=np.array([[0.0], [1e-6]]), bleed=np.array([[4e-3], [4e-3]]), length=np.array([[1.0], [3.0]]))  # fmt: skip
    assert several.force_n(v, warm, cold)[1] == pytest.approx(one.force_n(v, warm, cold), rel=1e-9)


def test_a_lift_so_steep_that_it_runs_out_of_numbers_is_read_below() -> None:
    valve = Valve(bleed=4e-3, blowoff_force=100.0, lift_rate=1e-3, exponent=60.0, loss=100.0)
    flow = Flow(valve, 0.0, 4e-3, 0.0, OIL, AREA_M2, bent=True)
    v, here = np.array([0.02, 0.1]), np.full(2, 20.0)
    assert flow.force_n(v, here, here) == pytest.approx(valve.force(v), rel=1e-2)


@pytest.mark.slow
@pytest.mark.parametrize("shape", ["linear", "narrow passages"])
def test_a_unit_tested_warm_reads_at_20_what_it_reads_there(shape: str) -> None:
    """Made-up twin tube at 35 degC: its narrow passages (Re / (Re + 150), own form) make force rise with speed at first.

    As sharp holes they would leave it 9 % short at 0.05 m/s.
    """
    unit = shaped(TWIN_TUBE, SHAPES[shape])
    found = fitted_at(unit, 35.0)
    assert (passages(found).length > 1.0) == (shape == "narrow passages")
    for side in brought_to(found, 20.0).sides:
        assert side.reading is not None
        v = side.reading.velocity_m_s
        wanted = bench_reading(unit, side.direction, v, 20.0)
        assert side.reading.force_n[v > 0.02] == pytest.approx(wanted[v > 0.02], rel=0.04)
    assert {side.direction for side in found.sides} == set(DIRECTIONS)
