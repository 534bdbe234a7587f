"""Flaws that the loops show: each put into a made-up bench, found, and its size said right."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import trapezoid

from dampkit.bench.run import Quality
from dampkit.curves.trace import trace
from dampkit.virtual.faulted import faulted
from dampkit.virtual.plant import Kind
from dampkit.virtual.rig import Log, Rig
from dampkit.virtual.units import TWIN_TUBE_LARGE
from tests.bench.flawed import UNITS, codes, figure, ladder, read, recorded, said

pytestmark = pytest.mark.slow  # each makes a whole ladder on a bench of its own

GOOD = Rig(sample_rate_hz=500.0)


def remarks(tmp_path: Path, log: Log) -> tuple[Quality, ...]:
    return trace(read(tmp_path, log)).quality


@pytest.mark.parametrize(("kind", "droop"), [("twin-tube", 1e-4), ("monotube", 3e-4)])
def test_a_drive_that_slows_is_said_with_how_far_it_strays(tmp_path: Path, kind: Kind, droop: float) -> None:
    log, programme = recorded(UNITS[kind], replace(GOOD, droop_per_w=droop)), ladder(kind)
    fastest = 7  # 1 m/s
    inside = (log.time_s > programme.starts_s[fastest]) & (log.time_s < programme.stops_s[fastest])
    strays = np.abs(log.displacement_m - programme.displacement(log.time_s))[inside]
    steady = strays[strays.size // 5 : -strays.size // 5]
    # the loop starts where its own fundamental rises, so up to half of a one-sided lag is taken as phase
    share = figure(said(remarks(tmp_path, log), "drive_slows"), "by")
    assert 0.4 * 100 * steady.max() / 0.05 < share < 1.2 * 100 * steady.max() / 0.05


@pytest.mark.parametrize(
    ("kind", "stop_at_m"), list(zip(list(UNITS)[:4], (0.0235, 0.0230, 0.0240, 0.0240), strict=True))
)
def test_a_stop_is_said_with_its_force(tmp_path: Path, kind: Kind, stop_at_m: float) -> None:
    rig = replace(GOOD, stop_at_m=stop_at_m)
    message = said(remarks(tmp_path, recorded(UNITS[kind], rig)), "stop_met")
    pressed = rig.stop_stiffness_n_m * (0.025 - stop_at_m)
    assert figure(message, "springs up by") == pytest.approx(pressed, rel=0.15)
    assert "end of extension" in message


def test_a_drifting_probe_is_said_with_its_drift(tmp_path: Path) -> None:
    rig = replace(GOOD, temperature="drifting", temperature_drift_k_s=0.05)
    log = recorded(UNITS["twin-tube"], rig)
    drift = rig.temperature_drift_k_s * float(log.time_s[-1])
    assert figure(said(remarks(tmp_path, log), "temperature_drifts"), "moves by") == pytest.approx(drift, abs=0.8)


def test_no_temperature_is_said(tmp_path: Path) -> None:
    assert "no_temperature" in codes(remarks(tmp_path, recorded(UNITS["twin-tube"], replace(GOOD, temperature="none"))))


def test_no_repeat_is_said_and_a_repeat_is_not(tmp_path: Path) -> None:
    unit = UNITS["twin-tube"]
    assert "no_repeat" in codes(remarks(tmp_path, recorded(unit, GOOD, repeat_first=False)))
    assert not codes(remarks(tmp_path, recorded(unit, GOOD))) & {"no_repeat", "repeat_differs"}


def test_a_repeat_that_comes_back_different_is_said_with_the_difference(tmp_path: Path) -> None:
    log, programme = recorded(faulted(UNITS["monotube"], "fade", 4.0), GOOD), ladder("monotube")
    run_up = 0.05  # of a period
    rates = [programme.drives[i].frequency_hz for i in (1, 8)]
    begun = [programme.starts_s[i] + run_up / rate for i, rate in zip((1, 8), rates, strict=True)]
    work = [_cycle_work(log, begin, rate, 5) for begin, rate in zip(begun, rates, strict=True)]
    before, after = (float(np.median(w)) for w in work)
    share = figure(said(remarks(tmp_path, log), "repeat_differs"), "does")
    assert share == pytest.approx(abs(100 * (after / before - 1)), abs=1.0)


def test_first_cycles_that_differ_are_said_with_the_difference(tmp_path: Path) -> None:
    log = recorded(faulted(TWIN_TUBE_LARGE, "starved_refill", 4.0), GOOD)
    curves = trace(read(tmp_path, log))
    off = []
    for stage in (loop.stage for loop in curves.loops if loop.stage.cycles > 2):
        work = _cycle_work(log, float(log.time_s[stage.start]), stage.frequency_hz, stage.cycles)
        off.append(100 * (work[0] / float(np.mean(work[1:])) - 1))
    worst = max(off, key=abs)
    message = said(curves.quality, "first_cycle_differs")
    assert figure(message, "the first one does") == pytest.approx(abs(worst), abs=2.0)
    assert ("less" if worst < 0 else "more") in message


def _cycle_work(log: Log, begin_s: float, frequency_hz: float, cycles: int) -> list[float]:
    """Work of each cycle, by the trapezoid rule on the rows themselves."""
    work = []
    for cycle in range(cycles):
        ends = np.searchsorted(log.time_s, [begin_s + cycle / frequency_hz, begin_s + (cycle + 1) / frequency_hz])
        rows = slice(*ends.tolist())
        work.append(float(trapezoid(log.force_n[rows], log.displacement_m[rows])))
    return work
