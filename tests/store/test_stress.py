"""Kill -9 and crowds, in small; `python -m tests.store.stress 300 60` is the full measure."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.store.stress import crowd, kill_while_migrating, kill_while_writing
from tests.store.writings import DO

pytestmark = pytest.mark.filterwarnings(
    "ignore:.*fork:DeprecationWarning"
)  # the children use no thread of their parent


def test_what_was_reported_as_written_survives_kill_9_and_nothing_is_there_by_half(tmp_path: Path) -> None:
    assert sum(kill_while_writing(tmp_path, 12, seed=3).values()) > 0


def test_a_killed_migration_goes_on_where_it_was(tmp_path: Path) -> None:
    assert sum(kill_while_migrating(tmp_path, 6, seed=4, times=5).values()) == 6


def test_eight_processes_lose_and_double_nothing(tmp_path: Path) -> None:
    assert crowd(tmp_path / "crowd.sqlite", 8, 1.0) >= 8 * len(DO)
