"""The mixed fleet: complete papers, the same from a seed, and a truth that its own log bears out."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from dampkit.virtual import mixed
from dampkit.virtual.mixed import MixedCase, Wanted, car_for, mixed_cases
from dampkit.virtual.plant import KINDS
from dampkit.virtual.rig import Rig
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import TWIN_TUBE

CLEAN = Rig(force_noise_n=0.0, displacement_noise_m=0.0, force_step_n=0.0, displacement_step_m=0.0)
QUIET = replace(CLEAN, cell_zero_n=12.4)
WANTED = [
    *(Wanted(i, kind, programme="three stages, no slow pass", rig=QUIET) for i, kind in enumerate(KINDS)),
    Wanted(7, "twin-tube", (("low_oil", 4.0), ("high_friction", 2.0)), "two stages"),
    Wanted(8, "monotube", (("internal_leak", 3.0),), "one stage", "slowing crank"),
    Wanted(9, "lever-arm", (("starved_refill", 2.0),), "two stages", "triangle", "preloaded checks"),
]


@pytest.fixture(scope="module")
def cases() -> tuple[MixedCase, ...]:
    return mixed_cases(WANTED)


def test_cases_come_in_the_order_asked_for_with_what_was_asked(cases: tuple[MixedCase, ...]) -> None:
    assert [c.wanted for c in cases] == WANTED
    assert [len(c.truth.stages) for c in cases] == [*[3] * len(KINDS), 2, 1, 2]
    assert cases[-3].truth.faults == (("low_oil", 4.0), ("high_friction", 2.0))
    assert cases[-3].truth.friction_n == pytest.approx(cases[-3].sound.friction.sliding_n + 50.0)
    assert cases[-3].truth.oil_missing_m3 > 1e-6
    assert not cases[-2].truth.has_temperature
    assert (cases[-1].truth.drive, cases[-1].truth.valves) == ("triangle", "preloaded checks")


def test_papers_are_whole_and_give_the_sound_unit(cases: tuple[MixedCase, ...]) -> None:
    for case in cases:
        files = case.files()
        damper = tomllib.loads(files["run.damper.toml"].decode())
        zero = tomllib.loads(files["run.bench.toml"].decode()).get("zero")
        assert (zero is not None) == case.truth.zero_declared
        assert damper["damper"]["kind"] == case.wanted.kind
        good = bench_reading(case.sound, "rebound", np.array(damper["reference"]["velocity_m_s"]), 20.0)
        assert damper["reference"]["rebound_force_n"] == pytest.approx(good, abs=0.051)
        assert "corner" in tomllib.loads(files["run.vehicle.toml"].decode())
        assert case.log.time_s.size == files["run.csv"].count(b"\n") - 1


def test_sound_units_read_what_their_truth_says(cases: tuple[MixedCase, ...]) -> None:
    """At mid-stroke, where speed is greatest: force of oil at the stage's temperature, friction, gas and cell zero."""
    for case in cases[: len(KINDS)]:
        stage, run = case.truth.stages[-1], case.log
        inside = (run.time_s > stage.start_s + 0.1) & (run.time_s < stage.stop_s - 0.05)
        speed = np.gradient(run.displacement_m, run.time_s)[inside]
        force = run.force_n[inside] - case.truth.cell_zero_n - case.truth.gas_force_n
        for index, sign in enumerate((1.0, -1.0)):
            near = sign * speed > 0.995 * stage.peak_velocity_m_s[index]
            drag = case.plant.friction.viscous_n_s_m * stage.peak_velocity_m_s[index]
            expected = stage.hydraulic_force_n[index] + case.truth.friction_n + drag
            assert sign * np.median(force[near]) == pytest.approx(expected, rel=0.03, abs=6.0), case.truth


def test_declared_zero_is_the_true_one_to_a_newton(cases: tuple[MixedCase, ...]) -> None:
    assert cases[0].declared_zero_n == pytest.approx(12.4, abs=0.5)


def test_a_seed_gives_the_same_case_alone_to_the_last_digits(cases: tuple[MixedCase, ...]) -> None:
    again = mixed_cases([WANTED[0]])[0]
    assert again.plant == cases[0].plant
    assert again.log.force_n == pytest.approx(cases[0].log.force_n, abs=0.5)


def test_a_seed_draws_what_is_left_open() -> None:
    first, second = mixed_cases([Wanted(seed, "monotube", programme="one stage") for seed in (3, 4)])
    assert first.plant != second.plant
    assert first.rig != second.rig
    assert 350.0 <= first.plant.heat_capacity_j_k <= 700.0
    assert 0.05 <= first.plant.pocket_carry <= 5.0


def test_car_fits_the_sound_unit() -> None:
    # ratio c R^2/(2 sqrt(k m)) with c = F/v of a viscous unit, written out
    viscous = replace(
        TWIN_TUBE,
        kind="friction-disc",
        friction=replace(TWIN_TUBE.friction, sliding_n=1e-9, viscous_n_s_m=1500.0),
    )
    car = car_for(viscous)
    expected = 1500.0 * 0.85**2 / (2.0 * np.sqrt(22e3 * car.sprung_mass_kg))
    assert car.damping_ratio == pytest.approx(expected, rel=1e-3)
    assert car.rebound_share == pytest.approx(0.5, abs=1e-6)


def test_an_integration_that_stalls_is_halved_and_only_the_one_that_stalls_gets_finer_steps(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[tuple[tuple[int, ...], int]] = []

    def bench(setups: Sequence[int], steps: int) -> tuple[int, ...]:
        asked.append((tuple(setups), steps))
        if 3 in setups and steps == mixed.STEPS_PER_CYCLE:
            raise ArithmeticError
        return tuple(setups)

    monkeypatch.setattr(mixed, "run_benches", bench)
    assert list(mixed._run([1, 2, 3, 4])) == [1, 2, 3, 4]  # type: ignore[comparison-overlap, list-item]
    assert asked[-3:] == [
        ((3,), mixed.STEPS_PER_CYCLE),
        ((3,), 4 * mixed.STEPS_PER_CYCLE),
        ((4,), mixed.STEPS_PER_CYCLE),
    ]
