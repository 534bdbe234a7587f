"""Records in torque and angle: read as the same record in force and travel, or refused with what they lack."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.test import read_run, read_test
from dampkit.errors import UnreadableLog

ARM = "[motion]\neye_arm_mm = 160.0\n"
LB_FT = 1.3558179483314004  # N m: 0.3048 m by 4.4482216152605 N, exact; NIST SP 811, appendix B
TABLE = "0.05,100,60\n0.1,200,120\n0.3,500,300\n"


def table_of(tmp_path: Path, text: str, bench: str = ARM) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    log, toml = tmp_path / "table.csv", tmp_path / "table.bench.toml"
    log.write_text(text, encoding="utf-8")
    toml.write_text(bench, encoding="utf-8")
    (points,) = read_test([log], toml).points
    assert points.arm_m == 0.16
    assert points.rebound is not None
    assert points.compression is not None
    return points.rebound.velocity_m_s, points.rebound.force_n, points.compression.force_n


def written(heads: str, speed: float, torque: float) -> str:
    """A table of 0.05 to 0.3 m/s at an arm of 160 mm; `speed`, `torque`: one of the column's units in SI."""
    rows = [[float(x) for x in row.split(",")] for row in TABLE.split()]
    lines = [f"{v / 0.16 / speed:.9g},{r * 0.16 / torque:.9g},{c * 0.16 / torque:.9g}" for v, r, c in rows]
    return "\n".join([heads, *lines]) + "\n"


@pytest.mark.parametrize(
    ("heads", "speed", "torque"),
    [
        ("angular speed rad/s,rebound torque N m,compression torque N m", 1.0, 1.0),
        ("deg/s,rebound [Nm],compression [Nm]", np.pi / 180, 1.0),
        ("angular velocity (deg/s),rebound torque (lb ft),bump torque (lb ft)", np.pi / 180, LB_FT),
        ("shaft speed rad/s,rebound torque kgf m,bump torque kgf m", 1.0, 9.80665),
        ("Winkelgeschwindigkeit [°/s],Drehmoment Zug [Nm],Drehmoment Druck [Nm]", np.pi / 180, 1.0),
        ("speed rad/s,rebound torque in-lb,bump torque in-lb", 1.0, LB_FT / 12),
    ],
)
def test_a_table_in_torque_is_one_of_forces_at_the_arms_end(
    tmp_path: Path, heads: str, speed: float, torque: float
) -> None:
    v, rebound, compression = table_of(tmp_path, written(heads, speed, torque))
    assert v == pytest.approx([0.05, 0.1, 0.3], rel=1e-6)
    assert rebound == pytest.approx([100.0, 200.0, 500.0], rel=1e-6)
    assert compression == pytest.approx([60.0, 120.0, 300.0], rel=1e-6)


def test_signed_torques_and_speeds_keep_their_signs(tmp_path: Path) -> None:
    text = "angular speed rad/s,torque N m (+ rebound)\n" + "".join(f"{v / 0.16},{f * 0.16}\n" for v, f in ((0.1, 200.0), (0.3, 500.0), (-0.1, -120.0), (-0.3, -300.0)))  # fmt: skip
    _, rebound, compression = table_of(tmp_path, text)
    assert rebound == pytest.approx([200.0, 500.0], rel=1e-6)
    assert compression == pytest.approx([120.0, 300.0], rel=1e-6)


def log_text(torque: bool) -> str:
    """Three seconds of a made-up damper at 1 Hz, 50 mm, 1000 N s/m: as force and travel, or as torque and angle."""
    t = np.arange(0.0, 3.0, 0.004)
    x, v = 0.025 * np.sin(2 * np.pi * t), 0.025 * 2 * np.pi * np.cos(2 * np.pi * t)
    f = 1000.0 * v
    if not torque:
        return "time s,displacement mm,force N\n" + "".join(f"{a:.4f},{1e3 * b:.6f},{c:.6f}\n" for a, b, c in zip(t, x, f, strict=True))  # fmt: skip
    rows = zip(t, np.degrees(x / 0.16), f * 0.16, strict=True)
    return "time s,arm angle deg,torque N m\n" + "".join(f"{a:.4f},{b:.8f},{c:.8f}\n" for a, b, c in rows)


def test_a_log_in_torque_and_angle_is_the_log_in_force_and_travel(tmp_path: Path) -> None:
    for name, torque in (("force", False), ("torque", True)):
        (tmp_path / f"{name}.csv").write_text(log_text(torque), encoding="utf-8")
    (tmp_path / "bench.toml").write_text(ARM, encoding="utf-8")
    plain, turned = (read_run(tmp_path / f"{name}.csv", tmp_path / "bench.toml") for name in ("force", "torque"))
    assert turned.displacement_m == pytest.approx(plain.displacement_m, abs=1e-8)
    assert turned.force_n == pytest.approx(plain.force_n, abs=1e-5)
    assert (plain.arm_m, turned.arm_m) == (None, 0.16)
    assert any("torque" in step.what for step in turned.history)


def test_without_the_arm_it_is_refused_with_what_to_do(tmp_path: Path) -> None:
    log = tmp_path / "table.csv"
    log.write_text(written("rad/s,rebound torque N m,compression torque N m", 1.0, 1.0), encoding="utf-8")
    with pytest.raises(UnreadableLog, match=r"(?s)torque.*how long the arm is.*eye_arm_mm"):
        read_test([log])


@pytest.mark.parametrize(
    ("heads", "said"),
    [
        ("rad/s,rebound torque,compression torque", "no unit is said"),
        ("rad/s,rebound torque N m,compression torque lb ft", "different units"),
    ],
)
def test_torques_without_one_unit_are_refused(tmp_path: Path, heads: str, said: str) -> None:
    with pytest.raises(UnreadableLog, match=said):
        table_of(tmp_path, written(heads, 1.0, 1.0))


def test_a_cranks_angle_beside_a_force_stays_a_cranks_angle(tmp_path: Path) -> None:
    """Closed loop of crank angle and force, as before: no arm is asked for."""
    angle = np.arange(0, 360, 3.0)
    force = 500 * np.cos(np.radians(angle))
    rows = "".join(f"{a:g},{f:.3f}\n" for a, f in zip(angle, force, strict=True))
    (tmp_path / "loop.csv").write_text("crank angle deg,force N\n" + rows, encoding="utf-8")
    (tmp_path / "loop.bench.toml").write_text("[timing]\nfrequency_hz = 1.0\n[motion]\nstroke_mm = 50.0\n")
    run = read_run(tmp_path / "loop.csv", tmp_path / "loop.bench.toml")
    assert run.arm_m is None
    assert np.ptp(run.displacement_m) == pytest.approx(0.05, rel=1e-3)
