"""Columns held in memory are read as a file is, checked as a file is, and never changed."""

from __future__ import annotations

import hashlib
import io
import struct
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

import dampkit
from dampkit.bench import gate
from dampkit.bench.memory import columns_of

SIGNS = {"signs": {"force_positive": "tension", "displacement_positive": "extension"}}
Columns = dict[str, npt.NDArray[np.float64]]


def law(v: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Force of a made-up unit at a speed, N: an orifice, stiffer in rebound."""
    return np.asarray(np.where(v > 0, 6000.0, 3000.0) * v * np.abs(v))


def log(share: float = 1.0, rows_a_second: int = 500) -> Columns:
    """Three stages of a sine of 50 mm, made-up unit; `share` of its forces."""
    stages = ((0.05, 1.0), (0.8, 4.0), (2.0, 6.0))  # Hz and turns
    times, places, forces, start = [], [], [], 0.0
    for hz, turns in stages:
        t = np.arange(0.0, turns / hz, 1.0 / rows_a_second)
        times.append(start + t)
        places.append(25.0 * np.sin(2 * np.pi * hz * t))
        forces.append(share * law(0.025 * 2 * np.pi * hz * np.cos(2 * np.pi * hz * t)))
        start = float(times[-1][-1]) + 1.0 / rows_a_second
    return {
        "time_s": np.concatenate(times),
        "displacement_mm": np.concatenate(places),
        "force_n": np.concatenate(forces),
    }


def read(source: Any, **more: Any) -> dampkit.Run:
    return dampkit.read_run(source, bench=SIGNS, **more)


def refused(source: Any, bench: dict[str, Any] | None = None) -> dampkit.DataError:
    with pytest.raises(dampkit.DataError) as caught:
        dampkit.read_run(source, bench=SIGNS if bench is None else bench)
    assert 1 <= len(caught.value.lines()) <= 3
    assert caught.value.exit_status == 3
    return caught.value


def test_twenty_arrays_are_analysed_without_any_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What the bench reads at the top speed is the force that went in: peak speed of a sine by hand, law as made."""
    monkeypatch.chdir(tmp_path)
    shares = np.linspace(0.8, 1.2, 20)
    for share in shares:
        reading = dampkit.analyse(read(log(float(share)))).valve.rebound.reading
        assert reading is not None
        assert reading.velocity_m_s[-1] == pytest.approx(0.025 * 2 * np.pi * 2.0, rel=0.01)
        assert reading.force_n[-1] == pytest.approx(float(share * law(np.array([0.1 * np.pi]))[0]), rel=0.01)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "held",
    [
        pd.DataFrame,
        lambda columns: pd.DataFrame(columns).set_index("time_s"),
        lambda columns: {name: values.tolist() for name, values in columns.items()},
        lambda columns: {name: values.astype(object) for name, values in columns.items()},
        lambda columns: {name: pd.array(values, dtype="Float64") for name, values in columns.items()},
        lambda columns: np.array(list(zip(*columns.values(), strict=True)), dtype=[(name, float) for name in columns]),
    ],
    ids=["frame", "time as index", "lists", "objects", "nullable", "named fields"],
)
def test_however_it_is_held_the_numbers_are_the_same(held: Any) -> None:
    columns = log()
    run = read(held(columns))
    assert np.array_equal(run.force_n, columns["force_n"])
    assert np.array_equal(run.displacement_m, 1e-3 * columns["displacement_mm"])
    assert np.array_equal(run.time_s, columns["time_s"])


def test_numbers_as_text_are_read_as_those_of_a_file() -> None:
    """To the last digit but one: the parser of text of older pandas rounds the last one."""
    columns = log()
    run = read({name: [repr(float(v)) for v in values] for name, values in columns.items()})
    assert run.force_n == pytest.approx(columns["force_n"], rel=1e-15, abs=1e-15)


def test_a_file_of_the_same_numbers_and_its_bytes_and_an_open_one(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    pd.DataFrame(log()).to_csv(path, index=False)
    of_file = read(path)
    with path.open("rb") as binary, path.open(encoding="utf-8") as text:
        for same in (path.read_bytes(), binary, text, io.BytesIO(path.read_bytes()), io.StringIO(path.read_text())):
            run = read(same, name="log.csv")
            assert (run.file, run.sha256) == ("log.csv", of_file.sha256)
            assert np.array_equal(run.force_n, of_file.force_n)


def test_text_that_is_decoded_is_not_decoded_again() -> None:
    """The bench writes in another code; who opened its file as text has told that already."""
    text = "Zeit [s];Weg größte [mm];Kraft [N]\n" + "".join(
        f"{t!r};{x!r};{f!r}\n" for t, x, f in zip(*(c.tolist() for c in log().values()), strict=True)
    )
    bench = SIGNS | {"text": {"encoding": "cp1252"}, "columns": {"displacement": "Weg größte [mm]"}}
    of_text, of_bytes = (dampkit.read_run(s, bench=bench) for s in (io.StringIO(text), text.encode("cp1252")))
    assert np.array_equal(of_text.force_n, of_bytes.force_n)


def test_an_array_without_names_has_its_columns_declared_by_place() -> None:
    columns = log()
    bench = {
        "columns": {"time": "column 1", "displacement": "column 2", "force": "column 3"},
        "units": {"time": "s", "displacement": "mm", "force": "N"},
        **SIGNS,
    }
    run = dampkit.read_run(np.column_stack(list(columns.values())), bench=bench)
    assert np.array_equal(run.force_n, columns["force_n"])


def test_datetimes_and_time_differences_are_times() -> None:
    columns = log()
    since = pd.to_timedelta(columns["time_s"], unit="s")
    clock = pd.Timestamp("2024-05-31T23:59:58") + since
    frame = pd.DataFrame({name: columns[name] for name in ("displacement_mm", "force_n")})
    for held in (
        {**columns, "time_s": since},
        {**columns, "time_s": clock},
        frame.set_axis(clock),
        frame.set_axis(since),
    ):
        run = read(held)
        assert run.time_s == pytest.approx(columns["time_s"], abs=1e-6)


def test_what_was_given_is_neither_changed_nor_kept() -> None:
    columns = log()
    before = {name: values.copy() for name, values in columns.items()}
    run = read(columns)
    assert all(values.flags.writeable for values in columns.values())
    columns["force_n"][:] = 0.0
    assert np.array_equal(run.force_n, before["force_n"])
    with pytest.raises(ValueError, match="read-only"):
        run.force_n[0] = 1.0


def test_the_hash_is_of_headings_and_values_as_described() -> None:
    """Bytes put together by hand from the description of `read_run`."""
    nan = struct.pack("<Q", 0x7FF8000000000000)
    wanted = b"force_n\0" + b"3\n" + struct.pack("<d", 1.5) + nan + struct.pack("<d", -2.0)
    wanted += b"remark\0" + b"3\n" + b"cold\0" + b"\0" + b"warm\0"
    held = {"force_n": np.array([1.5, np.nan, -2.0], dtype=np.float32), "remark": ["cold", None, "warm"]}
    for source in (held, pd.DataFrame(held)):
        assert columns_of(source, "here").sha256 == hashlib.sha256(wanted).hexdigest()


def test_the_same_columns_twice_are_no_second_measurement() -> None:
    with pytest.raises(dampkit.BadSettings, match="no second measurement"):
        dampkit.read_test([log(), pd.DataFrame(log())], bench=SIGNS)


def test_a_value_beyond_measure_names_its_column_and_row() -> None:
    columns = log()
    columns["force_n"][17] = 1e40
    error = refused(columns)
    assert error.where == "arrays, row 17, column 'force_n'"
    assert "1e+40" in error.found
    assert "export" not in error.do


def test_time_that_runs_back_names_its_row() -> None:
    columns = log()
    columns["time_s"][500:900] -= 0.9
    assert refused(columns).where.startswith("arrays, row 500")


def test_text_among_numbers_names_its_column_and_row() -> None:
    columns = log()
    force: list[Any] = columns["force_n"].astype(object).tolist()
    force[3:1003] = ["sensor off"] * 1000
    error = refused({**columns, "force_n": force})
    assert error.where == "arrays, row 3, column 'force_n'"
    assert "'sensor off'" in error.found


def test_missing_and_infinite_values_are_left_out_and_said_as_of_a_file(tmp_path: Path) -> None:
    columns = log()
    columns["force_n"][[40, 41, 90]] = (np.nan, np.inf, -np.inf)
    path = tmp_path / "log.csv"
    pd.DataFrame(columns).to_csv(path, index=False)
    run, of_file = read(columns), read(path)
    assert run.quality == of_file.quality
    assert run.force_n == pytest.approx(of_file.force_n, rel=1e-15, abs=1e-15)
    assert run.rows_used == len(columns["time_s"]) - 3


@pytest.mark.parametrize(
    ("source", "where", "found"),
    [
        ({}, "arrays", "no column"),
        ({"time_s": [], "force_n": []}, "arrays", "without any row"),
        ({"time_s": [0.0, 0.1], "force_n": [1.0]}, "arrays, column 'force_n'", "1 values"),
        ({"time_s": np.zeros((3, 2))}, "arrays, column 'time_s'", "shape (3, 2)"),
        ({"force_n": np.array([1j, 2j])}, "arrays, column 'force_n'", "complex"),
        ({"force_n": [[1.0], [2.0, 3.0]]}, "arrays, column 'force_n'", "no column"),
        (np.zeros(4), "arrays", "shape (4,)"),
        (log() | {"force_n": np.zeros(5)}, "arrays, column 'force_n'", "5 values"),
        ({"some": [1.0] * 50, "thing": [2.0] * 50}, "arrays", "no column"),
    ],
)
def test_what_is_no_log_is_refused_with_place_and_reason(source: Any, where: str, found: str) -> None:
    error = refused(source)
    assert error.where == where
    assert found in error.found


@pytest.mark.parametrize("source", [3, None, ["log.csv"], "a,b\n1,2\n"])
def test_what_is_no_record_is_wrong_usage(source: Any) -> None:
    with pytest.raises(dampkit.BadSettings, match="a path, bytes, an open file, a DataFrame"):
        dampkit.read_run(source)


def test_the_gates_limits_hold_in_memory_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(gate.LOG.variable, "1000")
    assert gate.LOG.variable in refused(log()).do
    with pytest.raises(dampkit.UnreadableLog, match="more than 1000"):
        dampkit.read_run(b"1,2\n" * 500)
    monkeypatch.setenv(gate.COLUMNS.variable, "2")
    assert gate.COLUMNS.variable in refused(log()).do


def test_a_table_in_memory_is_points_and_a_hand_test_too() -> None:
    table = {
        "velocity m/s": [0.1, 0.3, 0.6],
        "rebound N": [400.0, 900.0, 1300.0],
        "compression N": [300.0, 500.0, 700.0],
    }
    (points,) = dampkit.read_test([pd.DataFrame(table)]).points
    assert points.rebound is not None
    assert points.rebound.force_n.tolist() == [400.0, 900.0, 1300.0]
    hand: dict[str, Any] = {
        "direction": ["rebound", "compression"],
        "load kg": [10.0, 8.0],
        "travel mm": [50.0, 50.0],
        "time s": [5.0, 6.0],
    }
    (pulled,) = dampkit.read_test([hand]).points
    assert pulled.form == "hand-test"
    assert pulled.compression is not None
    assert pulled.compression.velocity_m_s.tolist() == pytest.approx([0.05 / 6.0])
