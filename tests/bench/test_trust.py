"""Trust in the bench: pasted rows, a cell that reads one way, impossible temperatures, slips of scale, a drifting zero."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.bench.test import read_run
from dampkit.quantities import Array
from dampkit.virtual.faulted import faulted
from dampkit.virtual.plant import KINDS, Kind
from dampkit.virtual.rig import Log, Rig
from tests.bench.flawed import UNITS, codes, figure, read, recorded, said
from tests.bench.writer import Habit, made_run, spec_for, write_log

pytestmark = pytest.mark.slow  # each makes a whole log and flaws of its own

GOOD = Rig(sample_rate_hz=500.0)
TWIN = UNITS["twin-tube"]


def severity(run: Run, code: str) -> str:
    (found,) = (q.severity for q in run.quality if q.code == code)
    return found


def evenly(rows: int) -> Array:
    return np.asarray(0.002 * np.arange(rows), dtype=np.float64)


def pasted(log: Log, first: int, last: int, *, retimed: bool) -> Log:
    """The log with some of its rows once more at its end; their time as it was, or going on."""

    def again(values: Array) -> Array:
        return np.concatenate([values, values[first:last]])

    assert log.temperature_c is not None
    time_s = evenly(log.time_s.size + last - first) if retimed else again(log.time_s)
    return Log(time_s, again(log.displacement_m), again(log.force_n), None, again(log.temperature_c))


@pytest.mark.parametrize("retimed", [True, False])
@pytest.mark.parametrize("kind", KINDS)
def test_a_quarter_of_the_log_pasted_again_is_said_and_not_used(tmp_path: Path, kind: Kind, retimed: bool) -> None:
    log = recorded(UNITS[kind], GOOD)
    rows = log.time_s.size
    plain, run = read(tmp_path, log), read(tmp_path, pasted(log, rows - rows // 4, rows, retimed=retimed))
    assert run.copied == ((rows, rows + rows // 4),)
    for name in ("time_s", "displacement_m", "force_n", "temperature_c"):
        np.testing.assert_array_equal(getattr(run, name), getattr(plain, name))
    message = said(run.quality, "copied_rows")
    assert figure(message, "lines") == rows + 2  # a line of headings, and lines are counted from 1
    assert figure(message, "repeat lines") == rows - rows // 4 + 2
    assert severity(run, "copied_rows") == "warning"


def test_rows_pasted_into_the_middle_leave_a_gap(tmp_path: Path) -> None:
    log = recorded(TWIN, GOOD)
    assert log.temperature_c is not None
    at, count = log.time_s.size // 2, 4000

    def twice(values: Array) -> Array:
        return np.concatenate([values[:at], values[at - count :]])

    x, f, t = (twice(v) for v in (log.displacement_m, log.force_n, log.temperature_c))
    run = read(tmp_path, Log(evenly(x.size), x, f, None, t))
    assert run.copied == ((at, at + count),)
    assert (np.diff(run.time_s) > 0).all()
    assert "gaps" in codes(run.quality)


def test_a_log_that_is_mostly_copies_is_bad(tmp_path: Path) -> None:
    log = recorded(TWIN, GOOD)
    rows = log.time_s.size
    thrice = pasted(pasted(log, 0, rows, retimed=True), 0, rows, retimed=True)
    run = read(tmp_path, thrice)
    assert severity(run, "copied_rows") == "bad"
    assert run.rows_used == rows


def test_readings_without_noise_are_not_called_copies(tmp_path: Path) -> None:
    """Cycles of a formula at a whole number of rows a cycle are equal, digit by digit, and so is a speed run again."""
    truth = made_run(((0.5, 3), (2.0, 6), (0.5, 3)))
    run = read_run(write_log(tmp_path / "run.csv", Habit(), truth), spec_for(Habit()))
    assert run.copied == ()
    assert run.rows_used == truth.time_s.size


@pytest.mark.parametrize("zero", [{"force_n": 0.0}, {}])
@pytest.mark.parametrize("lost", ["compression", "rebound"])
@pytest.mark.parametrize("kind", KINDS)
def test_a_cell_that_reads_one_way_only_is_bad(tmp_path: Path, kind: Kind, lost: str, zero: dict[str, float]) -> None:
    log = recorded(UNITS[kind], GOOD)
    force = np.maximum(log.force_n, 0.0) if lost == "compression" else np.minimum(log.force_n, 0.0)
    run = read(tmp_path, replace(log, force_n=force), zero=zero)
    assert severity(run, "one_way_cell") == "bad"
    assert ("pushed in" in said(run.quality, "one_way_cell")) == (lost == "compression")
    assert figure(said(run.quality, "one_way_cell"), "exactly") == 0.0


@pytest.mark.parametrize("step_n", [0.5, 10.0])
@pytest.mark.parametrize("kind", ["twin-tube", "monotube", "lever-arm"])
def test_a_side_that_is_dead_is_no_one_way_cell(tmp_path: Path, kind: Kind, step_n: float) -> None:
    """Without any damping a side still has its friction and gas force, also where the cell is coarse."""
    log = recorded(UNITS[kind], GOOD)
    speed = np.gradient(log.displacement_m, log.time_s)
    dead = np.where(speed < 0, -23.0 - 110.0 * (kind != "lever-arm"), log.force_n)
    noise = np.random.default_rng(3).normal(0, 2.0, dead.size)
    force = step_n * np.round((dead + noise) / step_n)
    assert "one_way_cell" not in codes(read(tmp_path, replace(log, force_n=force)).quality)


@pytest.mark.parametrize("reads_c", [-40.0, 1372.0, -200.0, 0.0, 295.0])
def test_a_temperature_that_no_damper_has_is_not_used(tmp_path: Path, reads_c: float) -> None:
    log = recorded(TWIN, GOOD)
    assert log.temperature_c is not None
    run = read(tmp_path, replace(log, temperature_c=np.full(log.time_s.size, reads_c)))
    assert run.temperature_c is None
    assert severity(run, "temperature_impossible") == "warning"
    assert ("kelvin" in said(run.quality, "temperature_impossible")) == (reads_c == 295.0)


def test_a_leaping_temperature_is_not_used(tmp_path: Path) -> None:
    log = recorded(TWIN, GOOD)
    assert log.temperature_c is not None
    leaping = log.temperature_c + 25.0 * (log.time_s > 20.0)
    run = read(tmp_path, replace(log, temperature_c=leaping))
    assert run.temperature_c is None
    assert figure(said(run.quality, "temperature_impossible"), "leaps by") == pytest.approx(25.0, abs=0.5)
    assert figure(said(run.quality, "temperature_impossible"), "s at") == pytest.approx(20.0, abs=1.0)


def test_few_wild_temperatures_are_bridged(tmp_path: Path) -> None:
    log = recorded(TWIN, GOOD)
    assert log.temperature_c is not None
    wild = log.temperature_c.copy()
    wild[5000:5050] = 1372.0
    run = read(tmp_path, replace(log, temperature_c=wild))
    assert run.temperature_c is not None
    np.testing.assert_allclose(run.temperature_c, log.temperature_c, atol=0.3)


@pytest.mark.parametrize(("reads_c", "stuck"), [(22.0, True), (None, False)])
def test_a_stuck_temperature_is_said_and_used(tmp_path: Path, reads_c: float | None, stuck: bool) -> None:
    log = recorded(UNITS["monotube"], GOOD)
    if reads_c is not None:
        log = replace(log, temperature_c=np.full(log.time_s.size, reads_c))
    run = read(tmp_path, log)
    assert run.temperature_c is not None
    assert ("temperature_stuck" in codes(run.quality)) == stuck
    if stuck:  # the sum of force times travel, in kilojoules
        work_kj = 1e-3 * float(np.sum(log.force_n[:-1] * np.diff(log.displacement_m)))
        assert figure(said(run.quality, "temperature_stuck"), "while") == pytest.approx(work_kj, abs=0.2)


@pytest.mark.parametrize("factor", [10.0, 9.80665, 1000.0, 1e-3])
@pytest.mark.parametrize("kind", ["twin-tube", "monotube", "lever-arm"])
def test_a_slip_of_scale_is_doubted_without_a_reference(tmp_path: Path, kind: Kind, factor: float) -> None:
    log = recorded(UNITS[kind], GOOD)
    run = read(tmp_path, replace(log, force_n=factor * log.force_n))
    assert severity(run, "size_doubtful") == "warning"
    if factor in (1000.0, 1e-3):
        assert "kilonewton" in said(run.quality, "size_doubtful") or "covers" in said(run.quality, "size_doubtful")


@pytest.mark.parametrize("code", ["dead_rebound", "internal_leak", "low_oil", "high_friction"])
def test_a_faulty_unit_s_size_is_not_doubted(tmp_path: Path, code: str) -> None:
    run = read(tmp_path, recorded(faulted(TWIN, code, 5.0), GOOD))
    assert not codes(run.quality) & {"size_doubtful", "one_way_cell", "temperature_stuck", "copied_rows"}


@pytest.mark.parametrize("drift_n", [0.0, 150.0, -150.0])
@pytest.mark.parametrize("kind", KINDS)
def test_a_zero_that_drifts_is_said_with_its_size(tmp_path: Path, kind: Kind, drift_n: float) -> None:
    log = recorded(UNITS[kind], GOOD)
    span_s = float(log.time_s[-1])
    run = read(tmp_path, replace(log, force_n=np.round(log.force_n + drift_n * log.time_s / span_s, 1)))
    assert ("zero_drifts" in codes(run.quality)) == (drift_n != 0)
    if drift_n:
        message = said(run.quality, "zero_drifts")
        rate = figure(message, "reads") / figure(message, "after")
        assert rate == pytest.approx(abs(drift_n) / span_s, rel=0.15)
        assert ("more" in message) == (drift_n > 0)


def thin_logs() -> dict[str, Callable[[Log], Log]]:
    def part(log: Log, rows: slice) -> Log:
        t = None if log.temperature_c is None else log.temperature_c[rows]
        return Log(log.time_s[rows], log.displacement_m[rows], log.force_n[rows], None, t)

    def without_temperature(log: Log) -> Log:
        assert log.temperature_c is not None
        return replace(log, temperature_c=np.where(np.arange(log.time_s.size) % 3 == 0, log.temperature_c, np.nan))

    return {
        "24 rows": lambda log: part(log, slice(15_000, 15_024)),
        "one cycle": lambda log: part(log, slice(-700, None)),
        "one row in fifty": lambda log: part(log, slice(None, None, 50)),
        "all forces equal": lambda log: replace(log, force_n=np.full(log.time_s.size, 12.0)),
        "nothing moves": lambda log: replace(log, displacement_m=np.full(log.time_s.size, 0.01)),
        "temperature now and then": without_temperature,
    }


@pytest.mark.parametrize("name", thin_logs())
def test_thin_logs_are_read(tmp_path: Path, name: str) -> None:
    thin = thin_logs()[name](recorded(TWIN, GOOD))
    run = read(tmp_path, thin)
    assert run.rows_used >= 0.9 * thin.time_s.size  # of one row in fifty, a few are lone leaps
    assert np.isfinite(run.force_n).all()
    assert run.temperature_c is None or np.isfinite(run.temperature_c).all()
