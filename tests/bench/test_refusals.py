"""What cannot be read, or can be read in two ways, is refused: file, line or column, what was found, what to do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.bench.test import read_run
from dampkit.errors import BadSettings, UnreadableLog
from tests.bench.reading import read_log
from tests.bench.writer import Habit, made_run, spec_for, write_log

TRUTH = made_run(((2.0, 3), (5.0, 3)))


def spec(**sections: dict[str, object]) -> BenchSpec:
    return BenchSpec.model_validate(sections)


def refusal(path: Path, bench: BenchSpec | None = None) -> UnreadableLog:
    with pytest.raises(UnreadableLog) as caught:
        read_run(path, bench)
    assert len(caught.value.lines()) == 3
    assert str(path) in caught.value.where
    return caught.value


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "empty"),
        (b"\n \n\r\n", "empty"),
        (b"\xff\xfe", "empty"),
        (b"time\n0.1\n0.2\n0.3\n0.4\n", "no table of numbers with two columns"),
        (b"Dear Sir,\nthe unit leaks.\nYours\n", "line 1 is 'Dear Sir,'"),
        (b"PK\x03\x04" + bytes(range(256)) * 20, "spreadsheet"),
        (bytes(range(256)) * 50, "not text"),
        (b"time_s,displacement_mm\n" + b"".join(b"%d,1.5\n" % i for i in range(50)), "recognised as the force"),
        (b"time_s,force_N\n" + b"".join(b"%d,1.5\n" % i for i in range(50)), "recognised as the displacement"),
        (b"0.1,2.5,3.5\n" * 50, "no headings"),
        (b"displacement_mm,force_N\n" + b"1.5,2.5\n" * 50, "no time column, and nothing gives the sample rate"),
        (b"time_s,displacement_mm,force_N\n0.1,1.5,2.5\n0.2,1.6,2.6\n", "2 complete rows"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_wrong_input(content: bytes, found: str, tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_bytes(content)
    assert found in refusal(path).lines()[0]


def test_missing_file_and_directory(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "none.csv").lines()[0]
    assert "directory" in refusal(tmp_path).lines()[0]


def changed(path: Path, change: Callable[[list[str]], list[str]], habit: Habit) -> Path:
    write_log(path, habit, TRUTH)
    path.write_text("\n".join(change(path.read_text().split("\n"))))
    return path


def test_comma_and_point_in_one_log_show_both_readings(tmp_path: Path) -> None:
    habit = Habit(delimiter=";", decimal=",", force="kN")

    def mix(lines: list[str]) -> list[str]:
        lines[900] = lines[900].replace(",", ".")
        return lines

    error = refusal(changed(tmp_path / "run.csv", mix, habit), spec_for(habit))
    assert error.where.endswith("run.csv:901, column 'Time (s)'")
    assert "with a decimal comma it is" in error.found
    assert "with a decimal point it is" in error.found


def test_comma_and_point_in_the_first_rows(tmp_path: Path) -> None:
    habit = Habit(delimiter=";")

    def mix(lines: list[str]) -> list[str]:
        lines[20] = lines[20].replace(".", ",", 1)
        return lines

    error = refusal(changed(tmp_path / "run.csv", mix, habit), spec_for(habit))
    assert "run.csv:21, column 'Time (s)'" in error.where


def test_numbers_that_lost_their_mark_show_both_readings(tmp_path: Path) -> None:
    """Where a spreadsheet takes a decimal point for a thousands mark, 0.673 comes out as 673 and 0.62 as 0.62."""
    path = tmp_path / "run.csv"
    t = np.arange(3000) / 500
    force_kn = np.round(1.2 * np.sin(2 * np.pi * t), 3)
    force = [f"{f:.3f}" for f in force_kn]
    force = [text.rstrip("0") if text.endswith("0") else str(int(text.replace(".", ""))) for text in force]
    force = [f"{text}0" if text.endswith(".") else text for text in force]
    rows = [f"{a:.4f},{20 * np.sin(2 * np.pi * a):.4f},{f}" for a, f in zip(t, force, strict=True)]
    path.write_text("\n".join(["time_s,displacement_mm,force_kN", *rows]))
    error = refusal(path)
    assert "column 'force_kN'" in error.where
    assert "with the decimal mark lost on the way" in error.found


def test_every_number_with_three_digits_behind_a_comma_stays_open(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    rows = [f"{i};{1 + i % 7},{100 + i % 800};{i % 50}" for i in range(100)]
    path.write_text(
        "\n".join(["Messpunkt;Weg (mm);Kraft (N)", *[r if i % 3 else f"{i};5;3" for i, r in enumerate(rows)]])
    )
    error = refusal(path, spec(timing={"sample_rate_hz": 500.0}))
    assert "with a decimal comma it is" in error.found
    declared = spec(timing={"sample_rate_hz": 500.0}, text={"decimal": ","})
    assert read_run(path, declared).displacement_m.max() < 0.01


def test_two_columns_for_one_channel(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    rows = [f"{i / 500},{np.sin(i / 20):.4f},{np.cos(i / 20):.4f},{np.cos(i / 20):.4f}" for i in range(400)]
    path.write_text("\n".join(["time_s,stroke mm,load a (N),load b (N)", *rows]))
    error = refusal(path)
    assert "'load a (N)' and 'load b (N)' could each be the force" in error.found
    assert read_run(path, spec(columns={"force": "load b (N)"})).rows_used == 400


def test_no_unit_of_force(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text(
        "\n".join(["time_s,stroke mm,load", *(f"{i / 500},{np.sin(i / 20):.4f},{i % 9}" for i in range(400))])
    )
    error = refusal(path)
    assert "column 'load'" in error.where
    assert '[units] force = "N"' in error.do
    assert read_run(path, spec(units={"force": "kN"})).force_n.max() == pytest.approx(8000)


def test_time_that_is_too_slow_for_seconds(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text(
        "\n".join(["time,stroke mm,load N", *(f"{2 * i},{np.sin(i / 20):.4f},{i % 9}.5" for i in range(400))])
    )
    error = refusal(path)
    assert "in milliseconds it is 500 rows a second" in error.found
    assert read_run(path, spec(units={"time": "ms"})).sample_interval_s == pytest.approx(0.002)


def test_two_tests_in_one_file(tmp_path: Path) -> None:
    error = refusal(changed(tmp_path / "run.csv", lambda lines: lines[:-1] + lines[1:], Habit()), spec_for(Habit()))
    assert "time does not go on here" in error.found
    assert error.where.endswith(f":{TRUTH.time_s.size + 2}")


def test_declared_column_that_is_not_there(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    error = refusal(path, spec(columns={"force": "Kraft"}))
    assert "no column headed 'Kraft'" in error.found
    assert "'Force (N)'" in error.found


def test_unknown_encoding_is_a_fault_of_the_settings(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(), TRUTH)
    with pytest.raises(BadSettings, match="encoding"):
        read_run(path, spec(text={"encoding": "morse"}))


def test_a_log_without_headings_is_read_by_place(tmp_path: Path) -> None:
    path = write_log(tmp_path / "run.csv", Habit(temperature=None), TRUTH)
    path.write_text(path.read_text().split("\n", 1)[1])
    bench = spec(
        columns={"time": "column 1", "displacement": "column 2", "force": "column 3"},
        units={"time": "s", "displacement": "mm", "force": "N"},
    )
    reading = read_log(path, bench)
    np.testing.assert_allclose(reading.run.force_n, TRUTH.force_n, atol=2e-3)


def test_a_few_unreadable_cells_are_left_out_and_said(tmp_path: Path) -> None:
    habit = Habit(delimiter=";", decimal=",")

    def damage(lines: list[str]) -> list[str]:
        lines[400] = ";".join([*lines[400].split(";")[:2], "overload", "25,0"])
        lines.insert(700, "stage 2")
        return lines

    run = read_run(changed(tmp_path / "run.csv", damage, habit), spec_for(habit))
    assert run.rows_used == TRUTH.time_s.size - 1
    message = next(q.message for q in run.quality if q.code == "damaged_cells")
    assert "'overload' in line 401" in message
    assert "'stage 2' in line 701" in message


@pytest.mark.parametrize(("again", "refused"), [("time_s,displacement_in,force_lbf", True), ("", False)])
def test_a_second_heading_in_another_unit_is_refused_where_it_stands(again: str, refused: bool, tmp_path: Path) -> None:
    """The same heading again, as of two logs pasted together in one unit, is left out and said."""

    def damage(lines: list[str]) -> list[str]:
        lines.insert(700, again or lines[0])
        return lines

    path = changed(tmp_path / "run.csv", damage, Habit(temperature=None))
    if not refused:
        assert "damaged_cells" in {q.code for q in read_run(path, spec_for(Habit(temperature=None))).quality}
        return
    error = refusal(path, spec_for(Habit(temperature=None)))
    assert f"{path}:701" in error.where
    assert "'displacement_in'" in error.found


@pytest.mark.parametrize("share", [0.4, 0.8])
def test_a_record_that_stops_in_the_middle_of_a_row_is_said_to_be_cut_short(share: float, tmp_path: Path) -> None:
    habit = Habit(temperature=None)
    path = write_log(tmp_path / "run.csv", habit, TRUTH)
    lines = path.read_text().splitlines()
    whole = lines[: int(share * len(lines))]
    path.write_text("\n".join([*whole, lines[len(whole)].partition(",")[0] + ","]))
    said = [q.message for q in read_run(path, spec_for(habit)).quality if q.code == "cut_short"]
    assert len(said) == 1
    path.write_text("\n".join([*whole, "end of test"]))
    assert "cut_short" not in {q.code for q in read_run(path, spec_for(habit)).quality}
