"""The part of the result that only some kinds have: torque at a shaft, a friction damper's setting, a strut's side load."""

from typing import Annotated, Any

import numpy as np

from dampkit.bench.described import described
from dampkit.damper.arm import arm_at_middle_m, swing
from dampkit.damper.unit import Side
from dampkit.faults.diagnose import Diagnosis
from dampkit.faults.discs import STICK_LIMIT
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.record import Columns, EstimateRecord, Numbers, Record, example_of
from dampkit.quantities import DIRECTIONS

PLACES = 11  # over the stroke


class TorqueRecord(Columns):
    """The bench's reading as torque at the shaft, friction in and gas out, positive magnitudes, 95 %."""

    angular_velocity_rad_s: Annotated[Numbers, described("Angular speed of the shaft.", [0.3, 0.6])]
    torque_nm: Annotated[Numbers, described("Torque at each speed.", [10.0, 33.0])]
    low_nm: Annotated[Numbers, described("Lower end of the 95 % interval.", [9.7, 32.0])]
    high_nm: Annotated[Numbers, described("Upper end of the 95 % interval.", [10.3, 34.0])]


class SwingRecord(Columns):
    """Over the travel from the middle of the stroke, extension positive: the arm's angle from square to the pull, and the
    arm that turns force at its end into torque. Places beyond its reach are left out."""

    travel_m: Annotated[Numbers, described("Travel of the arm's end from the middle of the stroke.", [-0.02, 0.02])]
    angle_rad: Annotated[Numbers, described("Angle of the arm from square to the pull.", [-0.12, 0.12])]
    arm_m: Annotated[Numbers, described("Arm that turns force into torque there.", [0.158, 0.159])]


class ArmRecord(Record):
    """Of a unit with an arm of known length: its torque at the shaft. `swing` is null without a known stroke."""

    length_m: Annotated[float, described("Pivot to the arm's end.", 0.16)]
    arm_m: Annotated[float, described("What turns force into torque in mid-stroke.", 0.158)]
    swing: SwingRecord | None
    rebound: TorqueRecord | None
    compression: TorqueRecord | None
    friction_nm: Annotated[EstimateRecord | None, described("Friction at the shaft.", example_of(2.2, 2.0, 2.4))]


class BalanceRecord(Record):
    """A friction damper, as a spring balance at its arm's end reads it."""

    starts_n: Annotated[float | None, described("Force that starts it; null without a slow pass.", 230.0)]
    slides_n: Annotated[EstimateRecord, described("Force that keeps it moving.", example_of(210.0, 205.0, 215.0))]
    wanted_n: Annotated[float | None, described("Force that it should slide at, by its reference.", 210.0)]
    start_limit_ratio: Annotated[float, described("The most that a sound one starts at, over what it slides at.", 1.3)]


class StrutRecord(Record):
    """What presses on a strut's rod in this test, and what guide and piston carry of it; None without the lengths."""

    side_load_n: Annotated[float, described("Load across the rod.", 600.0)]
    on_guide_n: Annotated[float | None, described("What the guide carries of it.", 884.0)]
    on_piston_n: Annotated[float | None, described("What the piston carries of it.", 284.0)]


def of_kind(test: UnderTest, diagnosis: Diagnosis) -> dict[str, Any]:
    """The three by their names in the result; None where the kind has none."""
    return {"arm": arm_record(test), "balance": balance_record(test, diagnosis), "strut": strut_record(test)}


def arm_record(test: UnderTest) -> ArmRecord | None:
    """None of a kind without an arm, or without its length. Source: M = F dx/dphi; see `damper/arm.py`."""
    spec, read_at_m = test.spec, test.record.arm_m
    declared_mm = None if spec is None else spec.damper.arm_length_mm
    length_m = read_at_m if read_at_m is not None else None if declared_mm is None else 1e-3 * declared_mm
    if not test.facts.arm or spec is None or length_m is None:
        return None
    stand = None if read_at_m is not None else spec.arm  # a record in torque has its forces along the arc already
    arm_m, stroke_m = arm_at_middle_m(length_m, stand), _stroke_m(test)
    over = None
    if stroke_m is not None:
        turned = swing(length_m, stand, np.linspace(-0.5 * stroke_m, 0.5 * stroke_m, PLACES))
        told = np.isfinite(turned.arm_m)
        columns = (turned.travel_m, turned.angle_rad, turned.arm_m)
        over = SwingRecord(**dict(zip(SwingRecord.model_fields, (c[told] for c in columns), strict=True)))
    friction = test.unit.friction_force_n
    rebound, compression = (_torque(test.unit.side(d), arm_m) for d in DIRECTIONS)
    return ArmRecord(
        length_m=length_m,
        arm_m=arm_m,
        swing=over,
        rebound=rebound,
        compression=compression,
        friction_nm=friction and friction.scaled(arm_m),
    )


def balance_record(test: UnderTest, diagnosis: Diagnosis) -> BalanceRecord | None:
    """None of a unit with oil. Its reference is one force: of both directions and all speeds, as friction has neither."""
    slides = test.unit.friction_force_n
    if test.facts.oil or slides is None:
        return None
    ratio = next((m.value for m in diagnosis.measures if m.key == "breakaway"), None)
    wanted = [p.wanted_n for p in test.compared]
    return BalanceRecord(
        starts_n=None if ratio is None else ratio * slides.value,
        slides_n=slides,
        wanted_n=float(np.mean(wanted)) if wanted else None,
        start_limit_ratio=STICK_LIMIT,
    )


def strut_record(test: UnderTest) -> StrutRecord | None:
    strut = None if test.spec is None else test.spec.strut
    if strut is None:
        return None
    guide, piston = strut.carried_n or (None, None)
    return StrutRecord(side_load_n=strut.side_load_n, on_guide_n=guide, on_piston_n=piston)


def _stroke_m(test: UnderTest) -> float | None:
    """The longest one tested."""
    return max((loop.stage.stroke_m for loop in test.loops), default=getattr(test.record, "stroke_m", None))


def _torque(side: Side, arm_m: float) -> TorqueRecord | None:
    read = side.reading
    if read is None:
        return None
    columns = (read.velocity_m_s / arm_m, read.force_n * arm_m, read.low_n * arm_m, read.high_n * arm_m)
    return TorqueRecord(**dict(zip(TorqueRecord.model_fields, columns, strict=True)))
