"""Stages, dwells and the crank."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.errors import BadSettings
from dampkit.virtual.programme import Drive, Programme, standard_programme


def test_peak_speed_of_a_standard_stroke() -> None:
    # QC/T 545-1999: 100 mm at 100 cycles a minute is 0.52 m/s (v = pi S n / 60 = 0.5236)
    assert Drive(0.1, 100.0 / 60.0).peak_velocity_m_s == pytest.approx(0.5236, abs=5e-5)
    assert Drive.at_speed(0.3, stroke_m=0.05).frequency_hz == pytest.approx(1.9099, abs=5e-5)  # same formula


def test_standard_run_lasts_about_68_seconds_and_reaches_its_speeds() -> None:
    programme = standard_programme()
    assert 67.0 < programme.duration_s < 69.0
    for start, stop, drive in zip(programme.starts_s, programme.stops_s, programme.drives, strict=True):
        time_s = np.linspace(start, stop, 20001)
        displacement = programme.displacement(time_s)
        assert np.ptp(displacement) == pytest.approx(0.05, rel=1e-5)
        assert np.abs(np.gradient(displacement, time_s)).max() == pytest.approx(drive.peak_velocity_m_s, rel=1e-3)


def test_slider_crank_adds_a_second_harmonic() -> None:
    # in-line slider-crank: second harmonic r^2/(4 l) of displacement, to first order in r/l (common textbook series)
    programme = Programme((Drive(0.05, 1.0, 3.0),), crank_ratio=0.25)
    displacement = programme.position(0, np.arange(256) / 256.0)
    harmonics = np.abs(np.fft.rfft(displacement)) / 128.0
    assert harmonics[1] == pytest.approx(0.025, rel=1e-9)
    assert harmonics[2] == pytest.approx(0.25 * 0.025**2 / 0.1, rel=0.03)


def test_run_up_lets_the_crank_come_up_to_speed() -> None:
    programme = Programme((Drive(0.05, 2.0, 3.0),), run_up_turns=0.5)
    turns = programme.turns(0, np.array([0.0, 0.5, 1.0, 2.0]))  # half a turn in half a second, then two a second
    assert turns == pytest.approx([0.0, 0.5, 1.5, 3.0])
    assert programme.displacement(np.array([programme.duration_s])) == pytest.approx(0.0, abs=1e-12)


def test_steps_rise_and_meet_every_start_and_stop() -> None:
    programme = standard_programme()
    steps = programme.steps()
    assert np.diff(steps).min() > 0.0
    for moment in (*programme.starts_s, *programme.stops_s, programme.duration_s):
        assert np.abs(steps - moment).min() < 1e-9


@pytest.mark.parametrize("wrong", [{"cycles": 1.3}, {"corner_s": 0.3}, {"sweep_from": 0.0}])
def test_impossible_stages_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(BadSettings, match="programme"):
        Drive(0.05, 1.0, **wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"crank_ratio": 1.2},
        {"drives": (Drive(0.05, 1.0), Drive(0.04, 1.0)), "runs_on": True},
        {"drives": (Drive(0.05, 1.0, 1.5), Drive(0.05, 2.0)), "runs_on": True},
    ],
)
def test_impossible_programmes_are_refused(wrong: dict[str, object]) -> None:
    settings: dict[str, object] = {"drives": (Drive(0.05, 1.0),)} | wrong
    with pytest.raises(BadSettings, match="programme"):
        Programme(**settings)  # type: ignore[arg-type]


@pytest.mark.parametrize(("speed_m_s", "corner_s"), [(0.005, 0.2), (0.3, 0.02), (1.0, 0.01)])
def test_triangle_holds_its_speed_and_rounds_its_corners(speed_m_s: float, corner_s: float) -> None:
    drive = Drive.at_speed(speed_m_s, 2.0, corner_s=corner_s)
    programme = Programme((drive,))
    turns = np.arange(100_000) / 100_000.0
    displacement = programme.position(0, turns)
    assert displacement.max() == pytest.approx(0.025, rel=1e-9)
    assert displacement.min() == pytest.approx(-0.025, rel=1e-9)
    speed = np.abs(np.gradient(displacement, turns / drive.frequency_hz))
    assert speed.max() == pytest.approx(speed_m_s, rel=1e-6)
    assert drive.peak_velocity_m_s == pytest.approx(speed_m_s, rel=1e-12)
    # below the plateau for corner_s before and after each of two turning points
    slow = np.count_nonzero(speed < (1.0 - 1e-6) * speed_m_s) / turns.size
    assert slow == pytest.approx(4.0 * corner_s * drive.frequency_hz, rel=1e-2)


def test_sharp_triangle_has_its_harmonics() -> None:
    # Fourier series of a triangle: 8/(pi^2 k^2), odd k alone, so the third is a ninth of the first (textbook)
    programme = Programme((Drive(0.05, 1.0, corner_s=1e-5),))
    harmonics = np.abs(np.fft.rfft(programme.position(0, np.arange(4096) / 4096.0))) / 2048.0
    assert harmonics[1] == pytest.approx(0.025 * 8.0 / np.pi**2, rel=1e-3)
    assert harmonics[3] / harmonics[1] == pytest.approx(1.0 / 9.0, rel=1e-3)
    assert harmonics[2] / harmonics[1] < 1e-6


def test_slider_crank_follows_its_closed_form() -> None:
    # x = r sin a + sqrt(l^2 - r^2 cos^2 a) less its value at mid-angle; speed r w (cos a + r sin 2a / 2 sqrt(...))
    programme = Programme((Drive(0.05, 2.0),), crank_ratio=0.3)
    angle, rod = np.linspace(0.0, 2.0 * np.pi, 721), 0.025 / 0.3
    step = 1e-6
    near = [programme.position(0, angle / (2.0 * np.pi) + side) for side in (-step, step)]
    speed = (near[1] - near[0]) / (2.0 * step) * 2.0
    closed = np.cos(angle) + 0.5 * 0.025 * np.sin(2.0 * angle) / np.sqrt(rod**2 - (0.025 * np.cos(angle)) ** 2)
    assert speed == pytest.approx(0.025 * 4.0 * np.pi * closed, abs=1e-8)


def test_stages_that_run_on_never_rest_and_keep_their_cycles() -> None:
    stages = tuple(Drive.at_speed(v, 3.0) for v in (0.1, 0.5, 0.2))
    programme = Programme(stages, runs_on=True)
    time_s = np.linspace(programme.starts_s[0], programme.stops_s[-1], 40001)
    displacement = programme.displacement(time_s)
    inner = time_s[1:][(displacement[:-1] < 0) & (displacement[1:] >= 0)]  # outward passes of mid-stroke
    assert inner.size == pytest.approx(9, abs=1)
    assert programme.starts_s[1:] == pytest.approx(programme.stops_s[:-1], abs=1e-12)
    speed = np.abs(np.gradient(displacement, time_s))
    for moment, drive in zip(programme.stops_s[:-1], programme.drives[:-1], strict=True):  # at mid-stroke, full speed
        assert np.interp(moment, time_s, speed) == pytest.approx(drive.peak_velocity_m_s, rel=0.02)
    assert np.diff(programme.steps()).min() > 0.0


def test_sweep_rises_in_a_line_from_one_frequency_to_another() -> None:
    drive = Drive(0.05, 2.0, 20.0, sweep_from=0.25)  # 0.5 to 3.5 Hz
    programme = Programme((drive,), run_up_turns=1e-6)
    step = 1e-4
    time_s = np.array([0.01, 5.0, 9.99])  # of the ten seconds that 20 turns take at the mean of 2 Hz
    turns = programme.turns(0, time_s)
    frequency = (programme.turns(0, time_s + step) - programme.turns(0, time_s - step)) / (2.0 * step)
    assert frequency == pytest.approx([0.503, 2.0, 3.497], abs=1e-3)
    assert turns[1] == pytest.approx(0.5 * 5.0 + 0.5 * 0.3 * 25.0, abs=1e-3)  # f0 t + (f1 - f0) t^2 / 2T
    assert drive.peak_velocity_m_s == pytest.approx(np.pi * 0.05 * 3.5)


def test_record_may_begin_within_a_cycle() -> None:
    programme = Programme((Drive(0.05, 2.0, 3.0),), record_from_turns=0.35)
    assert programme.displacement(np.array([programme.record_from_s])) == pytest.approx(
        0.025 * np.sin(2.0 * np.pi * 0.35), abs=1e-9
    )
