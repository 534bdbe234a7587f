"""A bench is believed on a day, or what rests on it is not established."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import dampkit
from dampkit.errors import BadSettings
from dampkit.quantities import GRAVITY_M_S2
from dampkit.store.benches import DailyCheck, add_calibration, add_check, bench_state, check_of, checks_of, drift
from dampkit.store.book import Book
from dampkit.store.calibration import weight_n
from dampkit.store.check import complaints
from tests.store.made import new_book

SAMPLES = Path(__file__).parents[2] / "sample_runs"


def sheet(share: float = 0.001, due: str = "2026-03-01") -> str:
    rows = "".join(
        f"[[calibration.force]]\nmass_kg = {m:.1f}\nread_n = {weight_n(m, GRAVITY_M_S2) * (1 + share):.3f}\n"
        for m in (0.0, 10.0, 50.0)
    )
    return f'# made up\n[calibration]\non = "2025-03-01"\ndue = "{due}"\nby = "made-up fitter"\n{rows}'


def check(day: str, off: float, limit: float = 5.0) -> DailyCheck:
    return DailyCheck("M-1", (0.1, 0.5), (off, off), (off, off), limit, day, "made-up fitter")


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        yield book


def codes(book: Book, day: str) -> dict[str, str]:
    return {q.code: q.severity for q in bench_state(book, "bench 1", day).quality()}


def test_a_calibrated_and_checked_bench_says_nothing(book: Book) -> None:
    assert add_calibration(book, "bench 1", sheet(), "made-up fitter").passed
    add_check(book, "bench 1", check("2025-06-01", 1.0))
    assert codes(book, "2025-06-01") == {}
    assert complaints(book) == ()


def test_overdue_failed_and_unchecked_are_told_apart(book: Book) -> None:
    assert codes(book, "2025-06-01") == {"bench_not_calibrated": "note"}
    add_calibration(book, "bench 1", sheet(), "made-up fitter")
    assert codes(book, "2025-06-01") == {"bench_not_checked": "note"}
    assert codes(book, "2026-03-01") == {"bench_not_checked": "note"}
    assert codes(book, "2026-03-02") == {"bench_calibration_overdue": "bad", "bench_not_checked": "note"}
    add_check(book, "bench 1", check("2025-06-01", 7.0))
    assert codes(book, "2025-06-01") == {"bench_check_failed": "bad"}
    add_check(book, "bench 1", check("2025-06-01", 0.5))  # mended and checked again on the same day
    assert codes(book, "2025-06-01") == {}
    add_calibration(book, "bench 1", sheet(0.03, "2027-01-01").replace("2025-03-01", "2026-01-01"), "made-up fitter")
    assert codes(book, "2026-02-01")["bench_calibration_failed"] == "bad"
    assert codes(book, "2025-06-01") == {}  # what came later does not change what held that day


def test_another_bench_has_a_record_of_its_own(book: Book) -> None:
    add_calibration(book, "bench 1", sheet(), "made-up fitter")
    assert bench_state(book, "bench 2", "2025-06-01").calibration is None


def test_an_unusable_sheet_adds_nothing(book: Book) -> None:
    with pytest.raises(BadSettings, match="due"):
        add_calibration(book, "bench 1", sheet(due="2025-03-01"), "made-up fitter")
    assert bench_state(book, "bench 1", "2025-06-01").calibration is None


def test_a_bench_that_drifts_is_seen_though_every_check_passes(book: Book) -> None:
    for i, off in enumerate(np.append(np.tile([0.1, -0.1, 0.2, -0.2], 4), [2.5])):
        add_check(book, "bench 1", check(f"2025-06-{i + 1:02d}", float(off)))
    values, found = drift(checks_of(book, "bench 1"))
    assert all(each.passed for each in checks_of(book, "bench 1"))
    assert values[-1] == 2.5
    assert found is not None
    assert found.out == (16,)


@pytest.mark.parametrize("share", [0.0, 0.08])
def test_the_master_dampers_log_becomes_a_check(share: float) -> None:
    """A sample run (made up) against a record that is its own readings less a share: every speed is off by that share."""
    run = dampkit.read_run(SAMPLES / "sound_twin_tube.csv", bench=SAMPLES / "sound_twin_tube.bench.toml")
    result = dampkit.analyse(run).to_dict()
    reading = {d: result["valve"][d]["reading"] for d in ("rebound", "compression")}
    speeds = np.array(reading["rebound"]["velocity_m_s"])[1:]  # without the slow pass
    reference = {"velocity_m_s": [*speeds, 9.0]}
    for d, read in reading.items():
        force = np.interp(speeds, read["velocity_m_s"], read["force_n"]) / (1.0 + share)
        reference[f"{d}_force_n"] = [*force, 9999.0]
    found = check_of(result, reference, ("M-1", "2025-06-01", "made-up fitter"))
    assert found.velocity_m_s == pytest.approx(speeds)
    assert found.mean_percent == pytest.approx(100 * share, abs=0.01)
    assert found.passed is (share == 0.0)
