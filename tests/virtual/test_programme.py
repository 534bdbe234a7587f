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


@pytest.mark.parametrize("wrong", [{"crank_ratio": 1.2}, {"drives": (Drive(0.05, 1.0, 1.3),)}])
def test_impossible_programmes_are_refused(wrong: dict[str, object]) -> None:
    settings: dict[str, object] = {"drives": (Drive(0.05, 1.0),)} | wrong
    with pytest.raises(BadSettings, match="programme"):
        Programme(**settings)  # type: ignore[arg-type]
