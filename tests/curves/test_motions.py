"""Stages, speeds and rows on motions in closed form: every kind of drive, programme, log rate and flaw of the channel."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from dampkit.curves.fold import _bias, _per_cycle
from dampkit.curves.harmonics import Period, one_period
from dampkit.curves.loop import Curves
from dampkit.curves.trace import trace
from dampkit.curves.turning import row_noise_m
from dampkit.errors import CannotAnalyse
from dampkit.quantities import Array, read_only
from tests.curves.motions import DRIVES, Drive, Leg, Ran, as_run, leg, part, ran, sine, triangle

SPEEDS = (0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
NAMES = tuple(DRIVES)
SLOW = 0.005


def ladder(drive: Drive, cycles: float = 5, rest_s: float = 0.4, speeds: tuple[float, ...] = SPEEDS) -> list[Leg]:
    return [leg(speed, cycles, drive, rest_s=rest_s) for speed in speeds]


def found(run: Ran, drive: Drive, legs: list[Leg], within: float = 0.005, slow_within: float | None = None) -> Curves:
    """All stages of the legs, in order, whole cycles but for one that run-ups may cost, speeds right, rows all used."""
    curves = trace(run.run)
    wanted = [each.frequency_hz * each.stroke_m * drive.top for each in legs]
    assert len(curves.loops) == len(legs)
    for loop, speed, each in zip(curves.loops, wanted, legs, strict=True):
        most = slow_within if slow_within and speed < 2 * SLOW else within
        assert loop.peak_velocity_m_s == pytest.approx(speed, rel=most)
        assert 1 / loop.stage.frequency_hz == pytest.approx(1 / each.frequency_hz, rel=0.003)
        assert int(each.cycles) - 1 <= loop.stage.cycles <= int(each.cycles + 1e-9)
        assert loop.stage.cycles >= 1
        assert abs(loop.velocity_bias) < 0.005
    rows_used_once(curves)
    return curves


def rows_used_once(curves: Curves) -> None:
    rows = curves.rows
    assert rows[0].from_row == 0
    assert rows[-1].to_row == curves.run.rows_used
    assert all(a.to_row == b.from_row for a, b in pairwise(rows))
    assert all(span.to_row > span.from_row and span.why for span in rows)
    stages = [(span.stage, span.from_row, span.to_row) for span in rows if span.use == "stage"]
    assert stages == [(loop.stage.index, loop.stage.start, loop.stage.stop) for loop in curves.loops]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("flaw", ["none", "noise of 0.05 mm", "steps of 0.1 mm"])
def test_a_slow_pass_and_a_ladder(name: str, flaw: str) -> None:
    drive = DRIVES[name]
    legs = [leg(SLOW, 1, drive), *ladder(drive)]
    noise, step = 5e-5 * (flaw[:2] == "no" and flaw != "none"), 1e-4 * (flaw[:2] == "st")
    found(ran(drive, legs, noise_m=noise, step_m=step), drive, legs, slow_within=0.01 if noise else None)


@pytest.mark.parametrize("name", NAMES)
def test_rests_and_run_ups_are_told_from_motion(name: str) -> None:
    drive = DRIVES[name]
    legs = [leg(SLOW, 1, drive), *ladder(drive)]
    run = ran(drive, legs, noise_m=1e-5)
    curves = found(run, drive, legs)
    t = run.run.time_s
    resting = np.zeros(t.size, dtype=bool)
    for span in curves.rows:
        resting[span.from_row : span.to_row] = span.use == "rest"
    truly = np.ones(t.size, dtype=bool)
    for begin, end in zip(run.begins_s, run.ends_s, strict=True):
        truly[(t > begin) & (t < end)] = False
    assert (resting & truly).sum() > 0.9 * truly.sum()
    assert (resting & ~truly).sum() < 0.01 * truly.sum() + 0.001 * t.size


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("cycles", [3, 3.25, 5])
def test_stages_that_follow_each_other_without_rest(name: str, cycles: float) -> None:
    drive = DRIVES[name]
    legs = ladder(drive, cycles, rest_s=0)
    curves = found(ran(drive, legs), drive, legs)
    assert not [span for span in curves.rows[1:-1] if span.use == "rest"]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("spaced", ["by ratio", "evenly"])
def test_twenty_stages_without_rest(name: str, spaced: str) -> None:
    drive = DRIVES[name]
    speeds = np.geomspace(0.05, 1, 20) if spaced == "by ratio" else np.linspace(0.05, 1, 20)
    legs = ladder(drive, 4, rest_s=0, speeds=tuple(speeds.tolist()))
    # evenly spaced, the fastest are 5 % apart: at 1000 rows a second half a row of 35 hides that
    found(ran(drive, legs, rate_hz=2000), drive, legs)


@pytest.mark.parametrize("name", NAMES)
def test_a_slow_pass_that_goes_over_into_stages_without_rest(name: str) -> None:
    drive = DRIVES[name]
    legs = [leg(SLOW, 1, drive, rest_s=0), *ladder(drive, rest_s=0)]
    found(ran(drive, legs), drive, legs)


@pytest.mark.parametrize("name", NAMES)
def test_one_speed_at_other_strokes_without_rest(name: str) -> None:
    drive = DRIVES[name]
    legs = [leg(0.2, 4, drive, stroke_m=stroke, rest_s=0) for stroke in (0.02, 0.05, 0.1, 0.04)]
    curves = found(ran(drive, legs), drive, legs)
    strokes = [loop.stage.stroke_m for loop in curves.loops]
    np.testing.assert_allclose(strokes, [each.stroke_m for each in legs], rtol=0.015)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("rate_hz", [100.0, 200.0, 10_000.0])
def test_rows_a_second(name: str, rate_hz: float) -> None:
    drive = DRIVES[name]
    speeds = tuple(speed for speed in SPEEDS if speed / (0.05 * drive.top) < rate_hz / 30)
    legs = ladder(drive, speeds=speeds)
    found(ran(drive, legs, rate_hz=rate_hz, noise_m=1e-5), drive, legs)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("cycles", [1, 1.25, 1.5, 2, 2.5, 3, 50])
def test_cycles_of_a_stage(name: str, cycles: float) -> None:
    drive = DRIVES[name]
    legs = ladder(drive, cycles, speeds=(0.1, 0.5))
    found(ran(drive, legs, noise_m=1e-5), drive, legs)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("first", "last"), [(0.0, 1.0), (0.1, 0.9), (0.15, 0.97), (0.2, 0.8)])
def test_a_log_cut_anywhere_in_a_stage(name: str, first: float, last: float) -> None:
    drive = DRIVES[name]
    whole = ran(drive, [leg(0.3, 5.4, drive, rest_s=0)], noise_m=1e-5, first_rest_s=0).run
    cut = part(whole, int(first * whole.rows_used), int(last * whole.rows_used))
    leg_ran = Leg(0.05, 0.3 / (0.05 * drive.top), np.floor(5.4 * (last - first) * 100) / 100)
    found(Ran(cut, (), ()), drive, [leg_ran])


def test_a_single_cycle_cut_out_of_a_log() -> None:
    drive = DRIVES["slowing crank"]
    whole = ran(drive, [leg(0.005, 1, drive)], noise_m=1e-5)
    ends = np.searchsorted(whole.run.time_s, [whole.begins_s[0], whole.ends_s[0]])
    found(Ran(part(whole.run, *(int(end) for end in ends)), (), ()), drive, [leg(0.005, 1, drive)])


@pytest.mark.parametrize("speed_m_s", [0.05, 0.2, 0.5])
def test_work_of_a_triangle_in_a_viscous_damper(speed_m_s: float) -> None:
    """Constant speed V out and back over S: work a cycle is c V 2 S. Closed form."""
    drive = triangle()
    loop = trace(ran(drive, [leg(speed_m_s, 5, drive)], noise_m=1e-5).run).loops[0]
    # the rows' own corners are as wide as a row, so the rows themselves hold less work than the closed form
    row = speed_m_s / 0.05 / 1000
    assert float(loop.energy_j.mean()) == pytest.approx(1000 * speed_m_s * 2 * 0.05, rel=0.005 + 2 * row)


@pytest.mark.parametrize("name", NAMES)
def test_turns_and_mid_stroke_are_where_the_motion_has_them(name: str) -> None:
    drive = DRIVES[name]
    loop = trace(ran(drive, [leg(0.2, 5, drive)]).run).loops[0]
    x = loop.displacement_m
    middle, half = 0.5 * (x.max() + x.min()), 0.5 * np.ptp(x)
    top, bottom = loop.turns
    assert x[top] == x.max()
    assert x[bottom] == x.min()
    for direction, sign in (("rebound", 1), ("compression", -1)):
        at = loop.middle(direction)
        assert abs(x[at] - middle) < 0.02 * half
        assert sign * loop.velocity_m_s[at] > 0.8 * loop.peak_velocity_m_s
    assert min(loop.middle("rebound"), 512 - loop.middle("rebound")) < 30


def swept(from_hz: float, to_hz: float, seconds: float, rate_hz: float = 1000.0) -> Array:
    frequency = np.linspace(from_hz, to_hz, int(seconds * rate_hz))
    return np.asarray(0.025 * np.sin(2 * np.pi * np.cumsum(frequency) / rate_hz))


@pytest.mark.parametrize(("from_hz", "to_hz"), [(0.3, 2.5), (0.5, 6.0), (5.0, 0.5), (1.0, 2.0)])
@pytest.mark.parametrize("seconds", [8, 20])
def test_a_log_of_a_sweep_is_refused_as_one(from_hz: float, to_hz: float, seconds: float) -> None:
    place = swept(from_hz, to_hz, seconds)
    with pytest.raises(CannotAnalyse, match="a sweep") as refused:
        trace(as_run(np.arange(place.size) / 1000, place))
    assert "stages" in str(refused.value)


@pytest.mark.parametrize("rest_s", [0.0, 0.5])
def test_a_sweep_after_stages_spoils_none_and_makes_none(rest_s: float) -> None:
    drive = sine()
    legs = [leg(SLOW, 1, drive), *ladder(drive)]
    legs[-1] = Leg(0.05, legs[-1].frequency_hz, 5, rest_s)
    before = ran(drive, legs, noise_m=1e-5)
    place = np.concatenate([before.run.displacement_m, swept(0.5, 6, 12)])
    run = Ran(as_run(np.arange(place.size) / 1000, place), before.begins_s, before.ends_s)
    curves = found(run, drive, legs)
    unused = [span for span in curves.rows if span.from_row >= curves.loops[-1].stage.stop and span.use == "not used"]
    assert any("sweep" in span.why for span in unused)
    assert sum(span.to_row - span.from_row for span in unused) > 11_000


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("band_hz", [(0.2, 2), (0.5, 3), (1, 10)])
def test_random_motion_is_refused(seed: int, band_hz: tuple[float, float]) -> None:
    rows = 30_000
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(size=rows))
    frequency = np.fft.rfftfreq(rows, 1e-3)
    place = np.fft.irfft(np.where((frequency > band_hz[0]) & (frequency < band_hz[1]), spectrum, 0), rows)
    with pytest.raises(CannotAnalyse, match="random motion"):
        trace(as_run(np.arange(rows) / 1000, 0.01 * place / place.std()))


def test_part_of_a_cycle_is_not_used_and_said_so() -> None:
    drive = sine()
    legs = [leg(0.05, 0.8, drive), leg(0.3, 5, drive)]
    curves = trace(ran(drive, legs).run)
    assert len(curves.loops) == 1
    assert next(span.why for span in curves.rows if span.use == "not used") == "less than one whole cycle"


def test_the_noise_of_a_row_is_read_from_the_rows() -> None:
    for noise in (1e-5, 5e-5):
        run = ran(sine(), ladder(sine()), noise_m=noise).run
        assert row_noise_m(run) == pytest.approx(noise, rel=0.1)


def test_velocity_bias_is_the_share_by_which_speeds_are_wrong() -> None:
    phase = np.linspace(0, 4, 4000, endpoint=False)
    grid = np.arange(512) / 512
    x = 0.025 * np.sin(2 * np.pi * grid)
    v = 2 * np.pi * 0.025 * np.cos(2 * np.pi * grid)
    for wrong in (0.99, 1.0, 1.02):
        assert _bias(
            Period(wrong * x, wrong * v, x, 1, 0.0), phase, 0.025 * np.sin(2 * np.pi * phase)
        ) == pytest.approx(wrong - 1, abs=1e-4)


@pytest.mark.parametrize("noise_m", [0.0, 1e-6, 1e-5])
def test_smooth_motion_keeps_its_harmonics_and_corners_their_plateau(noise_m: float) -> None:
    grid = np.arange(512) / 512
    noise = np.random.default_rng(2).normal(0, noise_m, 512)
    (smooth,) = one_period(0.05 * sine().place(grid) + noise, 2000)
    assert smooth.window == 0
    np.testing.assert_allclose(smooth.velocity_m, 0.05 * sine().speed(grid), atol=2e-4 * np.pi * 0.05 + 3 * noise_m)
    (corners,) = one_period(0.05 * triangle().place(grid) + noise, 2000)
    assert corners.window > 0
    assert corners.velocity_m.max() == pytest.approx(0.05 * 2, rel=0.004)


@pytest.mark.parametrize("rate_hz", [400.0, 1000.0, 4000.0])
def test_a_stage_is_closed_with_its_own_last_rows(rate_hz: float) -> None:
    """Force that differs in the first cycle only must not reach the last one, whose rows may end a little short."""
    drive = sine()
    legs = [leg(1.0, 5, drive)]
    once = ran(drive, legs, rate_hz=rate_hz)
    run = once.run
    early = run.time_s < once.begins_s[0] + 0.25 / legs[0].frequency_hz
    force = run.force_n + np.where(early, 2000.0, 0.0)
    loops = [trace(replace(run, force_n=read_only(f))).loops[0] for f in (run.force_n, force)]
    plain, changed = (loop.energy_j[-1] for loop in loops)
    assert changed == pytest.approx(plain, rel=1e-3)


def test_a_gap_in_a_single_cycle_leaves_the_rest_of_it_averaged() -> None:
    """60 rows a point: noise of the mean force is that of a row over root 60, also where the run-up is left out."""
    drive = sine()
    run = ran(drive, [leg(SLOW, 1, drive)]).run
    noise = np.random.default_rng(3).normal(0, 20.0, run.rows_used)
    loops = [trace(replace(run, force_n=read_only(f))).loops[0] for f in (run.force_n, run.force_n + noise)]
    off = loops[1].mean_force_n - loops[0].mean_force_n
    assert float(np.std(off)) == pytest.approx(20 / 60**0.5, rel=0.3)


@pytest.mark.parametrize("lacks", [0.0, 0.005, 0.015])
def test_the_end_that_a_last_cycle_lacks_is_the_cycle_before_it(lacks: float) -> None:
    """A drift of force from cycle to cycle, and dwells: work of each cycle in closed form, pi F X of an elliptic loop."""
    cycles, rows_a_cycle = 4, 800
    phase = np.arange(int((cycles - lacks) * rows_a_cycle)) / rows_a_cycle
    level = 1.0 + 0.05 * np.floor(phase)
    channels = 100.0 * level * np.cos(2 * np.pi * phase), 0.05 * np.sin(2 * np.pi * phase)
    force, place = _per_cycle(phase, cycles, *channels)
    for k in range(cycles):
        work = float(np.sum(force[k] * (np.roll(place[0], -1) - np.roll(place[0], 1)) / 2))
        within = 1e-3 + 0.05 * 2 * lacks
        assert work == pytest.approx(np.pi * 100.0 * (1 + 0.05 * k) * 0.05, rel=within)


@pytest.mark.parametrize("rounded", [0.05, 0.06, 0.07])
@pytest.mark.parametrize("rows_a_cycle", [53, 157])
def test_harmonics_too_high_for_the_rows_count_as_left_out(rounded: float, rows_a_cycle: int) -> None:
    """A triangle with corners rounded over a share of the period, its second and fourth harmonic seen too."""
    order = np.arange(2001)
    fine = np.arange(4000) / 4000
    spectrum = np.fft.rfft(0.05 * triangle().place(fine)) * np.sinc(order * rounded)
    place = np.fft.irfft(spectrum, 4000) + 0.05 * (
        0.0005 * np.cos(4 * np.pi * fine) + 0.0003 * np.cos(8 * np.pi * fine)
    )
    period_s = 0.1
    t = np.arange(int(1.0 + 6.2 * rows_a_cycle)) * period_s / rows_a_cycle
    x = np.interp(t / period_s % 1, fine, place, period=1.0) + np.random.default_rng(1).normal(0, 5e-6, t.size)
    loop = trace(as_run(t, x)).loops[0]
    assert loop.velocity_window > 0
    assert loop.peak_velocity_m_s * period_s == pytest.approx(0.05 * triangle().top, rel=0.01)
