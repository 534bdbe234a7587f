"""Force-velocity tables and tests by hand, as people write them, to points in SI.

Expected values are what the texts say, turned to SI by hand: the inch is 25.4 mm and the pound 0.45359237 kg (international
yard and pound agreement of 1959, from memory), standard gravity 9.80665 m/s2 [si2019]; a sine's peak speed is pi times
stroke times frequency (calculus).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.bench.points import Points, PointSet, joined_points
from dampkit.bench.test import read_test
from dampkit.bench.toml_file import declared
from dampkit.errors import BadSettings, CannotAnalyse, UnreadableLog
from dampkit.quantities import Direction

Both = tuple[dict[float, float], dict[float, float]]


def read(folder: Path, text: str, bench: Mapping[str, Any] | None = None) -> Points:
    path = folder / "table.csv"
    path.write_text(text, encoding="utf-8")
    spec = None if bench is None else declared(bench, BenchSpec)
    (points,) = read_test([path], spec).points
    return points


def pairs(points: Points, way: Direction) -> dict[float, float]:
    """Speed -> force, rounded for printing."""
    found = points.points(way)
    if found is None:
        return {}
    return {round(float(v), 4): round(float(f), 1) for v, f in zip(found.velocity_m_s, found.force_n, strict=True)}


PLAIN: Both = ({0.1: 300.0, 0.3: 700.0, 1.0: 1400.0}, {0.1: 200.0, 0.3: 300.0, 1.0: 600.0})
SIGNED = "velocity m/s, force N\n0.1,300\n0.3,700\n1.0,1400\n-0.1,-200\n-0.3,-300\n-1.0,-600\n"
EXTENSION = {"signs": {"velocity_positive": "extension"}}
LAID_OUT: dict[str, tuple[str, dict[str, Any] | None]] = {
    "columns": ("velocity m/s,rebound N,compression N\n0.1,300,200\n0.3,700,300\n1.0,1400,600\n", None),
    "plain words": ("speed, rebound, compression\n0.1,300,200\n0.3,700,300\n1.0,1400,600\n", None),
    "plain mm/s": ("speed, rebound, compression\n100,300,200\n300,700,300\n1000,1400,600\n", None),
    "negative compression": ("velocity m/s,rebound N,compression N\n0.1,300,-200\n0.3,700,-300\n1.0,1400,-600\n", None),
    "signed": (SIGNED, EXTENSION),
    "signed, by force": (SIGNED, {"signs": {"force_positive": "tension"}}),
    "force against speed": (
        "velocity m/s, force N\n0.1,-300\n0.3,-700\n1.0,-1400\n-0.1,200\n-0.3,300\n-1.0,600\n",
        EXTENSION,
    ),
    "compression positive": (
        "velocity m/s, force N (+ compression)\n-0.1,-300\n-0.3,-700\n-1.0,-1400\n0.1,200\n0.3,300\n1.0,600\n",
        None,
    ),
    "words in rows": (
        "direction,velocity m/s,force N\nrebound,0.1,300\nrebound,0.3,700\nrebound,1.0,1400\n"
        "bump,0.1,200\nbump,0.3,300\nbump,1.0,600\n",
        None,
    ),
    "on its side": ("velocity m/s,0.1,0.3,1.0\nrebound N,300,700,1400\ncompression N,200,300,600\n", None),
    "own speeds": (
        "rebound speed m/s,rebound force N,compression speed mm/s,compression force N\n"
        "0.1,300,100,200\n0.3,700,300,300\n1.0,1400,1000,600\n",
        None,
    ),
    "named columns": (
        "A,B,C\n0.1,300,200\n0.3,700,300\n1.0,1400,600\n",
        {
            "columns": {"velocity": "A", "rebound_force": "B", "compression_force": "C"},
            "units": {"velocity": "m/s", "force": "N"},
        },
    ),
    "decimal commas": ("Geschwindigkeit m/s;Zugstufe N;Druckstufe N\n0,1;300;200\n0,3;700;300\n1,0;1400;600\n", None),
    "a gap": ("velocity m/s,rebound N,compression N\n0.1,300,200\n0.3,700,300\n0.5,,\n1.0,1400,600\n", None),
    "unit below": ("velocity,rebound,compression\nm/s,N,N\n0.1,300,200\n0.3,700,300\n1.0,1400,600\n", None),
}


@pytest.mark.parametrize("name", LAID_OUT)
def test_one_table_in_many_layouts(tmp_path: Path, name: str) -> None:
    text, bench = LAID_OUT[name]
    points = read(tmp_path, text, bench)
    assert (pairs(points, "rebound"), pairs(points, "compression")) == PLAIN
    assert points.direction_known
    assert points.form == "table"


def test_units_are_turned_to_si(tmp_path: Path) -> None:
    points = read(tmp_path, "speed in/s\trebound lbf\tbump kgf\n10\t100\t50\n20\t150\t60\n40\t200\t70\n")
    assert points.rebound is not None
    assert points.compression is not None
    np.testing.assert_allclose(points.rebound.velocity_m_s, [0.254, 0.508, 1.016])
    np.testing.assert_allclose(points.rebound.force_n, [444.82216, 667.23324, 889.64432], rtol=1e-7)
    np.testing.assert_allclose(points.compression.force_n, [50 * 9.80665, 60 * 9.80665, 70 * 9.80665])


CRANKS: dict[str, tuple[str, dict[str, Any] | None]] = {
    "stroke in a column": (
        "stroke mm,rpm,rebound N,compression N\n50,60,100,80\n50,120,200,150\n50,240,300,200\n",
        None,
    ),
    "stroke above": ("stroke: 50 mm\nrpm,rebound N,compression N\n60,100,80\n120,200,150\n240,300,200\n", None),
    "stroke declared": (
        "crank rpm,rebound N,compression N\n60,100,80\n120,200,150\n240,300,200\n",
        {"motion": {"stroke_mm": 50.0}},
    ),
    "cycles a second": ("stroke mm,Hz,rebound N,compression N\n50,1,100,80\n50,2,200,150\n50,4,300,200\n", None),
}


@pytest.mark.parametrize("name", CRANKS)
def test_peak_speed_of_a_crank(tmp_path: Path, name: str) -> None:
    """pi times stroke times frequency: 50 mm at 1, 2 and 4 Hz."""
    text, bench = CRANKS[name]
    points = read(tmp_path, text, bench)
    assert points.rebound is not None
    np.testing.assert_allclose(points.rebound.velocity_m_s, math.pi * 0.05 * np.array([1.0, 2.0, 4.0]))
    assert points.stroke_m == pytest.approx(0.05)


def test_which_sign_is_rebound_is_asked_and_not_guessed(tmp_path: Path) -> None:
    points = read(tmp_path, SIGNED)
    assert not points.direction_known
    (asked,) = (q for q in points.quality if q.code == "direction_unknown")
    assert asked.clears == "declare"
    assert "velocity_positive" in asked.message


def test_a_unit_that_was_taken_is_said(tmp_path: Path) -> None:
    points = read(tmp_path, LAID_OUT["plain words"][0])
    assert {q.code for q in points.quality} == {"unit_assumed_velocity", "unit_assumed_force"}


def test_digits_give_the_least_doubt(tmp_path: Path) -> None:
    """Half of the last place: 300 among 304 and 700 is to 1 N, 0.305 kN to 1 N, a column of hundreds to no better than 10 N."""
    cases = {"N\n0.1,304\n0.3,700\n": 0.5, "kN\n0.1,0.305\n0.3,0.7\n": 0.5, "N\n0.1,300\n0.3,700\n1,1400\n": 5.0}
    for text, half in cases.items():
        points = read(tmp_path, f"velocity m/s,rebound {text}")
        assert points.rebound is not None
        np.testing.assert_allclose(points.rebound.half_width_n, half, rtol=1e-9)


def test_settings_and_temperature_travel_with_the_points(tmp_path: Path) -> None:
    text = "clicks,velocity m/s,rebound N,temperature C\n0,0.1,300,20\n0,0.3,700,21\n4,0.1,330,22\n4,0.3,770,23\n"
    points = read(tmp_path, text)
    assert points.groups == (0.0, 4.0)
    firm = points.of_group(4.0)
    assert pairs(firm, "rebound") == {0.1: 330.0, 0.3: 770.0}
    assert firm.temperature_c is not None
    assert firm.temperature_c.tolist() == [22.0, 23.0]
    chosen = read(tmp_path, text, {"log": {"setting": 4.0}})
    assert pairs(chosen, "rebound") == {0.1: 330.0, 0.3: 770.0}
    with pytest.raises(BadSettings, match="0, 4"):
        points.of_group(2.0)


def test_the_cells_zero_comes_off_both_ways(tmp_path: Path) -> None:
    """A cell that reads 10 N of tension with nothing fitted: 10 N less in rebound, 10 N more in compression."""
    bench = {"zero": {"force_n": 10.0}, "signs": {"force_positive": "tension"}}
    points = read(tmp_path, LAID_OUT["columns"][0], bench)
    assert points.zero_known
    assert pairs(points, "rebound") == {0.1: 290.0, 0.3: 690.0, 1.0: 1390.0}
    assert pairs(points, "compression") == {0.1: 210.0, 0.3: 310.0, 1.0: 610.0}


HAND = "direction, load kg, travel mm, time s\nrebound,5,100,4.0\nrebound,10,100,2.0\ncompression,5,120,3.0\ncompression,10,120,1.5\n"


def test_a_hand_test_is_weight_and_travel_over_time(tmp_path: Path) -> None:
    """5 kg weigh 49.03325 N [si2019]; 100 mm in 4 s are 25 mm/s."""
    points = read(tmp_path, HAND)
    assert points.form == "hand-test"
    assert points.rebound is not None
    assert points.compression is not None
    np.testing.assert_allclose(points.rebound.velocity_m_s, [0.025, 0.05])
    np.testing.assert_allclose(points.rebound.force_n, [49.03325, 98.0665])
    np.testing.assert_allclose(points.compression.velocity_m_s, [0.04, 0.08])


def test_rule_and_watch_make_a_hand_tests_doubt(tmp_path: Path) -> None:
    """Declared 1 mm and 0.1 s: 1 % of travel and 2.5 % of time leave 2.7 % of speed, twice that of the force."""
    points = read(tmp_path, HAND, {"uncertainty": {"displacement_mm": 1.0, "time_s": 0.1}})
    assert points.rebound is not None
    wanted = 2 * 49.03325 * math.hypot(0.01, 0.025)
    assert points.rebound.half_width_n[0] == pytest.approx(wanted)
    assert not any(q.code == "hand_uncertainty" for q in points.quality)
    assert any(q.code == "hand_uncertainty" for q in read(tmp_path, HAND).quality)


def test_repeated_pulls_are_one_point_known_better(tmp_path: Path) -> None:
    rows = "".join("rebound,5,100,4.0\n" for _ in range(4))
    many = read(tmp_path, "direction,load kg,travel mm,time s\n" + rows)
    once = read(tmp_path, "direction,load kg,travel mm,time s\nrebound,5,100,4.0\nrebound,9,100,4.0\n")
    assert many.rebound is not None
    assert once.rebound is not None
    assert many.rebound.velocity_m_s.tolist() == [0.025]
    assert many.rebound.half_width_n[0] == pytest.approx(0.5 * once.rebound.half_width_n[0])


def test_a_load_on_a_longer_arm(tmp_path: Path) -> None:
    """Twice as far out as the eye: twice the force at the eye, half the travel (lever)."""
    text = "direction,load kg,travel mm,time s,arm mm\nrebound,5,100,4.0,320\nrebound,10,100,2.0,320\n"
    points = read(tmp_path, text, {"motion": {"eye_arm_mm": 160.0}})
    assert points.rebound is not None
    np.testing.assert_allclose(points.rebound.force_n, [98.0665, 196.133])
    np.testing.assert_allclose(points.rebound.velocity_m_s, [0.0125, 0.025])
    with pytest.raises(UnreadableLog, match="eye_arm_mm"):
        read(tmp_path, text)


REFUSED: dict[str, tuple[str, str]] = {
    "one sign": ("velocity m/s, force N\n0.1,300\n0.3,700\n1.0,1400\n", "which direction"),
    "unit of speed open": ("speed,rebound,compression\n4,300,200\n12,700,300\n", "unit of the speed"),
    "no number": (
        "velocity m/s,rebound N,compression N\n0.1,300,200\n0.3,about 700,300\n0.4,800,320\n1.0,1400,600\n",
        "about 700",
    ),
    "no speed": ("rebound N,compression N\n300,200\n700,300\n1400,600\n", "no column is recognised as a speed"),
    "no stroke": ("rpm,rebound N,compression N\n60,300,200\n120,700,300\n240,1400,600\n", "stroke_mm"),
    "no time": ("direction,load kg,travel mm,time s\nrebound,5,100,0\nrebound,10,100,2\n", "above 0"),
    "no direction": ("direction,load kg,travel mm,time s\nup,5,100,4\nrebound,10,100,2\n", "'up'"),
    "empty": ("velocity m/s,rebound N,compression N\n0,0,0\n0,0,0\n0,0,0\n", "speed and a force"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_read_is_refused_in_plain_words(tmp_path: Path, name: str) -> None:
    text, said = REFUSED[name]
    with pytest.raises(UnreadableLog, match=said):
        read(tmp_path, text)


def _set(speeds: list[float], forces: list[float]) -> PointSet:
    n = np.zeros(len(speeds))
    return PointSet(np.array(speeds), np.array(forces), n, n)


def test_two_tables_of_one_unit_are_one() -> None:
    first = Points("a", "1", "table", 2, 2, _set([0.1, 0.3], [300.0, 700.0]), None)
    second = Points("b", "2", "table", 1, 1, _set([1.0], [1400.0]), _set([1.0], [600.0]))
    whole = joined_points([first, second])
    assert pairs(whole, "rebound") == {0.1: 300.0, 0.3: 700.0, 1.0: 1400.0}
    assert pairs(whole, "compression") == {1.0: 600.0}
    assert (whole.rows_read, whole.parts) == (3, (first, second))
    with pytest.raises(CannotAnalyse, match="zero"):
        joined_points([first, Points("b", "2", "table", 1, 1, None, None, zero_known=True)])


def test_another_decimal_mark_far_down_a_table_is_refused(tmp_path: Path) -> None:
    """In a table with decimal commas `350.5` may be 3505 as well; it lies beyond the rows that the marks are told by."""
    rows = [f"{10 * (n + 1)},0;{100 + n},5;{80 + n},5" for n in range(260)]
    rows[250] = rows[250].replace("350,5", "350.5")
    table = tmp_path / "table.csv"
    table.write_text("\n".join(["velocity mm/s;rebound N;compression N", *rows]), encoding="utf-8")
    with pytest.raises(UnreadableLog, match=r"350\.5") as refused:
        read_test([table])
    assert refused.value.where.endswith("table.csv:252, column 'rebound N'")
