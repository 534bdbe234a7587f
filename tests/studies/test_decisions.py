"""Counting right and wrong decisions."""

from __future__ import annotations

import pytest

from dampkit.studies.decisions import count_decisions, interval


def test_each_kind_of_wrong_decision_is_counted_once() -> None:
    found = count_decisions(
        [(0.0, "fit"), (0.0, "rebuild"), (0.0, "retest"), (5.0, "fit"), (4.0, "replace"), (2.0, "fit"), (3.0, "retest")]
    )
    assert (found.units, found.sound, found.bad) == (7, 3, 2)
    assert (found.unsafe, found.needless, found.retests) == (1, 1, 2)


@pytest.mark.parametrize("of", [1, 20, 1000])
def test_none_or_all_seen_is_the_closed_form(of: int) -> None:
    """None among n: the true share p for which (1 - p)**n is 2.5 %; all among n is its mirror."""
    edge = 1 - 0.025 ** (1 / of)
    assert interval(0, of)[0] == 0.0
    assert interval(0, of)[1] == pytest.approx(edge)
    assert interval(of, of)[0] == pytest.approx(1 - edge)
    assert interval(of, of)[1] == 1.0
