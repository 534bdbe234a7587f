"""Flaws that the rows themselves show: each put into a made-up bench, found, and its size said right."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from dampkit.app.main import run_command
from dampkit.bench.checks import averaged_spectrum
from dampkit.bench.run import Run
from dampkit.virtual.dialects import INCH, PLAIN, bench_toml, write_csv
from dampkit.virtual.plant import Kind
from dampkit.virtual.rig import Rig
from tests.bench.flawed import UNITS, codes, figure, read, recorded, said

pytestmark = pytest.mark.slow  # each makes a whole ladder on a bench of its own

TWIN = UNITS["twin-tube"]
GOOD = Rig(sample_rate_hz=500.0)
TURNED = {"signs": {"force_positive": "compression", "displacement_positive": "compression"}}


def test_a_clipped_cell_is_said_with_its_limit(tmp_path: Path) -> None:
    run = read(tmp_path, recorded(TWIN, replace(GOOD, cell_limit_n=900.0)))
    message = said(run.quality, "force_clipped")
    assert figure(message, "exactly") == 900.0
    # three peaks of the ladder lie over 900 N in rebound: 0.5, 0.75 and 1 m/s, five cycles each
    assert 15 <= figure(message, "rows in") <= 19
    assert next(q.severity for q in run.quality if q.code == "force_clipped") == "bad"


def test_dropped_rows_are_counted(tmp_path: Path) -> None:
    rig = replace(GOOD, missing_share=0.02)
    run = read(tmp_path, recorded(TWIN, rig))
    lost = recorded(TWIN, GOOD).time_s.size - recorded(TWIN, rig).time_s.size
    assert figure(said(run.quality, "gaps"), "about") == pytest.approx(lost, abs=10)  # a loss at an end leaves no gap


def test_a_reading_that_stands_still_is_said_with_its_time(tmp_path: Path) -> None:
    log = recorded(TWIN, GOOD)
    force = log.force_n.copy()
    held = slice(int(0.9 * force.size), int(0.9 * force.size) + 60)  # 0.12 s at 500 rows a second
    force[held] = force[held.start]
    message = said(read(tmp_path, replace(log, force_n=force)).quality, "force_held")
    assert figure(message, "longest for") == pytest.approx(120, abs=4)
    assert figure(message, "ms at") == pytest.approx(float(log.time_s[held.start]), abs=0.01)


def test_uneven_times_are_said_with_their_spread(tmp_path: Path) -> None:
    jitter = 0.5
    log = recorded(TWIN, replace(GOOD, time_jitter=jitter))
    run = read(tmp_path, log, INCH, **TURNED)  # four decimals of a second
    message = said(run.quality, "time_uneven")
    low, high = figure(message, "lie between"), figure(message, "and")
    # the difference of two even spreads of half an interval is a triangle: 80 % of it within 0.553 of its half-width
    half_width = 2.0 * jitter * (1 - np.sqrt(0.2))
    assert 0.5 * (low + high) == pytest.approx(2.0, abs=0.1)
    assert 0.5 * (high - low) == pytest.approx(half_width, abs=0.1)


def test_repeated_times_are_counted(tmp_path: Path) -> None:
    log = recorded(TWIN, replace(GOOD, repeated_share=0.003))
    run = read(tmp_path, log)
    repeats = int((np.diff(np.round(log.time_s, 3)) <= 0).sum())
    assert figure(said(run.quality, "time_disorder")) == repeats
    assert run.rows_used == log.time_s.size - repeats


@pytest.mark.parametrize(("kind", "cutoff_hz"), list(zip(list(UNITS)[:4], (30.0, 60.0, 40.0, 50.0), strict=True)))
def test_a_filter_on_the_force_alone_is_said_with_its_cut_off(tmp_path: Path, kind: Kind, cutoff_hz: float) -> None:
    run = read(tmp_path, recorded(UNITS[kind], Rig(force_cutoff_hz=cutoff_hz)))
    message = said(run.quality, "force_filtered")
    assert figure(message, "about") == pytest.approx(cutoff_hz, rel=0.15)
    assert "channel_delay" not in codes(run.quality)  # the filter is what makes it late; said once


@pytest.mark.parametrize("kind", ["twin-tube", "monotube"])
@pytest.mark.parametrize("delay_s", [0.005, -0.005])
def test_a_delay_is_taken_out_said_and_put_back_by_an_option(tmp_path: Path, kind: Kind, delay_s: float) -> None:
    log = recorded(UNITS[kind], Rig(force_delay_s=delay_s))
    run = read(tmp_path, log)
    taken = _taken_out(run)
    assert taken == pytest.approx(delay_s, abs=1.5e-3)  # one row and what the unit's own spring adds
    assert "taken out" in said(run.quality, "channel_delay")
    plain = read(tmp_path, log, corrections={"as_logged": True})
    assert _taken_out(plain) == 0.0
    assert "left in" in said(plain.quality, "channel_delay")
    np.testing.assert_allclose(plain.force_n, log.force_n, atol=0.06)


def test_the_option_of_the_commands_leaves_the_delay_in(tmp_path: Path) -> None:
    log, bench, out = (tmp_path / name for name in ("run.csv", "bench.toml", "out.json"))
    log.write_bytes(write_csv(recorded(TWIN, Rig(force_delay_s=0.005)), PLAIN))
    bench.write_text(bench_toml(PLAIN))
    words = ["analyse", str(log), "--bench", str(bench), "--json", str(out)]

    def moved_back(*more: str) -> bool:
        assert run_command([*words, *more]) == 0
        return any("moved back" in step["what"] for step in json.loads(out.read_text())["run"]["history"])

    assert moved_back()
    assert not moved_back("--as-logged")


def test_a_declared_delay_wins(tmp_path: Path) -> None:
    run = read(tmp_path, recorded(TWIN, Rig(force_delay_s=0.005)), timing={"force_delay_s": 0.005})
    assert _taken_out(run) == 0.005
    assert "channel_delay" not in codes(run.quality)


def _taken_out(run: Run) -> float:
    return sum(float(value) for step in run.history for name, value in step.settings if name == "force_delay_s")


@pytest.mark.parametrize("rows", [128, 200, 511])
def test_the_averaged_spectrum_is_scipy_s(rows: int) -> None:
    rng = np.random.default_rng(4)
    values = np.cumsum(rng.normal(0, 1, 3000)) + 0.01 * np.arange(3000)
    wanted = signal.welch(signal.detrend(values), 800.0, nperseg=rows)
    for got, want in zip(averaged_spectrum(values, 800.0, rows), wanted, strict=True):
        np.testing.assert_allclose(got, want, rtol=1e-6, atol=1e-9 * want.max())
