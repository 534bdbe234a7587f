"""What the analysis said of one run of the mixed study, beside what is true of it, as plain data."""

from __future__ import annotations

from typing import Any

import numpy as np

from dampkit.outcome.measured_record import CurveRecord, ValveRecord
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.result import Result
from dampkit.quantities import Array, Direction
from dampkit.virtual.mixed import MixedCase
from dampkit.virtual.mixed_truth import StageTruth
from dampkit.virtual.truth import friction_force, hydraulic_force

NEAR = 0.15  # logarithm of the ratio up to which a reading is that of a stage

Row = dict[str, Any]


def said(result: Result, case: MixedCase) -> Row:
    friction = result.statics.friction_force_n
    return {
        "action": result.verdict.action,
        "step": result.verdict.step,
        "grounds": [[g.key, g.about] for g in result.verdict.grounds],
        "said": [[f.code, f.level, f.likelihood] for f in result.faults],
        "not_looked_for": {n.code: list(n.lacks) for n in result.not_looked_for},
        "bad": [q.code for q in result.quality if q.severity == "bad"],
        "friction": [_true_friction_n(case), *_three(friction), result.statics.friction_at_most_n],
        "gas": [-case.truth.gas_force_n, *_three(result.statics.gas_force_n)],
        "curve": _curve(result, case),
        "reading": _reading(result, case),
        "evidence": [[e.key, e.direction, round(e.value, 3), round(e.limit, 3)] for f in result.faults for e in f.evidence],
    }  # fmt: skip


def _three(estimate: EstimateRecord | None) -> list[float | None]:
    return (
        [None, None, None] if estimate is None else [round(x, 2) for x in (estimate.value, estimate.low, estimate.high)]
    )


def _true_friction_n(case: MixedCase) -> float:
    """Sliding friction; of a friction damper the mean over its stages, which is what its figure stands for."""
    if case.plant.has_oil:
        return case.truth.friction_n
    speeds = np.array([0.9 * s.peak_velocity_m_s[0] for s in case.truth.stages])
    return float(friction_force(case.plant, speeds).mean())


def _curve(result: Result, case: MixedCase) -> list[int]:
    """How many true forces of oil lie within the curve's band, at the tested speeds and the mean temperature; of how many."""
    stages = _tested(case)
    celsius = float(np.mean([s.temperature_c for s in stages])) if stages else 0.0
    inside = list[bool]()
    for i, (side, valve) in enumerate(_valves(result)):
        v = np.array([s.peak_velocity_m_s[i] for s in stages])
        if valve.curve is not None and v.size:
            v = v[v <= 1.02 * valve.curve.velocity_m_s[-1]]
            inside += _within(valve.curve, v, hydraulic_force(case.plant, side, v, celsius))
    return [sum(inside), len(inside)]


def _reading(result: Result, case: MixedCase) -> list[int]:
    """The same of the readings, each at its own speed and the temperature of its stage, friction in."""
    inside = list[bool]()
    for i, (side, valve) in enumerate(_valves(result)):
        read = valve.reading
        for stage in _tested(case) if read is not None else ():
            assert read is not None
            speeds = np.array(read.velocity_m_s)
            v = speeds[[int(np.argmin(np.abs(np.log(speeds / stage.peak_velocity_m_s[i]))))]]
            if abs(np.log(v[0] / stage.peak_velocity_m_s[i])) < NEAR:
                true = hydraulic_force(case.plant, side, v, stage.temperature_c) + friction_force(case.plant, v)
                inside += _within(read, v, true)
    return [sum(inside), len(inside)]


def _tested(case: MixedCase) -> list[StageTruth]:
    """Stages of one speed each, the first where a speed was run again."""
    kept = list[StageTruth]()
    for stage in case.truth.stages:
        ratios = [abs(np.log(stage.peak_velocity_m_s[0] / k.peak_velocity_m_s[0])) for k in kept]
        if not stage.is_sweep and min(ratios, default=1.0) > NEAR:
            kept.append(stage)
    return kept


def _valves(result: Result) -> tuple[tuple[Direction, ValveRecord], ...]:
    return ("rebound", result.valve.rebound), ("compression", result.valve.compression)


def _within(band: CurveRecord, speeds: Array, true_n: Array) -> list[bool]:
    low, high = (np.interp(speeds, band.velocity_m_s, side) for side in (band.low_n, band.high_n))
    return [bool(x) for x in (low <= true_n) & (true_n <= high)]
