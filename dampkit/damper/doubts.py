"""What the fit leaves open, in plain sentences."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.bench.points import Points
from dampkit.bench.run import Quality
from dampkit.curves.loop import Curves
from dampkit.damper.declared import DamperSpec
from dampkit.damper.fit import JointFit
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Law, Unit
from dampkit.quantities import Direction

WARM_K = 15.0  # off the reference's temperature, from which it is said; common practice, no source


def doubts(joint: JointFit, curves: Curves, unit: Unit, spec: DamperSpec | None) -> tuple[Quality, ...]:
    """A remark for everything that this test does not establish about the valves."""
    laws = {side.direction: side.law for side in unit.sides if side.law is not None}
    return (
        *_statics(joint, curves, unit),
        *(q for direction, law in laws.items() for q in _of_law(direction, law)),
        *_rivals(joint),
        *_warm(unit.temperature_c, spec),
    )


def point_doubts(points: Points, unit: Unit, spec: DamperSpec | None) -> tuple[Quality, ...]:
    """As `doubts`, of a table or a hand test."""
    laws = {side.direction: side.law for side in unit.sides if side.law is not None}
    return (
        *_of_points(points, unit),
        *(q for direction, law in laws.items() for q in _of_law(direction, law)),
        *_warm(unit.temperature_c, spec),
    )


def _of_points(points: Points, unit: Unit) -> Iterator[Quality]:
    name = "table" if points.form == "table" else "test by hand"
    text = f"A {name} has no loops: lost motion, air, play, gas charge, friction by place and fade are not looked for."
    yield Quality("no_loops", "note", f"{text} Damping ratios are those of a sine with each speed as its peak.")
    if unit.sliding is None and unit.friction_force_n is None:
        yield Quality(
            "friction_open",
            "note",
            f"Friction is not established, only that it is at most {unit.friction_at_most_n or 0.0:.0f} N; {unit.friction_used_n:.0f} N"
            " were taken out for the valves' curve. A point at 5 mm/s in each direction would tell it.",
        )
    if unit.gas_force_n is None and unit.sliding is None:
        yield Quality(
            "gas_open",
            "note",
            "The forces are taken as read with the gas force out. If it is in them, add a point at 5 mm/s in each direction.",
        )
    for side in unit.sides:
        if side.reading is None:
            yield Quality("one_direction", "warning", f"The {name} has no {side.direction} forces.")


def _statics(joint: JointFit, curves: Curves, unit: Unit) -> Iterator[Quality]:
    if not joint.settled:
        text = f"The valve fit did not settle ({joint.why_not_settled}); the curve stands as measured, without coefficients."
        yield Quality("fit_not_converged", "warning", text)
    if not any(loop.peak_velocity_m_s < SLOW_M_S for loop in curves.loops):
        how = "friction is bracketed by how the loops run down to zero speed"
        if unit.friction_force_n is None:
            how = f"friction is not established, only that it is at most {unit.friction_at_most_n:.0f} N"
        yield Quality("no_slow_pass", "note", f"There is no slow pass (5 mm/s), so {how}.")
    elif unit.friction_force_n is None:
        yield Quality(
            "friction_open", "warning", "Friction is not established: the slow pass shows none above the noise."
        )
    if "delay_s" not in joint.model.free:
        text = (
            "Channel delay and moving mass cannot be separated from the spring of oil and bushes: that needs two stages"
        )
        yield Quality("delay_open", "note", text + " whose frequencies differ by half or more. They were left in.")


def _of_law(direction: Direction, law: Law) -> Iterator[Quality]:
    name = direction.capitalize()
    if law.converged and law.spare_points < 1:
        text = f"{name}: {law.point_force_n.size} points are too few for a valve law; the curve is drawn through them."
        yield Quality("as_measured", "note", text)
        return
    if not law.explained and law.converged:
        text = f"{name}: leak, bleed and blow-off leave {100 * law.leftover_ratio:.0f} % of the force over;"
        yield Quality("as_measured", "note", text + " the curve stands as measured, without coefficients.")
        return
    if law.not_told_apart:
        pairs = "; ".join(" and ".join(names) for names in law.not_told_apart)
        text = f"{name}: {pairs} cannot be separated; the forces are known, these coefficients are not given."
        yield Quality("coefficients_open", "note", text)
    if "leak" not in law.reached:
        text = f"{name}: no leak is seen beside the bleed, so no leak coefficient is given."
        yield Quality("leak_not_seen", "note", text)
    if "blow-off" not in law.reached:
        text = f"{name}: the test does not reach the blow-off; a faster stage would show it."
        yield Quality("blowoff_not_reached", "note", text)
    if law.bleed_area_mm2 is None:
        takes = "that takes the diameters of piston and rod, and a kind whose valve passes a known share of the piston."
        why = "the bleed is not seen." if law.bleed_coefficient_n_s2_m2 is None else takes
        yield Quality("bleed_area_null", "note", f"{name}: no bleed area: {why}")


def _rivals(joint: JointFit) -> Iterator[Quality]:
    for direction, rival in joint.rivals.items():
        text = f"{direction.capitalize()}: two valve settings fit about as well; the other has its blow-off at {rival:.0f} N."
        yield Quality("two_fits", "note", text + " A stage between would decide.")


def _warm(is_c: float | None, spec: DamperSpec | None) -> Iterator[Quality]:
    if is_c is None or spec is None or spec.reference is None or abs(is_c - spec.reference.temperature_c) < WARM_K:
        return
    yield Quality(
        "not_at_reference_temperature",
        "note",
        f"The unit was at about {is_c:.0f} degC; its reference holds at {spec.reference.temperature_c:.0f} degC. For that"
        " comparison its clearances were brought there by the viscosity of a usual damper oil, with a wider interval."
        " Test at the reference's temperature to be sure.",
    )
