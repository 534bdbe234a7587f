"""Stages and loops on motions and laws with known answers."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.curves.stages import find_motion
from dampkit.curves.trace import trace
from dampkit.errors import CannotAnalyse
from dampkit.quantities import read_only
from dampkit.virtual.programme import standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.units import TWIN_TUBE
from tests.curves.helpers import Law, sine_run

STAGES = ((0.05, 0.0318, 1), (0.05, 0.6366, 5), (0.05, 1.9099, 5), (0.1, 1.6552, 6))


def test_stages_are_found_with_stroke_frequency_and_cycles() -> None:
    curves = trace(sine_run(lambda x, v: 1000 * v, STAGES, noise_mm=0.02, noise_n=3))
    assert [loop.stage.cycles for loop in curves.loops] == [c for _, _, c in STAGES]
    for loop, (stroke, frequency, _) in zip(curves.loops, STAGES, strict=True):
        assert loop.stage.stroke_m == pytest.approx(stroke, rel=0.003)
        assert loop.stage.frequency_hz == pytest.approx(frequency, rel=0.002)
        assert loop.peak_velocity_m_s == pytest.approx(np.pi * stroke * frequency, rel=0.008)


@pytest.mark.parametrize(
    ("law", "energy"),
    [
        # Source: [rao] ch. 3 for all three, X = 0.025 m, f = 1.9099 Hz; quadratic and Coulomb worked in closed form
        (lambda x, v: 1500 * v, lambda w, a: np.pi * 1500 * w * a**2),
        (lambda x, v: 5000 * v * np.abs(v), lambda w, a: 8 / 3 * 5000 * w**2 * a**3),
        (lambda x, v: 50 * np.sign(v), lambda w, a: 4 * 50 * a),
    ],
    ids=["viscous", "quadratic", "Coulomb"],
)
def test_energy_a_cycle_of_laws_with_known_answers(law: Law, energy: Callable[[float, float], float]) -> None:
    loop = trace(sine_run(law, ((0.05, 1.9099, 5),), noise_n=2, noise_mm=0.01)).loops[0]
    assert loop.energy_j.mean() == pytest.approx(energy(2 * np.pi * 1.9099, 0.025), rel=0.003)


def test_equivalent_damping_of_the_quadratic_worked_example() -> None:
    """a = 5000 N s2/m2, X = 0.05 m, f = 1.67 Hz: E = 183.502 J, c_eq = 2226.667 N s/m. Source: [rao] ch. 3, by hand."""
    loop = trace(sine_run(lambda x, v: 5000 * v * np.abs(v), ((0.1, 1.67, 5),))).loops[0]
    energy = float(loop.energy_j.mean())
    assert energy == pytest.approx(183.502, rel=0.002)
    omega = 2 * np.pi * loop.stage.frequency_hz
    assert energy / (np.pi * omega * (loop.stage.stroke_m / 2) ** 2) == pytest.approx(2226.667, rel=0.004)


def test_velocity_of_a_crank_with_second_harmonic_comes_from_the_displacement() -> None:
    run = sine_run(lambda x, v: 800 * v, ((0.05, 1.5, 6),), second_harmonic=0.06, noise_mm=0.01)
    loop = trace(run).loops[0]
    np.testing.assert_allclose(loop.mean_force_n, 800 * loop.velocity_m_s, atol=0.015 * 800 * loop.peak_velocity_m_s)
    assert loop.harmonics >= 2


def test_run_ups_and_part_cycles_are_not_stages() -> None:
    sweep = np.sin(2 * np.pi * np.cumsum(np.linspace(0.3, 2.5, 8000)) / 1000) * 0.025
    run = sine_run(lambda x, v: 900 * v, ((0.05, 1.0, 4),))
    place = np.concatenate([sweep, run.displacement_m])
    joined = type(run)(
        "made-up", "0" * 64, place.size, np.arange(place.size) / 1000, place, np.gradient(place, 1e-3) * 900.0
    )
    assert [loop.stage.cycles for loop in trace(joined).loops] == [4]


def test_no_full_cycle_is_an_error_that_says_what_to_do() -> None:
    run = sine_run(lambda x, v: 900 * v, ((0.05, 1.0, 4),))
    short = type(run)("short.csv", "", 600, run.time_s[:600], run.displacement_m[:600], run.force_n[:600])
    with pytest.raises(CannotAnalyse) as caught:
        trace(short)
    assert caught.value.exit_status == 4
    assert "no full cycle" in str(caught.value)


@pytest.mark.parametrize("cycles", [1.0, 1.5, 2.0, 2.5, 3.0, 4.0])
def test_short_stages_of_a_crank_that_runs_up_and_down_are_all_found(cycles: float) -> None:
    programme = standard_programme((0.005, 0.05, 0.2, 1.0), cycles=cycles)
    log = run_bench([TWIN_TUBE], programme, Rig(500.0), np.random.default_rng(1))[0]
    time_s, place, force = (read_only(values) for values in (log.time_s, log.displacement_m, log.force_n))
    stages = find_motion(Run("made-up", "", time_s.size, time_s, place, force)).stages
    wanted = [drive.frequency_hz for drive in programme.drives]
    np.testing.assert_allclose([stage.frequency_hz for stage in stages], wanted, rtol=2e-3)
    assert all(stage.cycles >= int(cycles) - 1 for stage in stages[1:])  # the first one is a slow pass of one cycle


@pytest.mark.parametrize(("rate_hz", "lost"), [(20.0, True), (200.0, False)])
def test_fast_stages_with_too_few_rows_a_cycle_are_said_and_not_dropped_in_silence(rate_hz: float, lost: bool) -> None:
    """Strokes of 50 mm at 0.05 and 0.5 m/s: 63 rows a cycle and 6, of 24 that a loop takes, or ten times as many."""
    stages = ((0.05, 0.05 / (np.pi * 0.05), 3), (0.05, 0.5 / (np.pi * 0.05), 6))
    curves = trace(sine_run(lambda x, v: 800.0 * v + 0.0 * x, stages, rate_hz=rate_hz))
    told = [q.message for q in curves.quality if q.code == "motion_not_used"]
    assert len(curves.loops) == (1 if lost else 2)
    assert [f"up to {v} m/s" in message for message in told for v in ("0.47", "0.48", "0.49", "0.50")].count(
        True
    ) == lost
