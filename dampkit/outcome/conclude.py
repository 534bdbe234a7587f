"""Measured against needed: the verdict, and the whole analysis as one record."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import asdict
from typing import TYPE_CHECKING

import dampkit
from dampkit.bench.run import Quality
from dampkit.curves.loop import Loop
from dampkit.damper.unit import Unit, Law
from dampkit.damper.stroke_friction import stroke_friction
from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case
from dampkit.faults.next_tests import next_tests
from dampkit.job import Job
from dampkit.outcome import result as record
from dampkit.outcome.choose import choose
from dampkit.outcome.reference import compare_with_reference
from dampkit.outcome.requirements import requirements
from dampkit.outcome.rounding import short as _short
from dampkit.outcome.target import target_answer
from dampkit.outcome.verdict import Known, decide
from dampkit.quantities import Estimate

if TYPE_CHECKING:
    from dampkit.needs.vehicle_needs import VehicleNeeds
    from dampkit.outcome.inspection import Seen

LOOP_POINTS = 128  # of a stored loop
PLACES_STEP = 6  # of the friction's places, so many are passed over: eleven are kept
POINTS_KEPT = 150
# Faults of the valve itself: the curve is still the valve's own, so what to change can be worked out
VALVE_FAULTS = frozenset({"weak_blowoff", "blocked_bleed", "internal_leak", "valve_stuck_open"})
SOURCES = ("merritt1967", "dixon2007", "jcgm100", "jcgm106", "rao", "barton2018", "okabe_ito2008")


def conclude(case: Case, faults: tuple[Finding, ...], suited: Suit | None, job: Job | None = None) -> record.Result:
    """Decide, and put everything that was found into the result."""
    job = job or Job()
    curves, fit, spec = case.curves, case.damper, case.spec
    run = curves.run
    quality = [*run.quality, *curves.quality, *fit.quality]
    reference = None if spec is None else compare_with_reference(fit, spec, run)
    suitable = None if suited is None else suits(suited.ratios, suited.corner)
    seen, inspection = _seen(job)
    asked = requirements(case, reference, suited, suitable)
    known = Known(tuple(quality), faults, reference, suitable, seen, asked)
    choice = choose(decide(known), job.costs, seen)
    advice = None
    if may_set(known) and (reference or suited):
        advice = _advice(case, known, suited, job)
    return record.Result(
        version=dampkit.__version__,
        damper=_damper(case),
        run=record.RunRecord(
            file=run.file,
            sha256=run.sha256,
            rows_read=run.rows_read,
            rows_used=run.rows_used,
            stages=tuple(_stage(loop) for loop in curves.loops),
            history=tuple(record.StepRecord(what=s.what, why=s.why, settings=dict(s.settings)) for s in run.history),
        ),
        quality=_quality(quality),
        statics=record.StaticsRecord(
            gas_force_n=_estimate(fit.gas_force_n),
            friction_force_n=_estimate(fit.friction_force_n),
            friction_over_stroke=_over_stroke(case),
        ),
        valve=record.BothValves(rebound=_valve(fit.rebound), compression=_valve(fit.compression)),
        lag=_lag(fit),
        faults=tuple(record.FaultRecord.model_validate(asdict(f)) for f in faults),
        vehicle=None if suited is None else _vehicle(suited),
        reference=reference,
        verdict=record.VerdictRecord.model_validate(asdict(choice.verdict)),
        advice=advice,
        requirements=asked,
        inspection=inspection,
        courses=choice.courses,
        left_out=tuple(_left_out(case, suited, job)),
        next_tests=next_tests(case, faults),
        sources=SOURCES,
    )


def _advice(case: Case, known: Known, suited: Suit | None, job: Job) -> record.AdviceRecord | None:
    from dampkit.outcome.change.advise import Unit, advise  # takes a while to import, and many runs ask for none
    from dampkit.outcome.change.stock import Stock

    stock = job.stock or Stock()
    unit = Unit(case.damper, case.curves.run, case.spec, known.reference, suited, known.suits, stock)
    return advise(unit, tuple(f.sentence for f in known.findings))


def _seen(job: Job) -> tuple[Seen | None, record.InspectionRecord | None]:
    if job.inspection is None:
        return None, None
    from dampkit.outcome.inspection import read_sheet, sheet_record

    seen = read_sheet(job.inspection)
    return seen, sheet_record(job.inspection, seen)


def _vehicle(suited: VehicleNeeds) -> record.VehicleRecord:
    from dampkit.outcome.vehicle_record import vehicle_record

    return vehicle_record(suited)


def may_set(known: Known) -> bool:
    """What to change is told where the data are sound and no fault was found that makes another curve of the same valve."""
    found = {f.code for f in known.findings if f.level == "found"}
    sound = not any(q.severity == "bad" for q in known.quality)
    return sound and found <= VALVE_FAULTS and not (known.seen and known.seen.structure)


def _left_out(case: Case, suited: Suit | None, job: Job) -> Iterable[str]:
    if job.inspection is None:
        yield "No inspection sheet was given: a pitted rod, a cracked eye or a worn bush is not seen by the bench."
    if suited is None:
        yield "No vehicle was given, so there is no damping ratio and no force that the vehicle needs."
    elif suited.need is None:
        yield "The vehicle has no target damping ratio, so there is no band that it needs."
    if suited is not None and suited.ride is None:
        yield "A direction of the unit has no fitted curve, so there is no ride."
    if case.spec is None:
        yield "No damper file was given, so there are no orifice areas and no comparison with known-good forces."
    elif case.spec.reference is None:
        yield "The damper file has no reference, so there is no comparison with known-good forces."


def _damper(case: Case) -> record.DamperRecord:
    given = None if case.spec is None else case.spec.damper
    names = ("serial", "kind", "piston_diameter_mm", "rod_diameter_mm", "oil_density_kg_m3")
    return record.DamperRecord(**{name: getattr(given, name, None) for name in names})


def _quality(entries: list[Quality]) -> tuple[record.QualityRecord, ...]:
    """Worst first, each once."""
    order = {"bad": 0, "warning": 1, "note": 2}
    unique = dict.fromkeys(sorted(entries, key=lambda q: order[q.severity]))
    return tuple(record.QualityRecord(code=q.code, severity=q.severity, message=q.message) for q in unique)


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
            displacement_mm=_short(1e3 * loop.displacement_m[thin]),
            velocity_m_s=_short(loop.velocity_m_s[thin]),
            force_n=_short(force[thin]),
        ),
    )


def _valve(fit: Law | None) -> record.ValveRecord:
    if fit is None:
        names = (name for name in record.ValveRecord.model_fields if name != "reached")
        return record.ValveRecord.model_validate({**dict.fromkeys(names), "reached": ()})
    thin = slice(None, None, max(1, math.ceil(fit.point_force_n.size / POINTS_KEPT)))
    return record.ValveRecord(
        curve=record.CurveRecord(
            velocity_m_s=_short(fit.velocity_m_s),
            force_n=_short(fit.force_n),
            low_n=_short(fit.low_n),
            high_n=_short(fit.high_n),
        ),
        points=record.PointsRecord(
            velocity_m_s=_short(fit.point_velocity_m_s[thin]), force_n=_short(fit.point_force_n[thin])
        ),
        bleed_area_mm2=_estimate(fit.bleed_area_mm2),
        bleed_coefficient_n_s2_m2=_estimate(fit.bleed_coefficient_n_s2_m2),
        leak_coefficient_n_s_m=_estimate(fit.leak_coefficient_n_s_m),
        blowoff_force_n=_estimate(fit.blowoff_force_n),
        blowoff_velocity_m_s=_estimate(fit.blowoff_velocity_m_s),
        slope_above_blowoff_n_s_m=_estimate(fit.slope_above_blowoff_n_s_m),
        reached=fit.reached,
    )


def _over_stroke(case: Case) -> record.StrokeFrictionRecord | None:
    if case.slow_pass is None or case.damper.friction_force_n is None:
        return None
    profile = stroke_friction(case.slow_pass, case.damper)
    some = slice(None, None, PLACES_STEP)
    return record.StrokeFrictionRecord(
        displacement_mm=_short(1e3 * profile.place_m[some]), friction_n=_short(profile.both_n[some])
    )


def _lag(fit: Unit) -> record.LagRecord:
    return record.LagRecord(
        lost_motion_mm=record.LostMotionRecord(
            rebound=_estimate(fit.rebound_lost_motion_mm), compression=_estimate(fit.compression_lost_motion_mm)
        ),
        series_stiffness_n_m=_estimate(fit.series_stiffness_n_m),
        channel_delay_s=_estimate(fit.channel_delay_s),
    )


def _estimate(estimate: Estimate | None) -> record.EstimateRecord | None:
    return None if estimate is None else record.EstimateRecord(**estimate.to_dict())
