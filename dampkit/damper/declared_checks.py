"""What the unit's declaration and its record say of each other: an arm's length, a strut's side load, how it stands."""

from __future__ import annotations

from dampkit.bench.points import Points
from dampkit.bench.run import Quality, Run
from dampkit.damper.arm import arm_at_middle_m
from dampkit.damper.declared import DamperSpec
from dampkit.damper.kinds import facts_of
from dampkit.damper.side_load import strut_notes
from dampkit.quantities import number

SAME_ARM = 0.01  # share by which two lengths of one arm may differ; own choice


def declared_checks(record: Run | Points, spec: DamperSpec | None) -> list[Quality]:
    """A remark for each thing that the two leave open or contradict."""
    if spec is None:
        return []
    return [*strut_notes(spec.damper.duty, spec.strut), *_arm(record.arm_m, spec), *_posture(spec)]


def _posture(spec: DamperSpec) -> list[Quality]:
    """A reserve that is open to its gas draws it where the unit does not stand upright, however full it is."""
    if spec.oil is None or facts_of(spec.damper.kind).any_posture or spec.oil.vehicle_posture == "upright":
        return []
    stands = {"lying": "lies", "inverted": "stands on its head"}[spec.oil.vehicle_posture]
    text = (
        f"In the car it {stands} ([oil] vehicle_posture): a {spec.damper.kind} draws air there even when its level is right,"
        " and no test on the bench shows what is then lost at each turn. Fit one that may stand so."
    )
    return [Quality("posture_in_car", "warning", text)]


def _arm(read_at_m: float | None, spec: DamperSpec) -> list[Quality]:
    length_mm = spec.damper.arm_length_mm
    if read_at_m is None or length_mm is None:
        return []
    length_mm = 1e3 * arm_at_middle_m(1e-3 * length_mm, spec.arm)
    if abs(1e3 * read_at_m / length_mm - 1) < SAME_ARM:
        return []
    text = (
        f"The record's torques were read at an arm of {number(1e3 * read_at_m)} mm ([motion] eye_arm_mm), and the unit's arm"
        f" is {number(length_mm)} mm in mid-stroke ([damper] arm_length_mm, [arm]): forces and speeds at its end are off by that."
        " Give both one length, and leave [arm] out of a test in torque and angle."
    )
    return [Quality("arm_lengths_differ", "bad", text, "declare")]
