"""Done work of a batch, its keys and its table."""

from __future__ import annotations

from pathlib import Path

import pytest

from dampkit.store.outcomes import BUG, COLUMNS, Done, Outcome, Planned, key_of, rows
from tests.report.made_up import ALL, low_oil

KEY = "ab" + "0" * 62


def test_a_key_changes_with_log_settings_and_version() -> None:
    keys = {key_of(*parts) for parts in [("a", "b", "1"), ("x", "b", "1"), ("a", "x", "1"), ("a", "b", "2")]}
    assert len(keys) == 4


def test_an_outcome_comes_back_as_it_was(tmp_path: Path) -> None:
    done = Done(tmp_path)
    for outcome in (Outcome(KEY, "f" * 64, 0, low_oil().to_dict()), Outcome(KEY, "f" * 64, 3, error=("a", "b"))):
        done.keep(outcome)
        assert done.get(KEY) == done.lasting(KEY) == outcome


@pytest.mark.parametrize("damage", [b"", b"{", b"{}", b"[]"])
def test_damaged_work_does_not_count_as_done(tmp_path: Path, damage: bytes) -> None:
    done = Done(tmp_path)
    done.keep(Outcome(KEY, "f" * 64, 3))
    done.place(KEY).write_bytes(damage)
    assert done.lasting(KEY) is None


def test_a_fault_of_the_program_is_tried_again(tmp_path: Path) -> None:
    done = Done(tmp_path)
    done.keep(Outcome(KEY, "f" * 64, BUG, error=("x",)))
    assert done.get(KEY) is not None
    assert done.lasting(KEY) is None


@pytest.mark.parametrize("name", ALL)
def test_a_result_has_its_line_in_the_table(tmp_path: Path, name: str) -> None:
    result, done = ALL[name](), Done(tmp_path)
    done.keep(Outcome(KEY, "f" * 64, 0, result.to_dict()))
    (row,) = rows(iter([Planned("a.csv", KEY)]), done)
    assert set(row) <= set(COLUMNS)
    assert (row["file"], row["action"], row["serial"]) == ("a.csv", result.verdict.action, result.damper.serial)
    friction = result.statics.friction_force_n
    assert row.get("friction_n_low") == (friction.low if friction else None)
    assert row["stages"] == len(result.run.stages)


def test_logs_without_result_have_a_line_that_says_why(tmp_path: Path) -> None:
    done, other = Done(tmp_path), "cd" + "0" * 62
    done.keep(Outcome(KEY, "f" * 64, 4, error=("a.csv: no full cycle", "Expected: one")))
    plan = [Planned("a.csv", KEY), Planned("b.csv", None, ("b.csv: gone",), 3), Planned("c.csv", other)]
    found = [(row["file"], row["status"], row["error"]) for row in rows(iter(plan), done)]
    assert found == [
        ("a.csv", 4, "a.csv: no full cycle; Expected: one"),
        ("b.csv", 3, "b.csv: gone"),
        ("c.csv", BUG, "not analysed yet"),
    ]
