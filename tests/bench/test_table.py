"""The short way to read plain numbers gives what the library's parser gives, and leaves all else to it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench import table
from dampkit.bench.declared import BenchSpec
from dampkit.bench.record import Record, open_record

SAMPLES = Path(__file__).parents[2] / "sample_runs"
HEAD = "time_s,displacement_mm,force_N\n"
ROWS = [f"{0.002 * i:.3f},{i % 9}.25,{7 * i - 50}" for i in range(40)]


def both_ways(record: Record, monkeypatch: pytest.MonkeyPatch) -> tuple[table.Table, table.Table]:
    wanted = range(len(record.layout.headings))
    short = record.table(record.layout, wanted)
    monkeypatch.setattr(table, "SHORT", 0)
    return short, record.table(record.layout, wanted)


def record_of(text: str, tmp_path: Path) -> Record:
    log = tmp_path / "run.csv"
    log.write_bytes(text.encode())
    return open_record(log, BenchSpec())


@pytest.mark.parametrize(
    "name", ["sound_twin_tube", "sound_monotube", "high_friction", "loops", "columns", "time_anew"]
)
def test_sample_runs_read_alike_either_way(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    short, long = both_ways(open_record(SAMPLES / f"{name}.csv", BenchSpec()), monkeypatch)
    for column, values in short.columns.items():
        np.testing.assert_allclose(values, long.columns[column], rtol=1e-15)


@pytest.mark.parametrize(("was", "is_now"), [
    (ROWS[20], ROWS[20].replace(".25", ".2.5")), (ROWS[20], "0.040,,90"), (ROWS[20], ROWS[20] + ",7"),
    (ROWS[20], "0.040,2.25"), (ROWS[20], "0.040,2.25,-"), (ROWS[20], "0.040,2.25,1e"), (ROWS[20], "0.040,2.25,nan"),
    (ROWS[20], ""), (ROWS[20], "0.040,2.25,1_0"), (ROWS[20], "0.040, 2.25,90"), (ROWS[20], "0.040,2.25,+9.0E+01"),
    (ROWS[39], ROWS[39] + "\n\n"), ("\n", "\r\n"),
])  # fmt: skip
def test_a_cell_that_is_no_plain_number_is_read_as_ever(
    was: str, is_now: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = record_of((HEAD + "\n".join(ROWS)).replace(was, is_now), tmp_path)
    short, long = both_ways(record, monkeypatch)
    assert short.damaged == long.damaged
    for column, values in short.columns.items():
        np.testing.assert_allclose(values, long.columns[column], rtol=1e-15)


def test_plain_numbers_are_read_the_short_way(tmp_path: Path) -> None:
    record = record_of(HEAD + "\n".join(ROWS), tmp_path)
    found = table._plain(table.rows_of(record.text, record.layout), record.layout, 3, [1, 2])
    assert found is not None
    assert (found[2] == 7.0 * np.arange(40) - 50).all()
