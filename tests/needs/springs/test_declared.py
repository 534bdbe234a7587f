"""The [spring] table gives the wheel rate that the formulas give, in the units a person writes."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from dampkit.needs.springs.declared import AnySpring, Parallel, SpringSpec, at_wheel, loads_at_wheel_n
from dampkit.needs.springs.figures import spring_facts

SPEC: TypeAdapter[AnySpring] = TypeAdapter(SpringSpec)
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


MEASURED = {"kind": "measured", "rate_n_mm": 25.0, "friction_n": 120.0}


def test_a_measured_loop_stands_for_the_spring() -> None:
    assert at_wheel(SPEC.validate_python(MEASURED | {"motion_ratio": 0.9}), 3000.0) == pytest.approx((20250.0, 108.0))


def test_springs_side_by_side_add_at_the_wheel_each_by_its_own_ratio() -> None:
    """Coil by hand 34.2576 N/mm at a ratio of 0.5, and 25 N/mm at 0.9: sum of k R^2; loads go as those."""
    spec = SPEC.validate_python(
        {"kind": "parallel", "springs": [COIL | {"motion_ratio": 0.5}, MEASURED | {"motion_ratio": 0.9}]}
    )
    rate, friction = at_wheel(spec, 3000.0)
    assert rate / 1e3 == pytest.approx(34.2576 / 4 + 20.25, rel=1e-5)
    assert friction == pytest.approx(108.0)
    assert isinstance(spec, Parallel)
    assert loads_at_wheel_n(spec, 3000.0) == pytest.approx([3000 * 8.5644 / 28.8144, 3000 * 20.25 / 28.8144])


def test_springs_one_on_the_other_are_softer_than_each() -> None:
    """1/k = 1/k1 + 1/k2; friction by following a large loop: x = (F - f)/k1 + F/k2 out and (F + f)/k1 + F/k2 back."""
    spec = SPEC.validate_python({"kind": "series", "springs": [MEASURED, COIL], "motion_ratio": 0.8})
    rate, friction = at_wheel(spec, 3000.0)
    whole = 1 / (1 / 25 + 1 / 34.2576)
    assert rate / 1e3 == pytest.approx(whole * 0.64, rel=1e-5)
    assert friction == pytest.approx(0.8 * whole * 120 / 25, rel=1e-5)


def test_sag_is_told_where_the_camber_was_measured() -> None:
    """120 mm free less 3000 N over 68.361 N/mm is 76.1 mm; 60 mm were found."""
    spec = SPEC.validate_python(LEAF | {"free_camber_mm": 120.0, "measured_camber_mm": 60.0})
    sag = next(fact.value for fact in spring_facts(spec, 3000.0) if fact.what == "Sag")
    assert sag == pytest.approx(120 - 3000 / 68.361 - 60, rel=1e-4)


@pytest.mark.parametrize(
    "table",
    [
        COIL | {"coil_diameter_mm": 12.0},
        BAR | {"tube_outer_mm": 36.0},
        BAR | {"tube_outer_mm": 36.0, "tube_inner_mm": 24.0},
        LEAF | {"clamp_length_mm": 1200.0},
        LEAF | {"measured_camber_mm": 60.0},
        {"kind": "parallel", "springs": [COIL]},
        {"kind": "series", "springs": [COIL, MEASURED | {"motion_ratio": 0.9}]},
    ],
)
def test_parts_that_cannot_go_together_are_refused(table: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        SPEC.validate_python(table)


@pytest.mark.parametrize("change", [{"span_mm": -1.0}, {"leaves": 3}, {"kind": "air"}, {"full_length_leaves": 0}])
def test_impossible_springs_are_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        SPEC.validate_python(LEAF | change)
