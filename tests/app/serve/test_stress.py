"""Kill -9 and crowds at the page, in small; `python -m tests.app.serve.stress` has the full measures."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.app.serve.stress import kill_at_random, under_load

pytestmark = pytest.mark.slow


def test_what_was_answered_as_done_survives_kill_9(tmp_path: Path) -> None:
    counts = kill_at_random(tmp_path, 4, seed=5)
    assert counts["servers"] > 0
    assert counts["workers"] > 0
    assert counts["kept"] > 0


def test_every_log_of_a_crowd_is_answered_and_kept(tmp_path: Path) -> None:
    load = under_load(tmp_path / "book.sqlite", 3, 0.0, rows=20_000)
    assert len(load.kept) == 3
