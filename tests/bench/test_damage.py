"""Damaged logs: a Run or a refusal that says where. A fixed share of the long fuzz (tests/benchmarks/fuzz.py)."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dampkit.bench.test import read_run
from dampkit.errors import UnreadableLog
from tests.bench.writer import Habit, made_run, spec_for, write_log
from tests.benchmarks.fuzz import fuzz

SHORT = made_run(((5.0, 2),))


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2])
def test_damaged_logs_never_give_a_traceback(seed: int, tmp_path: Path) -> None:
    answers, offenders = fuzz(120, seed, tmp_path)
    assert not offenders, offenders[:3]
    assert answers["refused"] > 10
    assert answers["read"] + answers["read with remarks"] > 10


@pytest.mark.slow
def test_many_damaged_logs_never_give_a_traceback(tmp_path: Path) -> None:
    assert not fuzz(800, 3, tmp_path)[1]


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.binary(max_size=400))
def test_any_bytes_are_refused_or_read(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "run.csv")
        path.write_bytes(content)
        with pytest.raises(UnreadableLog):  # no log of a bench fits into 400 bytes: 24 rows are the least
            read_run(path)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(row=st.integers(0, 240), column=st.integers(0, 3), cell=st.text(max_size=12))
def test_any_cell_is_read_left_out_or_refused_with_its_line(row: int, column: int, cell: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = write_log(Path(folder, "run.csv"), Habit(), SHORT)
        lines = path.read_text().split("\n")
        cells = lines[row].split(",")
        cells[column % len(cells)] = cell
        lines[row] = ",".join(cells)
        path.write_text("\n".join(lines), encoding="utf-8", errors="replace")
        where, used = _refused_at_or_rows_used(path)
        assert "run.csv" in where or used >= SHORT.time_s.size - 4


def _refused_at_or_rows_used(path: Path) -> tuple[str, int]:
    try:
        return "", read_run(path, spec_for(Habit())).rows_used
    except UnreadableLog as error:
        return error.where, 0
