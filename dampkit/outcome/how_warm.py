"""Temperature in the result: values only, no sentences."""

from __future__ import annotations

from dampkit.damper.heat import BODY_J_K, ROOM_C
from dampkit.damper.warmth import WIDE_K, brought_to
from dampkit.faults.fade import Loss, force_lost, loss_of_work
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.measured_record import (
    AtTemperatureRecord,
    FadeRecord,
    StageWarmthRecord,
    WarmthRecord,
    WarmUpStepRecord,
)
from dampkit.quantities import Estimate

PRACTICE = "common practice, no source"
LEAST_RISE = 3.0  # standard uncertainties of a rise, from which a loss per kelvin is given; own choice
PRIME_STROKES = 12  # common practice, no source
WARM_AT_M_S = 0.3  # peak speed that warms without heat of its own in one place; common practice, no source
SPECIMEN_K = 2.0  # 20 +/- 2 degC of the specimen: [qct545] 1.3.1
SETTLES_S = 120.0  # until body and oil are alike; common practice, no source
CAP_C = 80.0  # of the body, where a bench is stopped; common practice, no source


def warmth_record(test: UnderTest) -> WarmthRecord | None:
    """None of a table, a hand test and a friction damper."""
    unit, heat = test.unit, test.unit.heat
    if heat is None or unit.sliding is not None:
        return None
    reference = None if test.spec is None else test.spec.reference
    to_c = ROOM_C if reference is None else reference.temperature_c
    at = brought_to(unit, to_c, estimated=True)
    wide = unit.temperature_span_k > WIDE_K
    stages = tuple(
        StageWarmthRecord(index=i, oil_temperature_c=Estimate.from_standard_error(*heat.of_stage(i)))
        for i in range(len(heat.stages))
    )
    forces = tuple(
        AtTemperatureRecord.of(side.reading, direction=side.direction)
        for side in at.sides
        if side.reading is not None and side.law is not None
    )
    loss = loss_of_work(unit, test.moving)
    return WarmthRecord(
        temperature="measured" if heat.measured else "estimated from work",
        oil="declared" if unit.oil.declared else "usual",
        stages=stages,
        reference_temperature_c=to_c,
        at_reference_temperature=forces,
        left_as_read=wide,
        fade=None if loss is None else _fade(test, loss),
        warm_up=_warm_up(test, to_c) if wide or not heat.measured else (),
    )


def _fade(test: UnderTest, loss: Loss) -> FadeRecord | None:
    """Per kelvin, where the oil surely warmed."""
    rise, error = loss.rise_k
    if rise <= LEAST_RISE * error:
        return None

    def per_k(value: float, unsure: float) -> Estimate:
        return Estimate.from_standard_error(
            value / rise, ((unsure / rise) ** 2 + (value * error / rise**2) ** 2) ** 0.5
        )

    first, last = loss.warmings[0], loss.warmings[-1]
    force = force_lost(test.unit, loss)
    return FadeRecord(
        from_c=first.from_c,
        to_c=last.to_c,
        work_percent_k=per_k(-100 * loss.share, 100 * loss.uncertainty),
        expected_work_percent_k=per_k(-100 * loss.expected_share, 100 * loss.expected_uncertainty),
        force_n_k=None if force is None else per_k(-force.lost_n, force.error_n),
        expected_force_n_k=None if force is None else per_k(-force.expected_n, force.expected_error_n),
        velocity_m_s=None if force is None else first.loop.peak_velocity_m_s,
    )


def _warm_up(test: UnderTest, to_c: float) -> tuple[WarmUpStepRecord, ...]:
    """Prime, bring to temperature, let body and oil become alike, run each speed short and no hotter than the cap."""
    loop = min(test.moving, key=lambda x: abs(x.peak_velocity_m_s - WARM_AT_M_S), default=None)
    cycles, speed = None, WARM_AT_M_S
    if loop is not None and float(loop.energy_j.mean()) > 0:
        speed = loop.peak_velocity_m_s
        declared = None if test.spec is None else test.spec.damper.heat_capacity_j_k
        low, high = BODY_J_K if declared is None else (declared, declared)
        work = float(loop.energy_j.mean())
        cycles = Estimate(0.5 * (low + high) / work, low / work, high / work)
    return (
        WarmUpStepRecord(action="prime", strokes=PRIME_STROKES, basis=PRACTICE),
        WarmUpStepRecord(
            action="warm", velocity_m_s=speed, temperature_c=to_c, tolerance_k=SPECIMEN_K, cycles_per_k=cycles, basis="QC/T 545-1999, 1.3.1, for 20 degC within 2 K; the rest " + PRACTICE,
        ),
        WarmUpStepRecord(action="rest", wait_s=SETTLES_S, basis=PRACTICE),
        WarmUpStepRecord(action="run", temperature_c=to_c, tolerance_k=WIDE_K, basis=PRACTICE),
        WarmUpStepRecord(action="stop", temperature_c=CAP_C, basis=PRACTICE),
    )  # fmt: skip
