"""The figures of one spring under a load, named, with what limits them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from dampkit.needs.springs.declared import MM_PER_M, Coil, Leaf, Torsion, at_wheel
from dampkit.needs.springs.measured import MeasuredSpring
from dampkit.quantities import Estimate

CAUTION = "a sanity figure: no fatigue, shock, rust or tolerance in it, so nothing to release a spring on"


@dataclass(frozen=True)
class Fact:
    """`group` is a heading; `unit` is "" for a plain number; `basis` where it comes from, and its limits."""

    group: str
    what: str
    value: float
    unit: str
    basis: str


def spring_facts(spec: Leaf | Coil | Torsion, load_n: float) -> Iterator[Fact]:
    """`load_n` is what the spring itself carries. Source: the relations named in leaf, coil and torsion."""
    group = "Spring"
    rate, friction = spec.rate_n_m(load_n), spec.friction_n(load_n)
    yield Fact(group, "Load on the spring", load_n, "N", "at ride height")
    yield Fact(group, "Rate under that load", rate / MM_PER_M, "N/mm", f"{spec.kind}, from its sizes")
    if isinstance(spec, Leaf):
        leaf = spec.spring()
        yield Fact(
            group, "Deflection", MM_PER_M * leaf.deflection_m(load_n), "mm", "shackle, helper and friction left out"
        )
        if leaf.free_camber_m > 0:
            yield Fact(
                group, "Camber under load", MM_PER_M * leaf.loaded_camber_m(load_n), "mm", "free camber less deflection"
            )
        full, graduated = leaf.stress_pa(load_n)
        yield Fact(
            group, "Bending stress, full-length leaves", full / 1e6, "MPa", f"at the clamp, without nip; {CAUTION}"
        )
        yield Fact(
            group, "Bending stress, graduated leaves", graduated / 1e6, "MPa", f"at the clamp, without nip; {CAUTION}"
        )
    else:
        yield Fact(group, "Shear stress", spec.stress_pa(load_n) / 1e6, "MPa", f"at the surface; {CAUTION}")
    if friction > 0:
        yield Fact(
            group,
            "Friction, half of the load loop",
            friction,
            "N",
            "rubbing at the leaf tips; a measured loop replaces it",
        )
    at = at_wheel(spec, load_n * spec.motion_ratio)
    yield Fact(
        group,
        "Wheel rate",
        at[0] / MM_PER_M,
        "N/mm",
        f"rate times the square of the motion ratio {spec.motion_ratio:g}",
    )
    if at[1] > 0:
        yield Fact(group, "Friction at the wheel", at[1], "N", f"friction times the motion ratio {spec.motion_ratio:g}")


def measured_facts(spring: MeasuredSpring) -> Iterator[Fact]:
    group = "Spring as measured"
    yield Fact(group, "Load at ride height", spring.load_n, "N", "declared")
    yield Fact(group, "Deflection there", MM_PER_M * spring.deflection_m, "mm", "on the log's own zero")
    yield Fact(group, "Rate", spring.rate_n_m.value / MM_PER_M, "N/mm", _between(spring.rate_n_m.scaled(1 / MM_PER_M)))
    if spring.friction_n is not None:
        yield Fact(group, "Friction, half of the load loop", spring.friction_n.value, "N", _between(spring.friction_n))


def _between(estimate: Estimate) -> str:
    return f"95 % interval {estimate.low:.4g} to {estimate.high:.4g}, scatter about a straight line"
