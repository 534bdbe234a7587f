"""Torque at the shaft of a unit with an arm, for its page."""

from __future__ import annotations

from dampkit.outcome.result import Result
from dampkit.report.numbers import Writer
from dampkit.report.tables import Table
from dampkit.report.ways import way_of


def torque_table(result: Result, writer: Writer) -> Table | None:
    """Torque at the shaft at the speeds tested; None without an arm of known length."""
    arm = result.arm
    if arm is None:
        return None
    rows = [
        (
            f"{way_of(result, way).capitalize()}, {writer.given(speed, 'rad/s')}",
            writer.value(torque, "N m"),
            writer.between(low, high, "N m"),
        )
        for way, side in (("rebound", arm.rebound), ("compression", arm.compression))
        if side is not None
        for speed, torque, low, high in zip(
            side.angular_velocity_rad_s, side.torque_nm, side.low_nm, side.high_nm, strict=True
        )
    ]
    rows.append(("Friction at the shaft", writer.estimate(arm.friction_nm, "N m"), ""))
    length = writer.given(1e3 * arm.length_m, "mm", 4)
    caption = f"Torque at the shaft (arm {length}, {writer.given(1e3 * arm.arm_m, 'mm', 4)} square to the pull in mid-stroke{_over(result, writer)})"
    return Table(caption, ("Direction and angular speed", "Torque", "95 % interval"), tuple(rows))


def _over(result: Result, writer: Writer) -> str:
    """How the arm that turns force into torque changes over the stroke; empty where it does not."""
    swing = None if result.arm is None else result.arm.swing
    if swing is None or not swing.arm_m or max(swing.arm_m) - min(swing.arm_m) < 1e-4:
        return ""
    return f", {writer.between(1e3 * min(swing.arm_m), 1e3 * max(swing.arm_m), 'mm')} over the stroke"
