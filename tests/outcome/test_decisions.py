"""Counting right and wrong decisions."""

from __future__ import annotations

import pytest

from dampkit.outcome.decisions import at_most, count_decisions


def test_each_kind_of_wrong_decision_is_counted_once() -> None:
    found = count_decisions(
        [(0.0, "fit"), (0.0, "rebuild"), (0.0, "retest"), (5.0, "fit"), (4.0, "replace"), (2.0, "fit"), (3.0, "retest")]
    )
    assert (found.units, found.sound, found.bad) == (7, 3, 2)
    assert (found.unsafe, found.needless, found.retests) == (1, 1, 2)
    assert found.needless_ratio == pytest.approx(1 / 3)


def test_nothing_counted_is_no_division_by_nothing() -> None:
    assert count_decisions([]).retest_ratio == 0.0


def test_none_seen_in_a_thousand() -> None:
    """The rule of three: none in n means at most about 3/n with 95 % (Hanley and Lippman-Hand 1983, from memory)."""
    assert at_most(0, 1000) == pytest.approx(3 / 1000, rel=0.01)
    assert at_most(5, 5) == 1.0
