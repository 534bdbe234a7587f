"""The tables of the page: what a stored result holds, written out with units."""

from __future__ import annotations

import numpy as np

from dampkit.damper.take_up import each_once, same_speed
from dampkit.frozen import frozen
from dampkit.outcome.decision_record import EvidenceRecord, FaultRecord
from dampkit.outcome.measured_record import CurveRecord, StaticsRecord, ValveRecord, WarmthRecord
from dampkit.outcome.need_record import BandRecord, VehicleRecord
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.result import Result
from dampkit.report.about import about
from dampkit.report.numbers import NOT_ESTABLISHED, Writer
from dampkit.report.sentences import PERCENT
from dampkit.report.ways import way_of
from dampkit.report.words import NO_LAW, REGIMES

NOT_GIVEN = "not given"
AS_MEASURED = "as measured: the curve stands by itself"
COEFFICIENTS = (
    ("Bleed, effective area", "bleed_area_mm2", "mm²"),
    ("Bleed coefficient", "bleed_coefficient_n_s2_m2", "N s²/m²"),
    ("Leak coefficient", "leak_coefficient_n_s_m", "N s/m"),
    ("Blow-off opens at force", "blowoff_force_n", "N"),
    ("Blow-off opens at speed", "blowoff_velocity_m_s", "m/s"),
    ("Slope above blow-off", "slope_above_blowoff_n_s_m", "N s/m"),
)


@frozen
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
    more = tuple((what, said) for what, said in about(result) if said)
    return Table("The unit as declared", ("What", "Value"), (*rows, *more))


def evidence_table(fault: FaultRecord, writer: Writer) -> Table:
    rows = tuple((item.measure, *_held(item, writer), item.basis) for item in fault.evidence)
    return Table("Evidence", ("Measure", "This unit", "Limit", "Where the limit comes from"), rows, prose=True)


def _held(item: EvidenceRecord, writer: Writer) -> tuple[str, str]:
    """Value, with its interval where one was stored, and limit; shares in percent."""
    factor, unit = (100.0, "%") if item.key in PERCENT else (1.0, _pretty(item.unit))
    limit = writer.given(factor * item.limit, unit)
    if item.low is None or item.high is None:
        return writer.given(factor * item.value, unit), limit
    return writer.estimate(_triple(item.value, item.low, item.high), unit, factor), limit


def forces_table(result: Result, writer: Writer) -> Table:
    """At the tested speeds, what the bench reads and what the oil makes; readings only where they were stored."""
    both = (("rebound", result.valve.rebound), ("compression", result.valve.compression))
    sides = [(way_of(result, way).capitalize(), valve) for way, valve in both]
    read = any(valve.reading is not None for _, valve in sides)
    head, rows = ["Piston speed"], []
    for name, _ in sides:
        head += [f"{name}: bench reads", f"{name}: oil alone"] if read else [name]
    for speed in _tested_speeds(result):
        cells = [writer.given(speed, "m/s")]
        for _, valve in sides:
            cells += [_readings(valve.reading, speed, writer)] if read else []
            cells.append(writer.estimate(_read(valve.curve, speed), "N"))
        rows.append(tuple(cells))
    return Table("Force at the speeds tested (95 % interval)", tuple(head), tuple(rows))


def _tested_speeds(result: Result) -> list[float]:
    """Of the stages; of the readings where the record has no stages. Each speed once."""
    reading = (result.valve.rebound.reading, result.valve.compression.reading)
    speeds = [stage.peak_velocity_m_s for stage in result.run.stages] or [
        v for curve in reading if curve is not None for v in curve.velocity_m_s
    ]
    return [float(f"{speed:.3g}") for speed in each_once(speeds)]


def _readings(reading: CurveRecord | None, speed: float, writer: Writer) -> str:
    """Every reading at that speed: a speed that was run again may read otherwise."""
    if reading is None:
        return NOT_ESTABLISHED
    table = zip(reading.velocity_m_s, reading.force_n, reading.low_n, reading.high_n, strict=True)
    said = [writer.estimate(_triple(*ends), "N") for v, *ends in table if v > 0 and same_speed(v, speed)]
    return "; ".join(said) or NOT_ESTABLISHED


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
    rows = [
        ("Lost motion at the start of the stroke, play in", *(writer.estimate(x, "mm") for x in (lost.rebound, lost.compression))),
        ("Parts of the valve reached", _reached(rebound), _reached(compression)),
    ]  # fmt: skip
    if rebound.law == compression.law == NO_LAW:
        rows.insert(0, ("Leak, bleed and blow-off", AS_MEASURED, AS_MEASURED))
    else:
        rows = [_coefficient(valve, rebound, compression, writer) for valve in COEFFICIENTS] + rows
    return Table("Valve by direction (95 % interval)", ("What", "Rebound", "Compression"), tuple(rows))


def _coefficient(
    named: tuple[str, str, str], rebound: ValveRecord, compression: ValveRecord, writer: Writer
) -> tuple[str, str, str]:
    name, key, unit = named
    first, second = (
        AS_MEASURED if valve.law == NO_LAW else writer.estimate(getattr(valve, key), unit)
        for valve in (rebound, compression)
    )
    return name, first, second


def statics_table(result: Result, writer: Writer) -> Table:
    rows = (
        ("Gas force", writer.estimate(result.statics.gas_force_n, "N")),
        ("Gas pressure over the air, mid-stroke", writer.estimate(result.statics.gas_pressure_bar, "bar")),
        ("Friction", _friction(result.statics, writer)),
        ("Friction over the stroke", _over_stroke(result, writer)),
        *_side_load(result, writer),
        ("Stiffness of bushes, rig and oil column", writer.estimate(result.lag.series_stiffness_n_m, "N/mm", 1e-3)),
        ("Delay of the force channel", writer.estimate(result.lag.channel_delay_s, "ms", 1e3)),
    )
    return Table("Gas, friction and lag (95 % interval)", ("What", "Value"), rows)


def _friction(statics: StaticsRecord, writer: Writer) -> str:
    """The estimate; else the bound that the loops give, if they give one."""
    if statics.friction_force_n is not None or statics.friction_at_most_n is None:
        return writer.estimate(statics.friction_force_n, "N")
    return f"{NOT_ESTABLISHED}; at most {writer.value(statics.friction_at_most_n, 'N', 2)}"


def _side_load(result: Result, writer: Writer) -> list[tuple[str, str]]:
    """Of a strut: what pressed on its rod, and what carried it."""
    strut = result.strut
    if strut is None:
        return []
    said = writer.given(strut.side_load_n, "N")
    if strut.on_guide_n is not None and strut.on_piston_n is not None:
        said += f": {writer.value(strut.on_guide_n, 'N')} on the guide, {writer.value(strut.on_piston_n, 'N')} on the piston"
    return [("Side load on the rod", said)]


def _over_stroke(result: Result, writer: Writer) -> str:
    """Least and most friction of the slow pass, and where the most is."""
    profile = result.statics.friction_over_stroke
    if profile is None:
        return NOT_ESTABLISHED
    most = max(range(len(profile.friction_n)), key=profile.friction_n.__getitem__)
    span = writer.between(min(profile.friction_n), profile.friction_n[most], "N")
    return f"{span}, most at {writer.value(round(profile.displacement_mm[most], 1), 'mm', 2)}"


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
            str(stage.index + 1),
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


def ratio_table(result: Result, vehicle: VehicleRecord, writer: Writer) -> Table:
    """One-mass and two-mass ratios, each with the speed and stroke that it holds for."""
    strokes = [writer.given(1e3 * stage.stroke_m, "mm") for stage in result.run.stages]
    told = strokes if len(strokes) == len(vehicle.ratios) else ["not known"] * len(vehicle.ratios)
    rows = tuple(
        (
            writer.given(ratio.peak_velocity_m_s, "m/s"),
            stroke,
            writer.estimate(ratio.damping_ratio, ""),
            writer.value(ratio.rebound_ratio),
            writer.value(ratio.compression_ratio),
            writer.value(ratio.body_ratio),
            writer.value(ratio.wheel_ratio),
        )
        for ratio, stroke in zip(vehicle.ratios, told, strict=True)
    )
    head = (
        "Highest speed at the damper",
        "Stroke",
        "One mass, whole cycle (95 % interval)",
        "Its rebound stroke",
        "Its compression stroke",
        "Two masses: body",
        "Two masses: wheel",
    )
    return Table("Damping ratio by stage over the strokes as run, friction included", head, rows)


def reference_table(result: Result, writer: Writer) -> Table:
    rows = tuple(
        (
            f"{way_of(result, point.direction).capitalize()}, {writer.given(point.velocity_m_s, 'm/s')}",
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


def corrected_table(warmth: WarmthRecord, writer: Writer) -> Table:
    """Forces at one temperature; where nothing was moved, what was read there."""
    to = writer.given(warmth.reference_temperature_c, "°C", 3)
    rows = tuple(
        (
            f"{side.direction.capitalize()} at {writer.given(v, 'm/s')}",
            writer.estimate(EstimateRecord(value=f, low=low, high=high), "N"),
        )
        for side in warmth.at_reference_temperature
        for v, f, low, high in zip(side.velocity_m_s, side.force_n, side.low_n, side.high_n, strict=True)
    )
    what = "read within 5 K of" if warmth.left_as_read else "corrected to"
    return Table(f"Forces {what} {to} (friction in, gas out)", ("Direction and speed", "Force"), rows)
