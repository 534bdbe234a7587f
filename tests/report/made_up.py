"""Made-up results for the page: numbers chosen to look like a bench day, nothing in them was measured.

They test how a result is shown, not whether it is right.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from dampkit.outcome.result import (
    BandRecord,
    BothValves,
    CurveRecord,
    DamperRecord,
    EstimateRecord,
    EvidenceRecord,
    FaultRecord,
    LagRecord,
    LoopRecord,
    LostMotionRecord,
    PointsRecord,
    QualityRecord,
    RatioRecord,
    ReferencePoint,
    Result,
    RunRecord,
    StageRecord,
    StaticsRecord,
    StepRecord,
    ValveRecord,
    VehicleRecord,
    VerdictRecord,
)

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
        points=PointsRecord(velocity_m_s=tuple(dots), force_n=tuple(force(dots, way) + scatter)),
        bleed_area_mm2=around(3.12),
        bleed_coefficient_n_s2_m2=around(31234.0, 0.06),
        leak_coefficient_n_s_m=None,
        blowoff_force_n=around(1240.0 if way == "rebound" else 310.0),
        blowoff_velocity_m_s=around(0.2 if way == "rebound" else 0.1),
        slope_above_blowoff_n_s_m=around(650.0 if way == "rebound" else 190.0, 0.05),
        reached=("bleed", "blow-off"),
    )


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


def sound() -> Result:
    """A sound unit with a vehicle and a reference."""
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
        verdict=VerdictRecord(
            action="fit",
            reasons=(
                "Six of six forces are inside the tolerance of the known-good unit.",
                "Damping ratio at body speeds is 0.27 to 0.29, target 0.28.",
                "No fault was found.",
            ),
            next_step="Fit it with new locking hardware, tighten to the maker's data, and test the other side of the axle as well.",
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
        sentence="Oil level low: 8 mm of lost motion entering compression, at every speed.",
        evidence=(
            EvidenceRecord(
                measure="lost motion entering compression",
                value=8.02,
                unit="mm",
                limit=1.0,
                basis="common practice, no source",
            ),
            EvidenceRecord(
                measure="change with speed", value=0.04, unit="1", limit=0.2, basis="own; a void keeps its size"
            ),
        ),
        stage_index=4,
    )
    return sound().model_copy(
        update={
            "run": run(lost_mm=8.0),
            "faults": (fault,),
            "vehicle": None,
            "reference": reference(0.8),
            "verdict": VerdictRecord(
                action="rebuild",
                reasons=(
                    "Oil level low: 8 mm of lost motion entering compression, at every speed.",
                    "Six of six forces are below the tolerance of the known-good unit.",
                    "Friction is normal, so the rod and guide need not be the cause.",
                    "The lost motion did not clear within five cycles.",
                ),
                next_step="Find the leak, replace the seal, fill to the maker's level, prime with twelve full strokes, and test again.",
            ),
            "left_out": ("Damping ratio: no vehicle was given.",),
        }
    )


def unclear() -> Result:
    """Poor data: hardly anything established, nothing to compare with."""
    nothing = no_valve()
    return sound().model_copy(
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
            "verdict": VerdictRecord(
                action="retest",
                reasons=("The force channel is clipped, so the highest forces are not known.",),
                next_step="Set the force range of the bench higher and run the test again.",
            ),
            "left_out": (
                "Valve: the forces are clipped.",
                "Damping ratio: no vehicle was given.",
                "Comparison: no reference was given.",
            ),
            "sources": (),
        }
    )


def empty() -> Result:
    """No stage at all."""
    return unclear().model_copy(update={"run": run(speeds=())})


ALL = {"sound": sound, "low oil": low_oil, "unclear": unclear, "empty": empty}
