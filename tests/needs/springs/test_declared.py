"""The [spring] table gives the wheel rate that the formulas give, in the units a person writes."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from dampkit.needs.springs.declared import Coil, Leaf, SpringSpec, Torsion, at_wheel

SPEC: TypeAdapter[Leaf | Coil | Torsion] = TypeAdapter(SpringSpec)
LEAF = {
    "kind": "leaf",
    "span_mm": 1200.0,
    "width_mm": 60.0,
    "thickness_mm": 8.0,
    "full_length_leaves": 2,
    "graduated_leaves": 4,
    "modulus_gpa": 206.0,
}
COIL = {"kind": "coil", "wire_diameter_mm": 12.0, "coil_diameter_mm": 100.0, "active_coils": 6.0}
BAR = {"kind": "torsion-bar", "diameter_mm": 25.0, "length_mm": 1200.0, "lever_mm": 350.0}
TUBE = {"tube_outer_mm": 36.0, "tube_inner_mm": 28.0}


@pytest.mark.parametrize(
    ("table", "rate_n_mm"),
    [
        (LEAF, 68.361),  # E b t^3 (3 n_f + 2 n_g)/(6 L^3) by hand
        (COIL, 34.2576),  # G d^4/(8 D^3 n) by hand
        (BAR | TUBE, 15.136),  # bar and tube in series over r^2, by hand
        (COIL | {"motion_ratio": 0.5}, 34.2576 / 4),
    ],
)
def test_wheel_rate(table: dict[str, object], rate_n_mm: float) -> None:
    rate, friction = at_wheel(SPEC.validate_python(table), 3000.0)
    assert rate / 1e3 == pytest.approx(rate_n_mm, rel=1e-4)
    assert friction == 0.0


def test_helper_counts_once_it_touches() -> None:
    spec = SPEC.validate_python(LEAF | {"helper_rate_n_mm": 30.0, "helper_contact_mm": 50.0})
    light, laden = (at_wheel(spec, load)[0] / 1e3 for load in (3000.0, 4000.0))
    assert (light, laden) == pytest.approx((68.361, 98.361), rel=1e-4)


def test_leaf_friction_reaches_the_wheel() -> None:
    spec = SPEC.validate_python(LEAF | {"friction_coefficient": 0.3, "motion_ratio": 0.9})
    assert at_wheel(spec, 3000.0)[1] == pytest.approx(0.3 * 0.008 * 5 / 0.6 * 3000.0)  # mu t (n - 1)/L of the load


@pytest.mark.parametrize("change", [{"span_mm": -1.0}, {"leaves": 3}, {"kind": "air"}, {"full_length_leaves": 0}])
def test_impossible_springs_are_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        SPEC.validate_python(LEAF | change)
