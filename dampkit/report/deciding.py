"""What was decided and what to change, for the page: tables and the picture of before and after."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from dampkit.outcome.advice_record import AdviceRecord
from dampkit.outcome.decision_record import CoursesRecord, RequirementRecord
from dampkit.outcome.measured_record import ValveRecord
from dampkit.outcome.result import Result
from dampkit.report.numbers import NOT_ESTABLISHED, Writer, brief
from dampkit.report.picture import Area, Layer, Line, Picture
from dampkit.report.pictures import FORCE_AXIS, SIGNS, SPEED_AXIS, reference_layers
from dampkit.report.tables import Table

SEVERAL = "a value for each speed"
COURSES = {
    "adjust": "Adjust",
    "rebuild": "Rebuild",
    "rechrome": "Rebuild, rod rechromed",
    "new_rod": "Rebuild, new rod",
    "sleeve": "Rebuild, bore sleeved",
    "new": "New unit",
    "exchange": "Exchange unit",
}


def advice_picture(result: Result, writer: Writer) -> Picture | None:
    """Bench reading against speed, now and after the change; None where no curve was worked out."""
    advice = result.advice
    if advice is None or not advice.curves:
        return None
    layers: list[Layer] = []
    for curve in advice.curves:
        sign, v = SIGNS[curve.direction], np.array(curve.velocity_m_s)
        low, high = sign * np.array(curve.low_n), sign * np.array(curve.high_n)
        layers.append(Area("after the change, 95 % interval", v, low, high, "need", hatched=True))
        layers.append(Line("after the change", v, sign * np.array(curve.force_n), "need", "dash"))
    layers += [*_now(result), *_window(result, advice)]
    alt = f"After the change: {_ends(advice, writer)}. The windows asked for are marked."
    title = "Bench reading against speed, now and after the change"
    return Picture("advice", title, alt, SPEED_AXIS, FORCE_AXIS, tuple(layers))


def parts_table(advice: AdviceRecord) -> Table:
    rows = tuple(
        (part.part.capitalize(), part.direction, part.do, "no" if part.irreversible else "yes") for part in advice.parts
    )
    return Table(
        "Parts to change, what can be undone first",
        ("Part", "Direction", "What to do", "Can it be undone?"),
        rows,
        prose=True,
    )


def ratios_after_table(result: Result, writer: Writer) -> Table | None:
    """Damping ratio by stage, now and after the change; None without a vehicle."""
    advice, car = result.advice, result.vehicle
    if advice is None or car is None or not advice.damping_ratios:
        return None
    now = {ratio.peak_velocity_m_s: ratio.damping_ratio for ratio in car.ratios}
    rows = tuple(
        (
            writer.given(after.peak_velocity_m_s, "m/s"),
            writer.estimate(now.get(after.peak_velocity_m_s), ""),
            writer.estimate(after.damping_ratio, ""),
        )
        for after in advice.damping_ratios
    )
    return Table(
        "Damping ratio, one mass, now and after the change (95 % interval), each at its own speed",
        ("Highest speed", "Now", "After"),
        rows,
    )


def requirements_table(result: Result, writer: Writer) -> Table | None:
    """What was asked of the unit, with three answers; None where nothing was."""
    if not result.requirements:
        return None
    rows = tuple(
        (
            r.name.capitalize(),
            r.answer,
            SEVERAL if _of_points(r) else writer.estimate(r.measured, r.unit),
            _limits(r.limit_low, r.limit_high, r.unit, writer),
        )
        for r in result.requirements
    )
    return Table("What was asked of the unit", ("Requirement", "Answer", "Measured", "Allowed"), rows, prose=True)


def sureness_table(result: Result, writer: Writer) -> Table | None:
    """How sure each answer is, and where the limit comes from; None where nothing was asked."""
    if not result.requirements:
        return None
    rows = tuple(
        (
            r.name.capitalize(),
            NOT_ESTABLISHED if r.probability is None else f"{100 * r.probability:.1f} %",
            SEVERAL
            if _of_points(r)
            else NOT_ESTABLISHED
            if r.guard_band is None
            else writer.value(r.guard_band, r.unit, 2),
            r.basis,
        )
        for r in result.requirements
    )
    head = ("Requirement", "Probability inside", "Guard band", "Where the limit comes from")
    return Table("How sure each answer is", head, rows, prose=True)


def courses_table(courses: CoursesRecord, writer: Writer) -> Table:
    unit = courses.currency
    rows = tuple(
        (
            COURSES[c.course] + (" (chosen)" if c.course == courses.chosen else ""),
            c.ruled_out or "open",
            writer.estimate(c.expected_cost, unit),
            writer.value(c.scatter, unit, 2),
            NOT_ESTABLISHED if c.warranty_months is None else f"{brief(c.warranty_months)} months",
        )
        for c in courses.courses
    )
    head = ("Course", "Open?", "Expected cost (95 % interval)", "Scatter of one job", "Warranty")
    return Table("Courses and what they cost in the long run", head, rows, prose=True)


def flips_table(courses: CoursesRecord) -> Table | None:
    if not courses.flips:
        return None
    rows = tuple(
        (f.name, brief(f.now), brief(f.breaks_even), "yes" if f.within_declared_range else "no") for f in courses.flips
    )
    head = ("Number in the cost file", "Now", "Breaks even at", "Within the declared range?")
    return Table("What would flip the choice between the two cheapest", head, rows)


def inspection_table(answers: Mapping[str, str]) -> Table:
    rows = tuple((name.replace("_", " ").capitalize(), answer) for name, answer in answers.items())
    return Table("What eyes and hands found", ("What", "Found"), rows)


def deciding_tables(result: Result, writer: Writer) -> dict[str, Table | None]:
    """All of these by name, None where the result holds nothing for one."""
    advice, courses, sheet = result.advice, result.courses, result.inspection
    return {
        "requirements": requirements_table(result, writer),
        "sureness": sureness_table(result, writer),
        "parts": parts_table(advice) if advice else None,
        "ratios_after": ratios_after_table(result, writer),
        "courses": courses_table(courses, writer) if courses else None,
        "flips": flips_table(courses) if courses else None,
        "inspection": inspection_table(sheet.answers) if sheet and sheet.answers else None,
    }


def _of_points(requirement: RequirementRecord) -> bool:
    """Made of several points, each with its own value and limits."""
    return requirement.limit_low is None and requirement.limit_high is None


def _limits(low: float | None, high: float | None, unit: str, writer: Writer) -> str:
    if low is not None and high is not None:
        return writer.between(low, high, unit)
    if high is not None:
        return f"at most {writer.given(high, unit)}"
    return SEVERAL if low is None else f"at least {writer.given(low, unit)}"


def _now(result: Result) -> list[Layer]:
    """The fitted curves with friction put back, so that they compare with bench readings; else the readings."""
    friction = result.statics.friction_force_n
    layers: list[Layer] = []
    for way, sign in SIGNS.items():
        valve: ValveRecord = getattr(result.valve, way)
        curve = valve.reading if friction is None else valve.curve
        if curve is not None:
            force = np.array(curve.force_n) + (0.0 if friction is None else friction.value)
            layers.append(Line("now", np.array(curve.velocity_m_s), sign * force, "curve"))
    return layers


def _window(result: Result, advice: AdviceRecord) -> list[Layer]:
    if advice.aim == "reference":
        return reference_layers(result, "known-good unit with its window")
    need = None if result.vehicle is None else result.vehicle.need
    if need is None:
        return []
    v = np.array(need.velocity_m_s)
    ends = [sign * np.array(getattr(need, f"{way}_{end}_n")) for way, sign in SIGNS.items() for end in ("low", "high")]
    return [Line("edges of what the vehicle needs", v, end, "reference", "dot") for end in ends]


def _ends(advice: AdviceRecord, writer: Writer) -> str:
    return ", ".join(
        f"{c.direction} {writer.drawn(c.force_n[-1], 'N')} at {writer.drawn(c.velocity_m_s[-1], 'm/s')}"
        for c in advice.curves
    )
