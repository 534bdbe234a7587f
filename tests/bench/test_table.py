"""The quick way to read plain numbers and the careful one give the same, and the quick one leaves to it what is not plain."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.bench import table
from dampkit.bench.declared import BenchSpec
from dampkit.bench.record import Record, open_record
from dampkit.errors import UnreadableLog
from tests.cost import peak_bytes

SAMPLES = Path(__file__).parents[2] / "sample_runs"
HEAD = "time_s,displacement_mm,force_N\n"
ROWS = [f"{0.002 * i:.3f},{i % 9}.25,{7 * i - 50}" for i in range(40)]


def plain(record: Record, width: int = 3) -> dict[int, np.ndarray] | None:
    return table._plain(table.Rows(record.text, record.layout.start, record.layout.stop), record.layout, width, [1, 2])


def said(record: Record) -> table.Table | str:
    """The numbers, or the refusal."""
    try:
        return record.table(record.layout, range(len(record.layout.headings)))
    except UnreadableLog as error:
        return str(error)


def read_alike(record: Record) -> None:
    quick = said(record)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(table, "_plain", lambda *_: None)
        careful = said(record)
    if isinstance(quick, str) or isinstance(careful, str):
        assert quick == careful
        return
    assert quick.damaged == careful.damaged
    for column, values in quick.columns.items():
        np.testing.assert_allclose(values, careful.columns[column], rtol=1e-15)


def record_of(text: str, folder: Path) -> Record:
    log = folder / "run.csv"
    log.write_bytes(text.encode("latin-1"))
    return open_record(log, BenchSpec())


@pytest.mark.parametrize(
    "name", ["sound_twin_tube", "sound_monotube", "high_friction", "loops", "columns", "time_anew"]
)
def test_sample_runs_read_alike_either_way(name: str) -> None:
    read_alike(open_record(SAMPLES / f"{name}.csv", BenchSpec()))


AS_NUMBERS = ["", "nan", "n/a", "+90", "9.0E+01", "-.5", "5.", "007", " 90 ", "inf", "-Infinity", "1e400", "1e-400"]
AS_NONE = ["9.0.0", "1e", "1_0", "0x1F", "90 N", "9 0", '"90"', "\xb2", "90,7", "True", "NULLE", "9,", " "]


@pytest.mark.parametrize("cell", [*AS_NUMBERS, *AS_NONE])
def test_a_cell_is_read_as_the_careful_way_reads_it(cell: str, tmp_path: Path) -> None:
    record = record_of((HEAD + "\n".join(ROWS)).replace(ROWS[20], f"0.040,2.25,{cell}"), tmp_path)
    assert (plain(record) is None) == (cell in AS_NONE)
    read_alike(record)


@pytest.mark.parametrize(("was", "is_now", "is_plain"), [
    (ROWS[20], "", True), (ROWS[20], "0.040,2.25", False), (ROWS[20], "0.040", False), (ROWS[20], "0.040,2.25,7,8", False),
    (ROWS[39], ROWS[39] + "\n\n", True), (ROWS[39], ROWS[39] + "\n \n", True), (ROWS[39], ROWS[39] + "\nend", True),
    ("\n", "\r\n", True), (ROWS[20] + "\n", ROWS[20] + "\r", False), (ROWS[20], ROWS[20] + "\r\r" + ROWS[20], False),
    (",", ", ", True), (",", ";", True), (",", "\t", True), (",", " ", False), (".25", ".5 ", True),
])  # fmt: skip
def test_lines_are_read_as_the_careful_way_reads_them(was: str, is_now: str, is_plain: bool, tmp_path: Path) -> None:
    record = record_of((HEAD + "\n".join(ROWS)).replace(was, is_now), tmp_path)
    assert (plain(record) is not None) == is_plain
    read_alike(record)


def test_a_decimal_comma_between_semicolons_is_plain(tmp_path: Path) -> None:
    record = record_of((HEAD + "\n".join(ROWS)).replace(",", ";").replace(".", ","), tmp_path)
    found = plain(record)
    assert found is not None
    assert (found[2] == 7.0 * np.arange(40) - 50).all()
    read_alike(record)


def test_gaps_stay_in_their_rows_over_several_blocks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A slow channel that has a reading in every third row; the other rows are empty there."""
    monkeypatch.setattr(table, "BLOCK", 1000)
    lines = [f"{0.002 * i:.3f},{i % 9}.25,{i if i % 3 == 0 else ''}" for i in range(500)]
    found = plain(record_of(HEAD + "\n".join(lines), tmp_path))
    assert found is not None
    there = np.arange(500) % 3 == 0
    assert (found[2][there] == np.arange(0.0, 500.0, 3.0)).all()
    assert np.isnan(found[2][~there]).all()
    assert (found[1] == np.arange(500) % 9 + 0.25).all()


@given(st.lists(st.tuples(st.integers(100, 500), st.sampled_from('0123456789eE+-.,;\t \r\n"xnaif\xb2')), max_size=3))
def test_damage_is_read_as_the_careful_way_reads_it(
    tmp_path_factory: pytest.TempPathFactory, damage: list[tuple[int, str]]
) -> None:
    text = list(HEAD + "\n".join(ROWS))
    for at, character in damage:
        text[at] = character
    folder = tmp_path_factory.mktemp("log")
    try:
        record = record_of("".join(text), folder)
    except UnreadableLog:
        return
    read_alike(record)


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=30, max_size=60))
def test_numbers_are_the_nearest_that_there_are(tmp_path_factory: pytest.TempPathFactory, values: list[float]) -> None:
    """As Python's own float reads them: repr gives digits that are read back exactly."""
    lines = [f"{0.002 * i:.3f},{i % 9}.25,{value!r}" for i, value in enumerate(values)]
    found = plain(record_of(HEAD + "\n".join(lines), tmp_path_factory.mktemp("log")))
    assert found is not None
    assert found[2].tolist() == values


def test_a_long_log_is_held_once_as_text_and_once_as_numbers(tmp_path: Path) -> None:
    """Whatever stands above and below its rows. (What pyarrow holds of a block is not counted.)"""
    lines = [f"{0.002 * i:.3f},{i % 9}.25,{7 * (i % 300) - 50}" for i in range(100_000)]
    record = record_of("made up\n" + HEAD + "\n".join(lines) + "\nend\n", tmp_path)
    numbers = 3 * 8 * len(lines)
    record.table(record.layout, range(3))  # the library is loaded once
    assert peak_bytes(lambda: record.table(record.layout, range(3))) < 1.3 * numbers
