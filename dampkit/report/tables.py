"""The tables of the page: what a stored result holds, written out with units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dampkit.outcome.result import (
    BandRecord,
    CurveRecord,
    EstimateRecord,
    EvidenceRecord,
    FaultRecord,
    Result,
    ValveRecord,
    VehicleRecord,
)
from dampkit.report.numbers import NOT_ESTABLISHED, Writer
from dampkit.report.words import REGIMES

NOT_GIVEN = "not given"


@dataclass(frozen=True)
class Table:
    """`head` names the columns; the first cell of each row names the row."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    prose: bool = False  # cells hold sentences, which may run over several lines


def unit_table(result: Result, writer: Writer) -> Table:
    damper = result.damper
    rows = (
        ("Serial", damper.serial or NOT_GIVEN),
        ("Kind", damper.kind or NOT_GIVEN),
        ("Piston diameter", _given(damper.piston_diameter_mm, "mm", writer)),
        ("Rod diameter", _given(damper.rod_diameter_mm, "mm", writer)),
        ("Oil density", _given(damper.oil_density_kg_m3, "kg/m³", writer)),
    )
    return Table("The unit as declared", ("What", "Value"), rows)


def evidence_table(fault: FaultRecord, writer: Writer) -> Table:
    rows = tuple(
        (
            item.measure,
            _evidence_value(item, writer),
            writer.given(item.limit, _pretty(item.unit)),
            item.basis,
        )
        for item in fault.evidence
    )
    return Table("Evidence", ("Measure", "This unit", "Limit", "Where the limit comes from"), rows, prose=True)


def _evidence_value(item: EvidenceRecord, writer: Writer) -> str:
    """With its interval where one was stored."""
    if item.low is None or item.high is None:
        return writer.given(item.value, _pretty(item.unit))
    return writer.estimate(_triple(item.value, item.low, item.high), _pretty(item.unit))


def forces_table(result: Result, writer: Writer) -> Table:
    """Force of the oil at the speeds that were tested, read from the fitted curves."""
    speeds = sorted({float(f"{stage.peak_velocity_m_s:.3g}") for stage in result.run.stages})
    rows = tuple(
        (
            writer.given(speed, "m/s"),
            writer.estimate(_read(result.valve.rebound.curve, speed), "N"),
            writer.estimate(_read(result.valve.compression.curve, speed), "N"),
        )
        for speed in speeds
    )
    return Table(
        "Force of the oil at the speeds tested (95 % interval)", ("Piston speed", "Rebound", "Compression"), rows
    )


def need_table(vehicle: VehicleRecord, speeds: tuple[float, ...], writer: Writer) -> Table | None:
    """Force that the vehicle needs at the damper, friction included; None where it was not worked out."""
    need = vehicle.need
    if need is None:
        return None
    inside = [speed for speed in speeds if need.velocity_m_s[0] <= speed <= need.velocity_m_s[-1]]
    rows = tuple(
        (writer.given(speed, "m/s"), _need(need, "rebound", speed, writer), _need(need, "compression", speed, writer))
        for speed in inside
    )
    return Table(
        "Force the vehicle needs at the damper, friction included", ("Piston speed", "Rebound", "Compression"), rows
    )


def valve_table(result: Result, writer: Writer) -> Table:
    rebound, compression = result.valve.rebound, result.valve.compression
    lost = result.lag.lost_motion_mm
    pairs: tuple[tuple[str, EstimateRecord | None, EstimateRecord | None, str], ...] = (
        ("Bleed, effective area", rebound.bleed_area_mm2, compression.bleed_area_mm2, "mm²"),
        ("Bleed coefficient", rebound.bleed_coefficient_n_s2_m2, compression.bleed_coefficient_n_s2_m2, "N s²/m²"),
        ("Leak coefficient", rebound.leak_coefficient_n_s_m, compression.leak_coefficient_n_s_m, "N s/m"),
        ("Blow-off opens at force", rebound.blowoff_force_n, compression.blowoff_force_n, "N"),
        ("Blow-off opens at speed", rebound.blowoff_velocity_m_s, compression.blowoff_velocity_m_s, "m/s"),
        ("Slope above blow-off", rebound.slope_above_blowoff_n_s_m, compression.slope_above_blowoff_n_s_m, "N s/m"),
        ("Lost motion at the start of the stroke", lost.rebound, lost.compression, "mm"),
    )
    rows = tuple((name, writer.estimate(a, unit), writer.estimate(b, unit)) for name, a, b, unit in pairs)
    reached = ("Parts of the valve reached", _reached(rebound), _reached(compression))
    return Table("Valve by direction (95 % interval)", ("What", "Rebound", "Compression"), (*rows, reached))


def statics_table(result: Result, writer: Writer) -> Table:
    rows = (
        ("Gas force", writer.estimate(result.statics.gas_force_n, "N")),
        ("Friction", writer.estimate(result.statics.friction_force_n, "N")),
        ("Friction over the stroke", _over_stroke(result, writer)),
        ("Stiffness of bushes, rig and oil column", writer.estimate(result.lag.series_stiffness_n_m, "N/mm", 1e-3)),
        ("Delay of the force channel", writer.estimate(result.lag.channel_delay_s, "ms", 1e3)),
    )
    return Table("Gas, friction and lag (95 % interval)", ("What", "Value"), rows)


def _over_stroke(result: Result, writer: Writer) -> str:
    """Least and most friction of the slow pass, and where the most is."""
    profile = result.statics.friction_over_stroke
    if profile is None:
        return NOT_ESTABLISHED
    most = max(range(len(profile.friction_n)), key=profile.friction_n.__getitem__)
    span = writer.between(min(profile.friction_n), profile.friction_n[most], "N")
    return f"{span}, most at {writer.value(profile.displacement_mm[most], 'mm', 2)}"


def stages_table(result: Result, writer: Writer) -> Table:
    head = (
        "Stage",
        "Highest speed",
        "Stroke",
        "Frequency",
        "Cycles",
        "Temperature",
        "Rebound, highest",
        "Compression, highest",
        "Energy of a cycle",
        "Equivalent damping",
    )
    rows = tuple(
        (
            str(stage.index),
            writer.given(stage.peak_velocity_m_s, "m/s"),
            writer.value(stage.stroke_m * 1e3, "mm"),
            writer.value(stage.frequency_hz, "Hz"),
            str(stage.cycles),
            "not measured" if stage.temperature_c is None else writer.value(stage.temperature_c, "°C"),
            writer.value(stage.rebound_peak_force_n, "N"),
            writer.value(stage.compression_peak_force_n, "N"),
            writer.value(stage.energy_per_cycle_j, "J"),
            writer.value(stage.equivalent_damping_n_s_m, "N s/m"),
        )
        for stage in result.run.stages
    )
    return Table("Stages of the test (bench readings, friction and gas in)", head, rows)


def vehicle_table(vehicle: VehicleRecord, writer: Writer) -> Table:
    target = vehicle.target_damping_ratio
    rows = (
        ("Critical damping at the wheel", writer.value(vehicle.critical_damping_n_s_m, "N s/m")),
        ("Body frequency", writer.value(vehicle.body_frequency_hz, "Hz")),
        ("Wheel frequency", writer.value(vehicle.wheel_frequency_hz, "Hz")),
        ("Static deflection", writer.value(vehicle.static_deflection_mm, "mm")),
        ("Target damping ratio", NOT_GIVEN if target is None else writer.given(target)),
    )
    return Table("The corner of the vehicle", ("What", "Value"), rows)


def ratio_table(vehicle: VehicleRecord, writer: Writer) -> Table:
    rows = tuple(
        (
            writer.given(ratio.peak_velocity_m_s, "m/s"),
            writer.estimate(ratio.damping_ratio, ""),
            writer.value(ratio.rebound_ratio),
            writer.value(ratio.compression_ratio),
        )
        for ratio in vehicle.ratios
    )
    head = ("Highest speed at the damper", "Whole cycle (95 % interval)", "Rebound stroke", "Compression stroke")
    return Table("Damping ratio by stage, friction included", head, rows)


def reference_table(result: Result, writer: Writer) -> Table:
    rows = tuple(
        (
            f"{point.direction.capitalize()}, {writer.given(point.velocity_m_s, 'm/s')}",
            point.answer,
            writer.estimate(_triple(point.measured_n, point.measured_low_n, point.measured_high_n), "N"),
            writer.value(point.reference_n, "N", 4),
            writer.between(point.low_n, point.high_n, "N"),
        )
        for point in result.reference or ()
    )
    head = ("Direction and speed", "Answer", "This unit (95 % interval)", "Known-good unit", "Allowed")
    return Table("Forces against the known-good unit (friction in, gas force out)", head, rows)


def history_table(result: Result) -> Table:
    rows = tuple(
        (step.what, step.why, "; ".join(f"{key} = {_setting(value)}" for key, value in step.settings.items()) or "none")
        for step in result.run.history
    )
    return Table("What was done to the data, in order", ("Step", "Why", "Settings"), rows, prose=True)


def _setting(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:.6g}"


def _given(value: float | None, unit: str, writer: Writer) -> str:
    return NOT_GIVEN if value is None else writer.given(value, unit, 4)


def _pretty(unit: str) -> str:
    """A unit as printed: `1` and `-` stand for a plain number."""
    plain = {"1": "", "-": "", "mm2": "mm²", "N s2/m2": "N s²/m²", "degC": "°C"}
    return plain.get(unit, unit)


def _reached(valve: ValveRecord) -> str:
    return ", ".join(REGIMES[regime] for regime in valve.reached) or NOT_ESTABLISHED


def _read(curve: CurveRecord | None, speed: float) -> EstimateRecord | None:
    """The curve at a speed; None outside the speeds that it covers (to a half percent)."""
    if curve is None or not curve.velocity_m_s[0] <= speed <= curve.velocity_m_s[-1] * 1.005:
        return None
    value, low, high = (
        float(np.interp(speed, curve.velocity_m_s, y)) for y in (curve.force_n, curve.low_n, curve.high_n)
    )
    return EstimateRecord(value=value, low=low, high=high)


def _need(need: BandRecord, way: str, speed: float, writer: Writer) -> str:
    low, high = (float(np.interp(speed, need.velocity_m_s, getattr(need, f"{way}_{end}_n"))) for end in ("low", "high"))
    return writer.between(low, high, "N")


def _triple(value: float | None, low: float | None, high: float | None) -> EstimateRecord | None:
    if value is None or low is None or high is None:
        return None
    return EstimateRecord(value=value, low=low, high=high)
