"""What the rooms found, in the form of the record: values only, no sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Quality
from dampkit.bench.test import files_read
from dampkit.curves.loop import Curves, Loop
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.reading import curve_half_n
from dampkit.damper.stroke_friction import stroke_friction
from dampkit.damper.unit import Side, Unit
from dampkit.expected.reference import Compared
from dampkit.faults.finding import Finding, Measure, NotLookedFor
from dampkit.faults.gas import gas_pressure_bar
from dampkit.faults.under_test import UnderTest
from dampkit.job import Job
from dampkit.outcome.decision_record import (
    EvidenceRecord,
    FaultRecord,
    GroundRecord,
    NotLookedForRecord,
    ReferencePoint,
    VerdictRecord,
)
from dampkit.outcome.measured_record import (
    CurveRecord,
    LagRecord,
    LoopRecord,
    PointsRecord,
    QualityRecord,
    RunRecord,
    StageRecord,
    StaticsRecord,
    StepRecord,
    StrokeFrictionRecord,
    ValveRecord,
)
from dampkit.outcome.result import DamperRecord
from dampkit.outcome.verdict import Verdict
from dampkit.quantities import Z95

if TYPE_CHECKING:
    from dampkit.needs.vehicle_needs import VehicleNeeds

LOOP_POINTS = 85  # of a stored loop
PLACES_STEP = 6  # of the friction's places, so many are passed over: eleven are kept
POINTS_KEPT = 80


def run_record(measured: Curves | Points) -> RunRecord:
    """Of points: no stages, no rows."""
    test = measured if isinstance(measured, Points) else measured.run
    return RunRecord.of(
        test,
        files=files_read(test.parts or (test,)),
        rows=() if isinstance(measured, Points) else measured.rows,
        stages=() if isinstance(measured, Points) else tuple(_stage(loop) for loop in measured.loops),
        history=tuple(StepRecord.of(step, settings=dict(step.settings)) for step in test.history),
    )


def damper_record(spec: DamperSpec | None) -> DamperRecord:
    if spec is not None:
        return DamperRecord.of(spec.damper)
    return DamperRecord(**dict.fromkeys(DamperRecord.model_fields))


def quality_records(entries: Sequence[Quality]) -> tuple[QualityRecord, ...]:
    """Worst first, each once."""
    order = {"bad": 0, "warning": 1, "note": 2}
    unique = dict.fromkeys(sorted(entries, key=lambda q: order[q.severity]))
    return tuple(map(QualityRecord.of, unique))


def statics_record(test: UnderTest) -> StaticsRecord:
    over = _over_stroke(test)
    return StaticsRecord.of(test.unit, gas_pressure_bar=gas_pressure_bar(test), friction_over_stroke=over)


def unit_records(unit: Unit) -> tuple[ValveRecord, ValveRecord, LagRecord]:
    lost = {side.direction: side.lost_motion_mm for side in unit.sides}
    lag = LagRecord.of(unit, lost_motion_mm=lost)
    return _valve(unit.rebound, unit), _valve(unit.compression, unit), lag


def fault_record(finding: Finding) -> FaultRecord:
    evidence, figures = tuple(map(_evidence, finding.evidence)), dict(finding.figures)
    return FaultRecord.of(finding, sentence="", evidence=evidence, stage_index=finding.stage, figures=figures)


def reference_records(points: Sequence[Compared]) -> tuple[ReferencePoint, ...]:
    return tuple(
        ReferencePoint.of(
            p,
            measured_n=None if p.measured_n is None else p.measured_n.value,
            measured_low_n=None if p.measured_n is None else p.measured_n.low,
            measured_high_n=None if p.measured_n is None else p.measured_n.high,
            reference_n=p.wanted_n,
            read_n=None if p.as_read is None else p.as_read.force_n,
            read_temperature_c=None if p.as_read is None else p.as_read.temperature_c,
        )
        for p in points
    )


def not_looked_for_record(n: NotLookedFor) -> NotLookedForRecord:
    return NotLookedForRecord.of(n, needs="")


def verdict_record(verdict: Verdict) -> VerdictRecord:
    grounds = tuple(GroundRecord.of(g, figures=dict(g.figures)) for g in verdict.grounds)
    return VerdictRecord.of(verdict, reasons=(), next_step="", grounds=grounds)


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


def _stage(loop: Loop) -> StageRecord:
    energy = float(loop.energy_j.mean())
    force = loop.mean_force_n
    speed_squared = float(loop.velocity_m_s @ loop.velocity_m_s) * loop.period_s / loop.velocity_m_s.size
    thin = slice(None, None, max(1, force.size // LOOP_POINTS))
    return StageRecord.of(
        loop.stage,
        peak_velocity_m_s=loop.peak_velocity_m_s,
        rebound_peak_force_n=float(force[loop.velocity_m_s > 0].max()),
        compression_peak_force_n=float(-force[loop.velocity_m_s < 0].min()),
        energy_per_cycle_j=energy,
        equivalent_damping_n_s_m=energy / speed_squared,
        loop=LoopRecord(
            displacement_mm=1e3 * loop.displacement_m[thin],
            velocity_m_s=loop.velocity_m_s[thin],
            force_n=force[thin],
        ),
    )


def _valve(side: Side, unit: Unit) -> ValveRecord:
    law = side.law
    if law is None:
        none = dict.fromkeys(ValveRecord.model_fields)
        return ValveRecord(**none | {"reading": side.reading, "reached": ()})
    thin = slice(None, None, max(1, math.ceil(law.point_force_n.size / POINTS_KEPT)))
    half = curve_half_n(side, unit)
    return ValveRecord.of(
        law,
        curve=CurveRecord.of(law, low_n=np.maximum(law.force_n - half, 0.0), high_n=law.force_n + half),
        reading=side.reading,
        law="explained" if law.explained else "as measured",
        points=PointsRecord(velocity_m_s=law.point_velocity_m_s[thin], force_n=law.point_force_n[thin]),
    )


def _over_stroke(test: UnderTest) -> StrokeFrictionRecord | None:
    if test.slow_pass is None or test.unit.friction_force_n is None:
        return None
    profile = stroke_friction(test.slow_pass, test.unit)
    some = slice(None, None, PLACES_STEP)
    return StrokeFrictionRecord(displacement_mm=1e3 * profile.place_m[some], friction_n=profile.both_n[some])


def _evidence(m: Measure) -> EvidenceRecord:
    half = Z95 * m.uncertainty
    return EvidenceRecord.of(m, measure="", low=m.value - half, high=m.value + half, stage_index=m.stage)
