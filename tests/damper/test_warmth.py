"""Warm oil: what a clearance and an orifice pass, against the published laws."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.valve import Valve
from dampkit.damper.warmth import at_temperature
from dampkit.expected.reference import against_reference
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import MONOTUBE
from tests.damper.warm import fitted_at, spec_at


def test_a_clearance_passes_oil_in_inverse_proportion_to_viscosity() -> None:
    """15 mm2/s at 40 degC and 3.8 at 100 on the line of ASTM D341; density by 7.5e-4 per kelvin."""
    hot = at_temperature(Valve(leak=1e-5, bleed=0.005), 40.0, 100.0)
    assert hot.leak == pytest.approx(1e-5 * 15.0 / 3.8, rel=1e-6)
    assert hot.bleed == pytest.approx(0.005 * (1 + 7.5e-4 * 60) ** 0.5, rel=1e-6)


def test_there_and_back_is_where_it_began() -> None:
    valve = Valve(leak=1e-5, bleed=0.005, blowoff_force=500.0, lift_rate=2e-5, knee_n=10.0)
    back = at_temperature(at_temperature(valve, 20.0, 65.0), 65.0, 20.0)
    assert back.leak == pytest.approx(valve.leak)
    assert back.bleed == pytest.approx(valve.bleed, rel=2e-3)


def test_a_sound_unit_tested_hot_is_not_out_of_its_cold_reference() -> None:
    """Made-up monotube with much clearance, tested at 65 degC, held against what it reads at 20."""
    leaky = replace(MONOTUBE, rebound=replace(MONOTUBE.rebound, leak_m3_s_pa=2 * MONOTUBE.rebound.leak_m3_s_pa))
    fit, spec = fitted_at(leaky, 65.0), spec_at(leaky)
    speeds = np.array(spec.reference.velocity_m_s if spec.reference else ())
    hot = bench_reading(leaky, "rebound", speeds, 65.0) / bench_reading(leaky, "rebound", speeds, 20.0)
    assert hot[0] < 0.85  # untreated it would be out of the window of 15 %
    points = against_reference(fit, spec)
    assert points is not None
    assert {p.answer for p in points} <= {"in", "not established"}
    assert [p.answer for p in points].count("in") >= 10
    assert any(q.code == "not_at_reference_temperature" for q in fit.quality)
