"""Fade is what is lost beyond what a unit's own oil and leak make of its warming."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.analyse import analyse_job
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.heat import oil_heat
from dampkit.damper.valve import Valve
from dampkit.faults.fade import LIMIT_SHARE, Loss, loss_of_work
from dampkit.quantities import DIRECTIONS, SIGN, read_only
from dampkit.studies.mix_runs import job_of, log_of, plan
from dampkit.virtual.mixed import mixed_cases
from tests import made_loops as made

SPEED_M_S = 0.1
LEAK = 3e-5  # m/s/N at 20 degC: about a sixth of the flow at that speed


def mm2_s(celsius: float) -> float:
    """15 mm2/s at 40 and 3.8 at 100 degC on the line of ASTM D341 (A 8.687653, B 3.449845, by another program)."""
    return float(10**10 ** (8.687653 - 3.449845 * np.log10(celsius + 273.15)) - 0.7)


def warm(valve: Valve, celsius: float) -> Valve:
    """Leak by dynamic viscosity, bleed by density, from 20 degC: mineral oil swells by 7.5e-4 a kelvin ([dixon2007] ch. 5,
    from memory)."""
    swollen = 1 + 7.5e-4 * (celsius - 20.0)
    leak = valve.leak * mm2_s(20.0) / mm2_s(celsius) * swollen
    return replace(valve, leak=leak, bleed=valve.bleed * swollen**0.5, lift_rate=valve.lift_rate * swollen**0.5)


def loss_between(
    from_c: float, to_c: float, leak: float = LEAK, lost: float = 0.0, bleed: float = made.REBOUND.bleed
) -> Loss:
    """A unit with that leak, run at one speed at two temperatures; `lost` of the valves' force besides."""
    valves = {
        "rebound": replace(made.REBOUND, leak=leak, bleed=bleed),
        "compression": replace(made.COMPRESSION, leak=leak, bleed=bleed),
    }
    x, v, a = made.motion(SPEED_M_S)
    loops = []
    for i, celsius in enumerate((from_c, to_c)):
        force = made.FRICTION_N * np.tanh(v / made.SHARP_M_S)
        for d in DIRECTIONS:
            hydraulic = warm(valves[d], celsius).force(np.maximum(SIGN[d] * v, 0.0))
            force = force + SIGN[d] * hydraulic * (1.0 - lost * i)
        stage = Stage(i, 0, made.POINTS, SPEED_M_S / (np.pi * made.STROKE_M), 5, made.STROKE_M, celsius)
        loops.append(Loop(stage, x, v, a, read_only(np.tile(force, (5, 1))), 1))
    mean_c = 0.5 * (from_c + to_c)
    unit = made.unit_of(warm(valves["rebound"], mean_c), warm(valves["compression"], mean_c))
    curves = Curves(made.some_run(), tuple(loops))
    for side in unit.sides:
        assert side.law is not None
        unit = made.with_side(unit, replace(side, law=replace(side.law, reached=("leak", "bleed"))))
    found = loss_of_work(replace(unit, heat=oil_heat(curves)), loops)
    assert found is not None
    return found


@pytest.mark.parametrize(("from_c", "to_c"), [(10.0, 25.0), (20.0, 50.0), (40.0, 90.0), (70.0, 90.0)])
def test_what_viscosity_and_density_take_is_expected(from_c: float, to_c: float) -> None:
    loss = loss_between(from_c, to_c)
    assert loss.share > 0.05  # as much as was called fade before
    assert abs(loss.share - loss.expected_share) < 0.02
    assert loss.share < loss.limit


def test_what_is_lost_beyond_it_is_fade() -> None:
    loss = loss_between(20.0, 50.0, lost=0.3)
    assert loss.share - loss.limit > 1.96 * loss.doubt


def test_a_leak_that_no_sound_unit_has_is_not_its_own() -> None:
    """Nine tenths of the flow through clearances: work falls with viscosity, and a sound unit's does not so far."""
    loss = loss_between(20.0, 50.0, 10 * LEAK, bleed=5e-4)
    assert loss.share > 0.4
    assert loss.share - loss.limit > 1.64 * loss.doubt


def test_without_warming_the_limit_is_that_of_practice() -> None:
    assert loss_between(20.0, 20.0).limit == pytest.approx(LIMIT_SHARE, abs=0.005)


@pytest.mark.slow
def test_a_sound_unit_with_narrow_passages_and_a_late_probe_has_no_finding() -> None:
    """Made-up twin tube, ten stages: its oil warms by 10 K, its probe shows 4; it loses 7 % of the work at 0.1 m/s."""
    run = plan(633, 0, 44)[632]
    case = mixed_cases([run.wanted])[0]
    result = analyse_job(log_of(run, case), job_of(run, case))
    assert result.faults == ()
