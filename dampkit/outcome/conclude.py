"""Measured against needed: the verdict, and the whole analysis as one record. Its sentences are made in report/."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import dampkit
from dampkit.bench.run import Quality
from dampkit.bench.sense import odd_values
from dampkit.damper.points import SLOW_M_S
from dampkit.expected.alike import against_each_other
from dampkit.expected.reference import Compared, against_reference
from dampkit.faults.diagnose import Diagnosis
from dampkit.faults.gas import gas_pressure_bar
from dampkit.faults.under_test import UnderTest
from dampkit.job import MODELS, Job
from dampkit.outcome.advice_record import AdviceRecord
from dampkit.outcome.arm_record import of_kind
from dampkit.outcome.coverage import coverage
from dampkit.outcome.decision_record import InspectionRecord, RestoreRecord
from dampkit.outcome.ground import OF_A_VALVE
from dampkit.outcome.how_warm import warmth_record
from dampkit.outcome.measured_record import BothValves
from dampkit.outcome.money import choose
from dampkit.outcome.need_record import VehicleRecord
from dampkit.outcome.next_test import open_tests
from dampkit.outcome.oil_state import of_oil_and_gas
from dampkit.outcome.records import (
    damper_record,
    fault_record,
    left_out,
    not_looked_for_record,
    quality_records,
    reference_records,
    run_record,
    statics_record,
    unit_records,
    verdict_record,
)
from dampkit.outcome.requirements import requirements
from dampkit.outcome.result import Result
from dampkit.outcome.target import against_need, target_answer
from dampkit.outcome.verdict import Known, Verdict, as_can_be_made, decide
from dampkit.quantities import DIRECTIONS, Direction

if TYPE_CHECKING:
    from dampkit.damper.declared import DamperSpec
    from dampkit.needs.vehicle_needs import VehicleNeeds
    from dampkit.outcome.inspection import Seen

LEAST_ALIVE_N = 20.0  # of hydraulic force at the fastest stage, under which a direction counts as dead; common practice
SOURCES = ("merritt1967", "dixon2007", "jcgm100", "jcgm106", "rao", "barton2018", "okabe_ito2008")


def conclude(test: UnderTest, diagnosis: Diagnosis, needs: VehicleNeeds | None, job: Job | None = None) -> Result:
    """Decide, and put everything that was found into the result."""
    job = job or Job()
    quality = (*test.quality, *_unusual(job))
    seen, inspection = _seen(job, test.spec)
    known = _known(test, diagnosis, needs, quality=quality, seen=seen)
    decided = decide(known)
    advice = _advice(test, known, needs, job) if decided.sound else None
    choice = choose(as_can_be_made(decided, advice, known.target), job.costs, seen)
    rebound, compression, lag = unit_records(test.unit)
    return Result(
        version=dampkit.__version__,
        damper=damper_record(test.spec),
        run=run_record(test.measured),
        quality=quality_records(quality),
        statics=statics_record(test),
        valve=BothValves(rebound=rebound, compression=compression),
        lag=lag,
        warmth=warmth_record(test),
        **_of_faults(test, diagnosis, known, choice.verdict),
        restore=() if decided.open else _restored(test, known, job, advice),
        vehicle=None if needs is None else _vehicle(needs),
        reference=None if known.reference is None else reference_records(known.reference),
        coverage=known.coverage,
        verdict=verdict_record(choice.verdict),
        advice=advice,
        **of_oil_and_gas(test, diagnosis.findings, None if job.inspection is None else job.inspection.inspection),
        **of_kind(test, diagnosis),
        requirements=known.asked,
        inspection=inspection,
        courses=choice.courses,
        left_out=left_out(test.spec, needs, job),
        sources=SOURCES,
    )


def _unusual(job: Job) -> tuple[Quality, ...]:
    """What is declared and seldom right."""
    return tuple(note for kind in MODELS for note in odd_values(getattr(job, kind), kind))


def _of_faults(test: UnderTest, diagnosis: Diagnosis, known: Known, verdict: Verdict) -> dict[str, Any]:
    """What was looked for and found, what puts it right, and what to test next, by their names in the result."""
    keys, programme = open_tests(test, diagnosis, known, verdict)
    return {
        "faults": tuple(fault_record(f) for f in diagnosis.findings),
        "not_looked_for": tuple(not_looked_for_record(n) for n in diagnosis.not_looked_for),
        "next_tests": keys,
        "next_test": programme,
    }


def _restored(test: UnderTest, known: Known, job: Job, advice: AdviceRecord | None) -> tuple[RestoreRecord, ...]:
    """What each part at fault is when good; of every part that differs where no setting reaches the reference."""
    renewed = advice is not None and advice.aim == "reference" and advice.answer == "out"
    if not renewed and not any(f.code in OF_A_VALVE for f in known.findings):
        return ()
    from dampkit.outcome.change.stock import Stock  # as for the advice
    from dampkit.outcome.restore import restored

    return restored(test, known.findings, known.reference, job.stock or Stock(), renewed=renewed)


def _gas_to_compare(test: UnderTest) -> float | None:
    """Gas pressure of a monotube, bar, where no charge is declared to hold it against."""
    if test.facts.gas != "charge" or test.spec is None or test.spec.gas is not None:
        return None
    bar = gas_pressure_bar(test)
    return None if bar is None else bar.value


def _known(
    test: UnderTest,
    diagnosis: Diagnosis,
    needs: VehicleNeeds | None,
    *,
    quality: tuple[Quality, ...],
    seen: Seen | None,
) -> Known:
    """What the unit was held against, and what came of it."""
    reference = against_reference(test.unit, test.spec)
    target = None if needs is None else target_answer(needs.rated, needs.corner)
    alike = against_each_other(test.unit, test.spec)
    needed = None if needs is None or needs.need is None else against_need(test.unit, needs.need)
    return Known(
        quality=quality,
        findings=diagnosis.findings,
        not_looked_for=diagnosis.not_looked_for,
        coverage=coverage(test.unit, reference, needed, alike),
        reference=reference,
        target=target,
        seen=seen,
        direction_known=test.record.direction_known,
        alive=_alive(test),
        rebound_share=_rebound_share(test),
        hydraulic=test.facts.oil,
        needed=needed,
        asked=requirements(test, reference, target, needed, measures=diagnosis.measures),
        gas_bar=_gas_to_compare(test),
        alike=alike,
        strays=tuple(_strays(test, reference or ())),
    )


def _strays(test: UnderTest, reference: Sequence[Compared]) -> Iterator[Direction]:
    """Directions that read outside what their fitted valve does not make."""
    for direction, held in test.differs.items():
        out = [p.velocity_m_s for p in reference if p.direction == direction and p.answer == "out"]
        if held.strays(out, test.unit.friction_used_n):
            yield direction


def _alive(test: UnderTest) -> tuple[Direction, ...]:
    """Directions not shown to be without force: beyond its doubt and friction at the fastest stage, or run too slowly for
    oil to make any."""
    least = max(LEAST_ALIVE_N, test.unit.friction_used_n if test.facts.oil else 0.0)
    alive: list[Direction] = []
    for d in DIRECTIONS:
        read = test.unit.side(d).reading
        slow_m_s = SLOW_M_S if test.facts.oil else 0.0
        if read is None or read.velocity_m_s[-1] < slow_m_s or (read.force_n[-1] > least and read.low_n[-1] > 0):
            alive.append(d)
    return tuple(alive)


def _rebound_share(test: UnderTest) -> float | None:
    """Rebound force over both at the fastest stage."""
    r, c = (test.unit.side(d).reading for d in DIRECTIONS)
    if r is None or c is None or r.force_n[-1] + c.force_n[-1] <= 0:
        return None
    return float(r.force_n[-1] / (r.force_n[-1] + c.force_n[-1]))


def _advice(test: UnderTest, known: Known, needs: VehicleNeeds | None, job: Job) -> AdviceRecord | None:
    """What to change in a sound unit. A faulty one, or one under suspicion, is put right first and tuned never."""
    from dampkit.outcome.change.advise import Advised, advise  # takes a while to import, and many runs ask for none
    from dampkit.outcome.change.stock import Stock

    return advise(Advised(test.unit, test.record, test.spec, known, needs, job.stock or Stock()))


def _seen(job: Job, damper: DamperSpec | None) -> tuple[Seen | None, InspectionRecord | None]:
    if job.inspection is None:
        return None, None
    from dampkit.outcome.inspection import read_sheet, sheet_record

    seen = read_sheet(job.inspection, damper)
    return seen, sheet_record(job.inspection, seen)


def _vehicle(needs: VehicleNeeds) -> VehicleRecord:
    from dampkit.outcome.vehicle_record import vehicle_record

    return vehicle_record(needs)
