"""A type's reference grows from its units that passed, and says who took it on and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import dampkit
from dampkit.errors import BadSettings
from dampkit.store.book import Book
from dampkit.store.grown import accepted, grown, passed_of
from dampkit.store.library import NewCard, add_card, history_of
from dampkit.store.record import Circumstances, new_entry
from dampkit.store.settings import Settings
from tests.store.made import new_book

TYPE = '# measured on the lift\n[damper]\nkind = "twin-tube"\nrod_diameter_mm = 12.4 # with a caliper\n'
SPEEDS = (0.05, 0.1, 0.3, 0.6)
REBOUND, COMPRESSION = np.array([150.0, 350.0, 800.0, 1100.0]), np.array([130.0, 280.0, 480.0, 640.0])


def table(scale: float) -> bytes:
    rows = zip(SPEEDS, scale * REBOUND, scale * COMPRESSION, strict=True)
    return ("velocity m/s,rebound N,compression N\n" + "".join(f"{v},{r:.1f},{c:.1f}\n" for v, r, c in rows)).encode()


def one_test(book: Book, serial: str, scale: float, day: str, action: str = "fit") -> int:
    """A made-up table; its verdict is set, since a table without a reference alone decides nothing."""
    result = dampkit.analyse(dampkit.read_test([table(scale)], names=[f"{serial}.csv"]), {"damper": {"serial": serial}})
    verdict = result.verdict.model_copy(update={"action": action})
    said = Circumstances("made-up fitter", serial, None, day, facts={"unit_type": "12-34"})
    settings = Settings(damper=f'{TYPE}serial = "{serial}"\n')
    return book.add(new_entry(result.model_copy(update={"verdict": verdict}), table(scale), settings, said)).entry


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with new_book(tmp_path) as book:
        add_card(book, NewCard("unit-type", "12-34", TYPE, "made-up fitter"))
        yield book


def test_only_the_latest_passed_test_of_each_unit_counts(book: Book) -> None:
    one_test(book, "A-1", 1.3, "2024-01-01", "rebuild")
    after = one_test(book, "A-1", 1.00, "2024-01-03")
    second = one_test(book, "A-2", 1.04, "2024-02-01")
    one_test(book, "A-3", 1.02, "2024-02-02")
    one_test(book, "A-3", 0.5, "2024-06-01", "rebuild")  # passed once, is bad now: no known-good unit
    assert [entry.id for entry in passed_of(book, "12-34")] == [after, second]
    made = grown(book, "12-34", 0.95, 0.95)
    at = np.isin(np.round(made.found.velocity_m_s, 6), SPEEDS)
    np.testing.assert_allclose(made.found.mean_n["rebound"][at], 1.02 * REBOUND[: at.sum()], rtol=0.02)
    assert made.why == f"reference from entries {after}, {second}"


def test_what_is_accepted_is_a_new_version_that_says_who_and_from_what(book: Book) -> None:
    one_test(book, "A-1", 1.00, "2024-01-03")
    one_test(book, "A-2", 1.04, "2024-02-01")
    card, fresh = accepted(book, "12-34", grown(book, "12-34", 0.95, 0.95), "second fitter")
    assert (card.version, fresh, card.who, card.why) == (2, True, "second fitter", "reference from entries 1, 2")
    assert "rod_diameter_mm = 12.4 # with a caliper" in card.text
    assert "rebound_tolerance_n" in card.text
    assert "serial" not in card.text
    assert history_of(book, "unit-type", "12-34")[0].text == TYPE


def test_one_unit_makes_no_reference(book: Book) -> None:
    one_test(book, "A-1", 1.00, "2024-01-03")
    with pytest.raises(BadSettings, match="1 unit of the type '12-34' passed"):
        grown(book, "12-34", 0.95, 0.95)
