"""What the rooms found, in the form of the record: values only, no sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Quality, Step
from dampkit.bench.test import files_read
from dampkit.curves.loop import Curves, Loop
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.reading import curve_half_n
from dampkit.damper.stroke_friction import stroke_friction
from dampkit.damper.unit import Reading, Side, Unit
from dampkit.expected.reference import Compared
from dampkit.faults.finding import Finding, Measure, NotLookedFor
from dampkit.faults.gas import gas_pressure_bar
from dampkit.faults.under_test import UnderTest
from dampkit.job import Job
from dampkit.outcome import result as record
from dampkit.outcome.coverage import Covered
from dampkit.outcome.rounding import short
from dampkit.outcome.verdict import Verdict
from dampkit.quantities import Z95, Estimate

if TYPE_CHECKING:
    from dampkit.needs.vehicle_needs import VehicleNeeds

LOOP_POINTS = 85  # of a stored loop
PLACES_STEP = 6  # of the friction's places, so many are passed over: eleven are kept
POINTS_KEPT = 80


def estimate_record(estimate: Estimate | None) -> record.EstimateRecord | None:
    return None if estimate is None else record.EstimateRecord(**estimate.to_dict())


def run_record(measured: Curves | Points) -> record.RunRecord:
    """Of points: no stages, no rows."""
    if isinstance(measured, Points):
        whole = {name: getattr(measured, name) for name in ("file", "sha256", "rows_read", "rows_used")}
        files = tuple(record.FileRecord(**asdict(file)) for file in files_read(measured.parts or (measured,)))
        return record.RunRecord(**whole, files=files, stages=(), history=_steps(measured.history))
    return _of_curves(measured)


def _of_curves(curves: Curves) -> record.RunRecord:
    run = curves.run
    whole = {"file": run.file, "sha256": run.sha256, "rows_read": run.rows_read, "rows_used": run.rows_used}
    return record.RunRecord(
        **whole,
        files=tuple(record.FileRecord(**asdict(file)) for file in files_read(run.parts or (run,))),
        rows=tuple(
            record.RowsRecord(from_row=r.from_row, to_row=r.to_row, file=r.file, use=r.use, why=r.why)
            for r in curves.rows
        ),
        stages=tuple(_stage(loop) for loop in curves.loops),
        history=_steps(run.history),
    )


def _steps(history: Sequence[Step]) -> tuple[record.StepRecord, ...]:
    return tuple(record.StepRecord(what=s.what, why=s.why, settings=dict(s.settings)) for s in history)


def damper_record(spec: DamperSpec | None) -> record.DamperRecord:
    names = record.DamperRecord.model_fields
    given = {} if spec is None else spec.damper.model_dump(include=set(names))
    return record.DamperRecord(**{name: given.get(name) for name in names})


def quality_records(entries: Sequence[Quality]) -> tuple[record.QualityRecord, ...]:
    """Worst first, each once."""
    order = {"bad": 0, "warning": 1, "note": 2}
    unique = dict.fromkeys(sorted(entries, key=lambda q: order[q.severity]))
    return tuple(
        record.QualityRecord(code=q.code, severity=q.severity, message=q.message, clears=q.clears) for q in unique
    )


def statics_record(test: UnderTest) -> record.StaticsRecord:
    unit = test.unit
    return record.StaticsRecord(
        gas_force_n=estimate_record(unit.gas_force_n),
        gas_pressure_bar=estimate_record(gas_pressure_bar(test)),
        friction_force_n=estimate_record(unit.friction_force_n),
        friction_at_most_n=unit.friction_at_most_n,
        friction_over_stroke=_over_stroke(test),
    )


def unit_records(unit: Unit) -> tuple[record.ValveRecord, record.ValveRecord, record.LagRecord]:
    lag = record.LagRecord(
        lost_motion_mm=record.LostMotionRecord(
            rebound=estimate_record(unit.rebound.lost_motion_mm),
            compression=estimate_record(unit.compression.lost_motion_mm),
        ),
        series_stiffness_n_m=estimate_record(unit.series_stiffness_n_m),
        channel_delay_s=estimate_record(unit.channel_delay_s),
    )
    return _valve(unit.rebound, unit), _valve(unit.compression, unit), lag


def fault_record(finding: Finding) -> record.FaultRecord:
    return record.FaultRecord(
        code=finding.code,
        level=finding.level,
        likelihood=finding.likelihood,
        sentence="",
        evidence=tuple(_evidence(m) for m in finding.evidence),
        stage_index=finding.stage,
        direction=finding.direction,
        figures=dict(finding.figures),
    )


def reference_records(points: Sequence[Compared]) -> tuple[record.ReferencePoint, ...]:
    return tuple(
        record.ReferencePoint(
            direction=p.direction,
            velocity_m_s=p.velocity_m_s,
            measured_n=None if p.measured_n is None else p.measured_n.value,
            measured_low_n=None if p.measured_n is None else p.measured_n.low,
            measured_high_n=None if p.measured_n is None else p.measured_n.high,
            reference_n=p.wanted_n,
            low_n=p.low_n,
            high_n=p.high_n,
            answer=p.answer,
            read_n=None if p.as_read is None else p.as_read.force_n,
            read_temperature_c=None if p.as_read is None else p.as_read.temperature_c,
        )
        for p in points
    )


def coverage_record(c: Covered) -> record.CoverageRecord:
    return record.CoverageRecord(
        direction=c.direction,
        piece=c.piece,
        from_velocity_m_s=c.from_m_s,
        to_velocity_m_s=c.to_m_s,
        answer=c.answer,
        against=c.against,
    )


def not_looked_for_record(n: NotLookedFor) -> record.NotLookedForRecord:
    return record.NotLookedForRecord(code=n.code, lacks=n.lacks, needs="")


def verdict_record(verdict: Verdict) -> record.VerdictRecord:
    grounds = tuple(record.GroundRecord(**{**asdict(g), "figures": dict(g.figures)}) for g in verdict.grounds)
    return record.VerdictRecord(action=verdict.action, reasons=(), next_step="", grounds=grounds, step=verdict.step)


def left_out(spec: DamperSpec | None, needs: VehicleNeeds | None, job: Job) -> tuple[str, ...]:
    """What the result lacks because it was not declared."""
    return tuple(_left_out(spec, needs, job))


def _left_out(spec: DamperSpec | None, needs: VehicleNeeds | None, job: Job) -> Iterable[str]:
    if job.inspection is None:
        yield "No inspection sheet was given: a pitted rod, a cracked eye or a worn bush is not seen by the bench."
    kind = None if spec is None else spec.damper.kind
    if not facts_of(kind).damps_wheel:
        yield f"A {kind} damps no wheel, so there is no damping ratio and no vehicle's need."
    elif needs is None:
        yield "No vehicle was given, so there is no damping ratio and no force that the vehicle needs."
    elif needs.need is None:
        yield "The vehicle has no target damping ratio, so there is no band that it needs."
    if needs is not None and not needs.asked:
        yield "The ride was not asked for."
    elif needs is not None and needs.ride is None:
        yield "A direction of the unit has no curve, so there is no ride."
    if spec is None:
        yield "No damper file was given, so there are no orifice areas and no comparison with known-good forces."
    elif spec.reference is None:
        yield "The damper file has no reference, so there is no comparison with known-good forces."


def _stage(loop: Loop) -> record.StageRecord:
    energy = float(loop.energy_j.mean())
    force = loop.mean_force_n
    speed_squared = float(loop.velocity_m_s @ loop.velocity_m_s) * loop.period_s / loop.velocity_m_s.size
    thin = slice(None, None, max(1, force.size // LOOP_POINTS))
    return record.StageRecord(
        index=loop.stage.index,
        peak_velocity_m_s=loop.peak_velocity_m_s,
        stroke_m=loop.stage.stroke_m,
        frequency_hz=loop.stage.frequency_hz,
        cycles=loop.stage.cycles,
        temperature_c=loop.stage.temperature_c,
        rebound_peak_force_n=float(force[loop.velocity_m_s > 0].max()),
        compression_peak_force_n=float(-force[loop.velocity_m_s < 0].min()),
        energy_per_cycle_j=energy,
        equivalent_damping_n_s_m=energy / speed_squared,
        loop=record.LoopRecord(
            displacement_mm=short(1e3 * loop.displacement_m[thin]),
            velocity_m_s=short(loop.velocity_m_s[thin]),
            force_n=short(force[thin]),
        ),
    )


def _valve(side: Side, unit: Unit) -> record.ValveRecord:
    law = side.law
    if law is None:
        names = {name: None for name in record.ValveRecord.model_fields if name != "reached"}
        return record.ValveRecord(**{**names, "reading": _reading(side.reading), "reached": ()})
    thin = slice(None, None, max(1, math.ceil(law.point_force_n.size / POINTS_KEPT)))
    half = curve_half_n(side, unit)
    return record.ValveRecord(
        curve=record.CurveRecord(
            velocity_m_s=short(law.velocity_m_s),
            force_n=short(law.force_n),
            low_n=short(np.maximum(law.force_n - half, 0.0)),
            high_n=short(law.force_n + half),
        ),
        reading=_reading(side.reading),
        law="explained" if law.explained else "as measured",
        points=record.PointsRecord(
            velocity_m_s=short(law.point_velocity_m_s[thin]), force_n=short(law.point_force_n[thin])
        ),
        bleed_area_mm2=estimate_record(law.bleed_area_mm2),
        bleed_coefficient_n_s2_m2=estimate_record(law.bleed_coefficient_n_s2_m2),
        leak_coefficient_n_s_m=estimate_record(law.leak_coefficient_n_s_m),
        blowoff_force_n=estimate_record(law.blowoff_force_n),
        blowoff_velocity_m_s=estimate_record(law.blowoff_velocity_m_s),
        slope_above_blowoff_n_s_m=estimate_record(law.slope_above_blowoff_n_s_m),
        reached=law.reached,
    )


def _reading(read: Reading | None) -> record.CurveRecord | None:
    if read is None:
        return None
    return record.CurveRecord(
        velocity_m_s=short(read.velocity_m_s),
        force_n=short(read.force_n),
        low_n=short(read.low_n),
        high_n=short(read.high_n),
    )


def _over_stroke(test: UnderTest) -> record.StrokeFrictionRecord | None:
    if test.slow_pass is None or test.unit.friction_force_n is None:
        return None
    profile = stroke_friction(test.slow_pass, test.unit)
    some = slice(None, None, PLACES_STEP)
    return record.StrokeFrictionRecord(
        displacement_mm=short(1e3 * profile.place_m[some]), friction_n=short(profile.both_n[some])
    )


def _evidence(m: Measure) -> record.EvidenceRecord:
    half = Z95 * m.uncertainty
    return record.EvidenceRecord(
        key=m.key,
        measure="",
        value=m.value,
        unit=m.unit,
        limit=m.limit,
        basis=m.basis,
        low=m.value - half,
        high=m.value + half,
        direction=m.direction,
        stage_index=m.stage,
        velocity_m_s=m.velocity_m_s,
        spans=tuple(record.SpanRecord(after=s.after, length_m=s.length_m) for s in m.spans),
    )
