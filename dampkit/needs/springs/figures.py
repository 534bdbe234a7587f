"""The figures of one spring under a load, named, with what limits them."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.frozen import frozen
from dampkit.needs.springs.declared import (
    MM_PER_M,
    AnySpring,
    Leaf,
    Measured,
    Parallel,
    Series,
    Single,
    at_wheel,
    friction_n,
    loads_at_wheel_n,
)
from dampkit.needs.springs.measured import MeasuredSpring
from dampkit.quantities import Estimate

CAUTION = "a sanity figure: no fatigue, shock, rust or tolerance in it, so nothing to release a spring on"


@frozen
class Fact:
    """`group` is a heading; `unit` is "" for a plain number; `basis` where it comes from, and its limits."""

    group: str
    what: str
    value: float
    unit: str
    basis: str


def spring_facts(spec: AnySpring, wheel_load_n: float) -> Iterator[Fact]:
    """Of the spring, or of each of several, and what they are together; the load is what the wheel's spring carries.

    Source: the relations named in leaf, coil, torsion and declared.
    """
    if isinstance(spec, Parallel):
        for number, (one, load) in enumerate(zip(spec.springs, loads_at_wheel_n(spec, wheel_load_n), strict=True), 1):
            group = f"Spring {number} of {len(spec.springs)}, side by side"
            yield from _one(one, load / one.motion_ratio, group, "its share by rate, as if all were slack together")
        basis = "sum of all, each times the square of its own motion ratio"
    elif isinstance(spec, Series):
        for number, one in enumerate(spec.springs, 1):
            group = f"Spring {number} of {len(spec.springs)}, one on the other"
            yield from _one(one, wheel_load_n / spec.motion_ratio, group, "each carries the whole load")
        basis = f"all in series times the square of the motion ratio {spec.motion_ratio:g}"
    else:
        yield from _one(spec, wheel_load_n / spec.motion_ratio, "Spring", "at ride height")
        basis = f"rate times the square of the motion ratio {spec.motion_ratio:g}"
    rate, friction = at_wheel(spec, wheel_load_n)
    yield Fact("Spring", "Wheel rate", rate / MM_PER_M, "N/mm", basis)
    if friction > 0:
        yield Fact("Spring", "Friction at the wheel", friction, "N", "friction of the spring times its motion ratio")


def _one(spec: Single, load_n: float, group: str, load_basis: str) -> Iterator[Fact]:
    """`load_n` is what the spring itself carries."""
    yield Fact(group, "Load on the spring", load_n, "N", load_basis)
    made = "as declared" if isinstance(spec, Measured) else f"{spec.kind}, from its sizes"
    yield Fact(group, "Rate under that load", spec.rate_n_m(load_n) / MM_PER_M, "N/mm", made)
    if isinstance(spec, Leaf):
        yield from _leaf(spec, load_n, group)
    elif not isinstance(spec, Measured):
        yield Fact(group, "Shear stress", spec.stress_pa(load_n) / 1e6, "MPa", f"at the surface; {CAUTION}")
    friction = friction_n(spec, load_n)
    if friction > 0:
        basis = "as declared" if isinstance(spec, Measured) else "rubbing at the leaf tips; a measured loop replaces it"
        yield Fact(group, "Friction, half of the load loop", friction, "N", basis)


def _leaf(spec: Leaf, load_n: float, group: str) -> Iterator[Fact]:
    leaf = spec.spring()
    down = MM_PER_M * leaf.deflection_m(load_n)
    yield Fact(group, "Deflection", down, "mm", "shackle, helper and friction left out")
    if leaf.free_camber_m > 0:
        camber = MM_PER_M * leaf.loaded_camber_m(load_n)
        yield Fact(group, "Camber under load", camber, "mm", "free camber less deflection")
        if spec.measured_camber_mm is not None:
            sag = MM_PER_M * leaf.sag_m(load_n, spec.measured_camber_mm / MM_PER_M)
            basis = "camber under load less the measured one; friction can hold it either way, so settle it first"
            yield Fact(group, "Sag", sag, "mm", basis)
    full, graduated = leaf.stress_pa(load_n)
    if leaf.full_length_count:
        yield Fact(
            group, "Bending stress, full-length leaves", full / 1e6, "MPa", f"at the clamp, without nip; {CAUTION}"
        )
    if leaf.graduated_count:
        basis = f"at the clamp, without nip; {CAUTION}"
        yield Fact(group, "Bending stress, graduated leaves", graduated / 1e6, "MPa", basis)


def measured_facts(spring: MeasuredSpring) -> Iterator[Fact]:
    group = "Spring as measured"
    yield Fact(group, "Load at ride height", spring.load_n, "N", "declared")
    yield Fact(group, "Deflection there", MM_PER_M * spring.deflection_m, "mm", "on the log's own zero")
    yield Fact(group, "Rate", spring.rate_n_m.value / MM_PER_M, "N/mm", _between(spring.rate_n_m.scaled(1 / MM_PER_M)))
    if spring.friction_n is not None:
        yield Fact(group, "Friction, half of the load loop", spring.friction_n.value, "N", _between(spring.friction_n))


def _between(estimate: Estimate) -> str:
    return f"95 % interval {estimate.low:.4g} to {estimate.high:.4g}, scatter about a straight line"
