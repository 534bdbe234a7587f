"""The shop's figures, counted by hand on a small made-up book."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest

from dampkit.outcome.result import Result
from dampkit.store.book import Book
from dampkit.store.question import Which
from dampkit.store.record import Circumstances, new_entry
from dampkit.store.settings import Settings
from dampkit.store.statistics import Share, rows, shop, unit_types
from dampkit.store.statistics_page import render_statistics
from tests.report.made_up import low_oil, sound
from tests.store.made import new_book


def add(book: Book, serial: str, job: str | None, day: str, result: Result) -> int:
    said = Circumstances("made-up fitter", serial, job, day, facts={"unit_type": "12-34" if serial < "B" else ""})
    return book.add(new_entry(result, f"{serial}{job}{day}".encode(), Settings(), said)).entry


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A-1 comes in bad, passes, comes back bad; A-2 comes in bad and is bad after the work; B-1 passes twice."""
    with new_book(tmp_path) as book:
        add(book, "A-1", "j1", "2024-01-10", low_oil())
        add(book, "A-1", "j1", "2024-01-12", sound())
        add(book, "A-1", "j3", "2024-03-01", low_oil())
        add(book, "A-2", "j2", "2024-02-01", low_oil())
        add(book, "A-2", "j2", "2024-02-02", low_oil())
        add(book, "B-1", "j4", "2024-02-03", sound())
        add(book, "B-1", "j5", "2024-05-03", sound())
        yield book


def test_counts_are_those_of_the_book(book: Book) -> None:
    found = shop(book, Which())
    assert found.tests == 7
    assert found.by_month == {
        "2024-01": {"fit": 1, "rebuild": 1},
        "2024-02": {"rebuild": 2, "fit": 1},
        "2024-03": {"rebuild": 1},
        "2024-05": {"fit": 1},
    }
    assert found.by_type == {"": {"fit": 2}, "12-34": {"rebuild": 4, "fit": 1}}
    assert found.found == {"low_oil": 4}
    assert (found.come_back, found.first_time_right) == (Share(1, 2), Share(1, 2))
    assert unit_types(book) == ("12-34",)
    table = list(rows(found))
    assert sum(row["tests"] for row in table if row["group"] == "month") == 7


def test_type_and_days_narrow_it(book: Book) -> None:
    assert shop(book, Which("12-34")).tests == 5
    assert shop(book, Which(since="2024-02-02", until="2024-03-01")).tests == 3


@pytest.mark.parametrize(("count", "of"), [(1, 2), (0, 30), (30, 30), (7, 90)])
def test_intervals_of_shares_are_those_of_a_library(count: int, of: int) -> None:
    """scipy.stats.binomtest, method "wilson"."""
    ours, theirs = Share(count, of).estimate, binomtest(count, of).proportion_ci(method="wilson")
    assert ours is not None
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_a_type_that_changed_is_seen_on_its_chart(tmp_path: Path) -> None:
    friction = np.append(np.tile([20.0, 20.6, 19.4, 20.2, 19.8], 3), 26.0)
    result = sound()
    known = result.statics.friction_force_n
    assert known is not None
    with new_book(tmp_path) as book:
        for i, force in enumerate(friction):
            value = known.model_copy(update={"value": force, "low": force - 0.5, "high": force + 0.5})
            statics = result.statics.model_copy(update={"friction_force_n": value})
            add(book, f"A-{i}", None, f"2024-01-{i + 1:02d}", result.model_copy(update={"statics": statics}))
        (chart,) = [c for c in shop(book, Which("12-34")).charts if c.name == "friction_n"]
        assert chart.chart is not None
        assert chart.chart.out == (15,)
        page = render_statistics(shop(book, Which("12-34")))
    assert "Not steady: 1 beyond the limits (entry 16)" in page
    assert "too few, or too alike, for limits" in page  # the other numbers are all the same


def test_an_empty_book_has_figures_too(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        found = shop(book, Which())
        assert (found.tests, found.come_back.estimate) == (0, None)
        assert "All units: 0 tests" in render_statistics(found)
