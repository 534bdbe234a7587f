"""Made-up results for the page: numbers chosen to look like a bench day, nothing in them was measured.

They test how a result is shown, not whether it is right.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from dampkit.outcome.decision_record import (
    Action,
    CoverageRecord,
    EvidenceRecord,
    FaultRecord,
    GroundRecord,
    NotLookedForRecord,
    ReferencePoint,
    SpanRecord,
    VerdictRecord,
)
from dampkit.outcome.measured_record import (
    BothValves,
    CurveRecord,
    LagRecord,
    LoopRecord,
    LostMotionRecord,
    PointsRecord,
    QualityRecord,
    RunRecord,
    StageRecord,
    StaticsRecord,
    StepRecord,
    ValveRecord,
)
from dampkit.outcome.need_record import BandRecord, RatioRecord, VehicleRecord
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.result import DamperRecord, Result
from dampkit.report.sentences import worded

SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
Way = Literal["rebound", "compression"]


def around(value: float, part: float = 0.02) -> EstimateRecord:
    return EstimateRecord(value=value, low=value * (1 - part), high=value * (1 + part))


def force(speed: np.ndarray[Any, np.dtype[np.float64]], way: Way) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Square law up to a knee, a straight line above it."""
    knee, at_knee, slope = (0.2, 1240.0, 650.0) if way == "rebound" else (0.1, 310.0, 190.0)
    return np.where(speed < knee, at_knee * (speed / knee) ** 2, at_knee + slope * (speed - knee))


def valve(way: Way) -> ValveRecord:
    v, dots = np.linspace(0.0, 1.0, 61), np.repeat(SPEEDS_M_S, 20)
    curve, scatter = force(v, way), 8.0 * np.sin(np.arange(dots.size))
    return ValveRecord(
        curve=CurveRecord(
            velocity_m_s=tuple(v), force_n=tuple(curve), low_n=tuple(0.97 * curve), high_n=tuple(1.03 * curve)
        ),
        reading=reading(way),
        law="explained",
        points=PointsRecord(velocity_m_s=tuple(dots), force_n=tuple(force(dots, way) + scatter)),
        bleed_area_mm2=around(3.12),
        bleed_coefficient_n_s2_m2=around(31234.0, 0.06),
        leak_coefficient_n_s_m=None,
        blowoff_force_n=around(1240.0 if way == "rebound" else 310.0),
        blowoff_velocity_m_s=around(0.2 if way == "rebound" else 0.1),
        slope_above_blowoff_n_s_m=around(650.0 if way == "rebound" else 190.0, 0.05),
        reached=("bleed", "blow-off"),
    )


def reading(way: Way) -> CurveRecord:
    """The bench's readings at the tested speeds: the valve's force with 25 N of friction in it."""
    read = force(np.array(SPEEDS_M_S), way) + 25.0
    return CurveRecord(
        velocity_m_s=SPEEDS_M_S, force_n=tuple(read), low_n=tuple(0.99 * read), high_n=tuple(1.01 * read)
    )


def as_measured(way: Way) -> ValveRecord:
    """A curve that no law of leak, bleed and blow-off explains."""
    plain = valve(way).model_dump()
    named = {name: None for name in plain if name.startswith(("bleed", "leak", "blowoff", "slope"))}
    return ValveRecord.model_validate({**plain, **named, "law": "as measured"})


def coverage(answer: str = "in", against: str | None = "reference") -> tuple[CoverageRecord, ...]:
    """All five pieces of both directions; the slow pass is never compared, the top of compression not tested."""
    cuts = (0.0, 0.02, 0.15, 0.25, 0.7, 1.02)
    pieces = ("slow pass", "below the knee", "knee", "above the knee", "top")
    made = []
    for way in ("rebound", "compression"):
        for n, piece in enumerate(pieces):
            lacking = {
                ("rebound", 0): "not compared",
                ("compression", 0): "not compared",
                ("compression", 4): "not tested",
            }
            said = lacking.get((way, n), answer)
            made.append(
                CoverageRecord.model_validate(
                    {"direction": way, "piece": piece, "from_velocity_m_s": cuts[n], "to_velocity_m_s": cuts[n + 1],
                     "answer": said, "against": against if said == answer else None}
                )
            )  # fmt: skip
    return tuple(made)


def no_valve() -> ValveRecord:
    names = set(ValveRecord.model_fields) - {"reached"}
    return ValveRecord.model_validate({**dict.fromkeys(names), "reached": ()})


def stage(index: int, speed: float, lost_mm: float = 0.0, temperature_c: float | None = 24.0) -> StageRecord:
    angle = np.linspace(0, 2 * np.pi, 128, endpoint=False)
    x, v = 25.0 * np.sin(angle), speed * np.cos(angle)
    f = np.where(v > 0, force(np.abs(v), "rebound") + 25.0, -force(np.abs(v), "compression") - 25.0) - 20.0
    f = np.where((v < 0) & (x > 25.0 - lost_mm), -45.0, f)
    return StageRecord(
        index=index,
        peak_velocity_m_s=speed,
        stroke_m=0.05,
        frequency_hz=speed / (np.pi * 0.05),
        cycles=5,
        temperature_c=temperature_c,
        rebound_peak_force_n=float(f.max()),
        compression_peak_force_n=float(-f.min()),
        energy_per_cycle_j=float(np.abs(f * v).mean() * np.pi * 0.05 / speed),
        equivalent_damping_n_s_m=float(np.abs(f).max() / speed),
        loop=LoopRecord(displacement_mm=tuple(x), velocity_m_s=tuple(v), force_n=tuple(f)),
    )


def run(lost_mm: float = 0.0, speeds: tuple[float, ...] = SPEEDS_M_S) -> RunRecord:
    return RunRecord(
        file="bench-day.csv",
        sha256="0" * 64,
        rows_read=68012,
        rows_used=68000,
        stages=tuple(stage(n, speed, lost_mm) for n, speed in enumerate(speeds)),
        history=(
            StepRecord(what="units", why="the header names N and mm", settings={"force": "N", "displacement": "mm"}),
            StepRecord(what="zero taken off", why="declared in the bench file", settings={"force_n": 2.0}),
        ),
    )


def vehicle() -> VehicleRecord:
    v = np.linspace(0.0, 1.5, 31)
    line = {"rebound": 2600.0 * v, "compression": 1100.0 * v}
    ends = {
        f"{way}_{end}": tuple(part * y)
        for way, y in line.items()
        for end, part in (("n", 1), ("low_n", 0.6), ("high_n", 1.4))
    }
    ratios = tuple(
        RatioRecord(
            peak_velocity_m_s=s,
            damping_ratio=around(0.2 + 0.1 / (1 + 5 * s)),
            rebound_ratio=0.4,
            compression_ratio=0.14,
        )
        for s in SPEEDS_M_S
    )
    return VehicleRecord(
        name="made-up estate car, rear",
        critical_damping_n_s_m=6753.0,
        body_frequency_hz=1.31,
        wheel_frequency_hz=11.8,
        static_deflection_mm=124.2,
        target_damping_ratio=0.28,
        ratios=ratios,
        need=BandRecord(
            velocity_m_s=tuple(v), **ends, basis="target damping ratio with 20 % either way; common practice, no source"
        ),
    )


def reference(part: float = 1.0) -> tuple[ReferencePoint, ...]:
    points = []
    for way in ("rebound", "compression"):
        for speed in (0.1, 0.3, 0.5):
            good = float(force(np.array(speed), way)) + 25.0
            measured, half = good * part, max(0.15 * good, 25.0)
            points.append(
                ReferencePoint(
                    direction=way,
                    velocity_m_s=speed,
                    measured_n=measured,
                    measured_low_n=0.98 * measured,
                    measured_high_n=1.02 * measured,
                    reference_n=good,
                    low_n=good - half,
                    high_n=good + half,
                    answer="in" if abs(measured - good) < 0.8 * half else "out",
                )
            )
    return tuple(points)


def verdict(action: Action, step: str, *grounds: GroundRecord) -> VerdictRecord:
    return VerdictRecord(action=action, reasons=(), next_step="", grounds=grounds, step=step)


def sound() -> Result:
    """A sound unit with a vehicle and a reference."""
    return worded(_sound())


def _sound() -> Result:
    return Result(
        version="0.1.0",
        damper=DamperRecord(
            serial="A-1042", kind="twin-tube", piston_diameter_mm=27.0, rod_diameter_mm=12.4, oil_density_kg_m3=860.0
        ),
        run=run(),
        quality=(QualityRecord(code="resolution", severity="note", message="Force was logged in steps of 0.5 N."),),
        statics=StaticsRecord(gas_force_n=around(48.0, 0.1), friction_force_n=around(25.0, 0.1)),
        valve=BothValves(rebound=valve("rebound"), compression=valve("compression")),
        lag=LagRecord(
            lost_motion_mm=LostMotionRecord(rebound=around(0.05, 0.9), compression=around(0.06, 0.9)),
            series_stiffness_n_m=around(2.43e6, 0.08),
            channel_delay_s=around(0.0006, 0.3),
        ),
        faults=(),
        vehicle=vehicle(),
        reference=reference(),
        coverage=coverage(),
        not_looked_for=(NotLookedForRecord(code="fade", lacks=("repeat",), needs=""),),
        verdict=verdict(
            "fit",
            "fit",
            GroundRecord(key="reference_in", figures={"count": 6.0}),
            GroundRecord(key="ratio_in", figures={"ratio": 0.28, "low": 0.22, "high": 0.34}),
            GroundRecord(key="no_fault"),
        ),
        left_out=(),
        sources=("merritt1967", "jcgm106"),
    )


def low_oil() -> Result:
    """A unit with lost motion entering compression; a reference, no vehicle."""
    fault = FaultRecord(
        code="low_oil",
        level="found",
        likelihood=0.96,
        sentence="",
        evidence=(
            late(8.02),
            EvidenceRecord(key="warming", measure="", value=0.4, unit="K", limit=2.0, basis="statistical"),
        ),
        stage_index=4,
        direction="compression",
    )
    made = _sound().model_copy(
        update={
            "run": run(lost_mm=8.0),
            "faults": (fault,),
            "vehicle": None,
            "reference": reference(0.8),
            "coverage": coverage("out"),
            "verdict": verdict(
                "rebuild", "remedy:low_oil", GroundRecord(key="fault", about="low_oil"), *map(outside, (0.1, 0.3, 0.5))
            ),
            "left_out": ("Damping ratio: no vehicle was given.",),
        }
    )
    return worded(made)


def late(value_mm: float, after: Way = "compression") -> EvidenceRecord:
    return EvidenceRecord(
        key="late", measure="", value=value_mm, unit="mm", limit=3.0, basis="common practice", direction=after,
        low=value_mm - 0.4, high=value_mm + 0.4, stage_index=4,
        spans=(SpanRecord(after=after, length_m=1e-3 * value_mm),),
    )  # fmt: skip


def outside(speed: float) -> GroundRecord:
    """Rebound of `reference(0.8)` at one of its speeds."""
    point = next(p for p in reference(0.8) if p.velocity_m_s == speed and p.direction == "rebound")
    figures = {
        "velocity_m_s": speed,
        "measured_n": point.measured_n or 0.0,
        "low_n": point.low_n,
        "high_n": point.high_n,
    }
    return GroundRecord(key="reference_out", direction="rebound", figures=figures)


def suspected() -> Result:
    """A suspicion, friction not established, a curve without a law; no advice before the suspicion is cleared."""
    measure = EvidenceRecord(key="late_clears", measure="", value=1.4, unit="mm", limit=1.0, basis="common practice",
                             direction="compression", stage_index=0)  # fmt: skip
    fault = FaultRecord(code="trapped_air", level="suspected", likelihood=0.61, sentence="", evidence=(measure,),
                        stage_index=0, direction="compression")  # fmt: skip
    made = _sound().model_copy(
        update={
            "faults": (fault,),
            "statics": StaticsRecord(gas_force_n=None, friction_force_n=None, friction_at_most_n=31.0),
            "valve": BothValves(rebound=as_measured("rebound"), compression=as_measured("compression")),
            "coverage": coverage("not established"),
            "verdict": verdict("retest", "look_into:trapped_air", GroundRecord(key="suspected", about="trapped_air")),
        }
    )  # fmt: skip
    return worded(made)


def undecided() -> Result:
    """A sound log with neither reference nor vehicle."""
    made = _sound().model_copy(
        update={
            "vehicle": None,
            "reference": None,
            "coverage": coverage("not compared", None),
            "not_looked_for": tuple(
                NotLookedForRecord(code=code, lacks=("reference",), needs="")
                for code in ("internal_leak", "weak_blowoff")
            ),
            "verdict": verdict(
                "undecided",
                "give_reference_or_car",
                GroundRecord(key="nothing_to_compare"),
                GroundRecord(key="no_fault"),
            ),
        }
    )
    return worded(made)


def unclear() -> Result:
    """Poor data: hardly anything established, nothing to compare with."""
    nothing = no_valve()
    made = _sound().model_copy(
        update={
            "damper": DamperRecord(
                serial=None, kind=None, piston_diameter_mm=None, rod_diameter_mm=None, oil_density_kg_m3=None
            ),
            "run": run(speeds=(0.02, 0.05)).model_copy(update={"history": ()}),
            "quality": (
                QualityRecord(
                    code="zero_unknown",
                    severity="warning",
                    message="The reading with nothing fitted is not known, so gas force and zero cannot be told apart.",
                ),
                QualityRecord(
                    code="clipped",
                    severity="bad",
                    message="The force channel is clipped at 500 N for 31 % of the rows.",
                ),
                QualityRecord(code="no_temperature", severity="note", message="No temperature was logged."),
            ),
            "statics": StaticsRecord(gas_force_n=None, friction_force_n=None),
            "valve": BothValves(rebound=nothing, compression=nothing),
            "lag": LagRecord(
                lost_motion_mm=LostMotionRecord(rebound=None, compression=None),
                series_stiffness_n_m=None,
                channel_delay_s=None,
            ),
            "vehicle": None,
            "reference": None,
            "coverage": (),
            "not_looked_for": (),
            "verdict": verdict("retest", "data", GroundRecord(key="data", about="clipped")),
            "left_out": (
                "Valve: the forces are clipped.",
                "Damping ratio: no vehicle was given.",
                "Comparison: no reference was given.",
            ),
            "sources": (),
        }
    )
    return worded(made)


def empty() -> Result:
    """No stage at all."""
    return unclear().model_copy(update={"run": run(speeds=())})


ALL = {
    "sound": sound,
    "low oil": low_oil,
    "suspected": suspected,
    "undecided": undecided,
    "unclear": unclear,
    "empty": empty,
}
