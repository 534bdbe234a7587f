"""Spring logs as people write them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.errors import UnreadableLog
from dampkit.needs.springs.measured import read_spring_log, spring_from_log
from dampkit.quantities import Array

UP = np.linspace(0, 200, 101)
X = np.concatenate([UP, UP[::-1]])
LOAD = 25 * X + np.repeat([120.0, -120.0], 101)  # 25 N/mm and 120 N of friction, made up


def written(path: Path, head: str, x: Array, load: Array, apart: str = ";") -> Path:
    path.write_text("\n".join([head, *(f"{a:.3f}{apart}{b:.3f}" for a, b in zip(x, load, strict=True))]) + "\n")
    return path


@pytest.mark.parametrize(
    ("head", "x", "load"),
    [
        ("Displacement [mm];Force [N]", X, LOAD),
        ("Weg [mm];Kraft [kN]", X, LOAD / 1000),
        ("Displacement [mm];Force [N]", -X, -LOAD),
        ("Displacement [mm];Force [N]", 300 - X, LOAD),
        ("Position [in];Force [lbf]", X / 25.4, LOAD / 4.4482216152605),
    ],
)
def test_units_and_signs(head: str, x: Array, load: Array, tmp_path: Path) -> None:
    spring = spring_from_log(*read_spring_log(written(tmp_path / "log.csv", head, x, load)), ride_load_n=3000.0)
    assert spring.rate_n_m.value == pytest.approx(25e3, rel=0.01)
    assert spring.friction_n is not None
    assert spring.friction_n.value == pytest.approx(120, rel=0.02)


def test_other_headings_are_declared(tmp_path: Path) -> None:
    path = written(tmp_path / "log.csv", "squash;weight", X, LOAD)
    declared = BenchSpec.model_validate(
        {"columns": {"displacement": "squash", "force": "weight"}, "units": {"displacement": "mm", "force": "N"}}
    )
    x, load = read_spring_log(path, declared)
    assert (x.max(), load.max()) == pytest.approx((0.2, 5120.0))


@pytest.mark.parametrize(
    ("head", "x", "said"),
    [("Displacement;Force [N]", X, "no unit"), ("Displacement [mm];Force [N]", 0 * X + 5, "never changes")],
)
def test_what_is_wrong_is_said(head: str, x: Array, said: str, tmp_path: Path) -> None:
    with pytest.raises(UnreadableLog, match=said):
        read_spring_log(written(tmp_path / "log.csv", head, x, LOAD))


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(UnreadableLog, match="no such file"):
        read_spring_log(tmp_path / "none.csv")
