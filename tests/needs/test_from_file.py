"""Vehicle files with a spring, a linkage and stops."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from dampkit.bench.toml_file import load_toml
from dampkit.errors import BadSettings
from dampkit.needs.declared import VehicleSpec
from dampkit.needs.facts import facts
from dampkit.needs.from_file import corner_of, road_of, stops_of
from dampkit.needs.requirement import needed_forces
from dampkit.needs.vehicle_needs import bare
from dampkit.outcome.vehicle_record import need_result

CORNER = {"sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "tyre_rate_n_mm": 200.0}
COIL = {"kind": "coil", "wire_diameter_mm": 12.0, "coil_diameter_mm": 100.0, "active_coils": 6.0, "motion_ratio": 0.8}
LEVER = {"kind": "lever-arm", "arm_mm": 130.0, "link_mm": 160.0, "pickup_ratio": 0.9}
CAR = {
    "mass_kg": 1100.0, "wheelbase_mm": 2500.0, "centre_height_mm": 520.0, "track_mm": 1300.0, "front_share": 0.55,
    "this_axle": "front", "other_wheel_rate_n_mm": 24.0,
}  # fmt: skip
DISCS = {
    "outer_diameter_mm": 80.0, "inner_diameter_mm": 30.0, "faces": 4, "friction_coefficient": 0.3, "arm_mm": 200.0,
    "amplitude_mm": 20.0,
}  # fmt: skip


def spec(**tables: Any) -> VehicleSpec:
    corner = {**CORNER, "wheel_rate_n_mm": 30.0, "damper_motion_ratio": 0.8}
    if "spring" in tables:
        del corner["wheel_rate_n_mm"]
    if "linkage" in tables:
        del corner["damper_motion_ratio"]
    return VehicleSpec.model_validate({"corner": corner, "target": {"damping_ratio": 0.28}, **tables})


def value(found: VehicleSpec, what: str) -> float:
    return next(fact.value for fact in facts(found) if fact.what == what)


def test_spring_gives_the_wheel_rate_through_its_own_motion_ratio() -> None:
    """G d^4/(8 D^3 n) is 34.2576 N/mm by hand, [shigley] ch. 10; times 0.8 squared."""
    assert corner_of(spec(spring=COIL)).wheel_rate_n_m == pytest.approx(34257.6 * 0.64, rel=1e-4)


def test_leaf_friction_reaches_the_corner() -> None:
    leaf = {"kind": "leaf", "span_mm": 1200.0, "width_mm": 60.0, "thickness_mm": 8.0, "full_length_leaves": 2,
            "graduated_leaves": 4, "friction_coefficient": 0.3}  # fmt: skip
    wanted = 0.3 * 0.008 * 5 / 0.6 * 380 * 9.80665  # mu t (n - 1)/L of the load, by hand
    assert corner_of(spec(spring=leaf)).spring_friction_n == pytest.approx(wanted)
    assert value(spec(spring=leaf), "Friction at the wheel") == pytest.approx(wanted)


def test_linkage_gives_the_motion_ratio() -> None:
    assert corner_of(spec(linkage=LEVER)).motion_ratio == pytest.approx(0.9)
    leaning = {"kind": "leaning", "mount_ratio": 0.9, "lean_deg": 30.0}
    assert corner_of(spec(linkage=leaning)).motion_ratio == pytest.approx(0.9 * math.cos(math.pi / 6))


def test_a_linkage_on_dead_centre_is_refused() -> None:
    """Arm and link in one line: the eye cannot follow the wheel."""
    dead = {"kind": "lever-arm", "arm_mm": 130.0, "arm_angle_deg": -79.0, "link_mm": 160.0, "link_lean_deg": 11.0}
    with pytest.raises(BadSettings, match=r"\[linkage\].*"):
        corner_of(spec(linkage=dead))


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        ('wheel_rate_n_mm = 30.0\ndamper_motion_ratio = 0.8\n[spring]\nkind = "coil"\nwire_diameter_mm = 12\n'
         "coil_diameter_mm = 100\nactive_coils = 6", "[corner] wheel_rate_n_mm and [spring] are both given"),
        ("damper_motion_ratio = 0.8", "[corner] wheel_rate_n_mm and [spring] are both missing"),
        ("wheel_rate_n_mm = 30.0", "[corner] damper_motion_ratio and [linkage] are both missing"),
        ('wheel_rate_n_mm = 30.0\ndamper_motion_ratio = 0.8\n[target]\nuse = "road"\ndamping_ratio = 0.3', "both given"),
    ],
)  # fmt: skip
def test_exactly_one_of_two(extra: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "vehicle.toml"
    path.write_text("[corner]\nsprung_mass_kg = 380\nunsprung_mass_kg = 42\ntyre_rate_n_mm = 200\n" + extra)
    with pytest.raises(BadSettings) as caught:
        load_toml(path, VehicleSpec)
    assert said in str(caught.value)
    assert "one of the two" in str(caught.value)


def test_stops_and_road_in_si() -> None:
    found = spec(stops={"compression": {"clearance_mm": 60.0, "rate_n_mm": 200.0}}, road={"speed_km_h": 90.0})
    stops = stops_of(found.stops)
    assert stops is not None
    assert (stops.compression_m, stops.compression_n_m, stops.extension_m) == (0.06, 200e3, math.inf)
    assert road_of(found).speed_m_s == pytest.approx(25.0)
    assert stops_of(spec().stops) is None


def test_usual_target_of_a_use() -> None:
    assert corner_of(spec(target={"use": "road"})).target_ratio == 0.30


def test_facts_of_a_whole_car() -> None:
    """Figures by hand: m a h/(2 L); tramp with all mass at the wheels is hop with the body held; clamp by moments."""
    found = spec(axle={"kind": "beam", "track_mm": 1300.0}, car=CAR, friction_damper=DISCS, linkage=LEVER)
    assert value(found, "Braking at 0.7 g moves, each wheel") == pytest.approx(1100 * 0.7 * 9.80665 * 0.52 / 2.5 / 2)
    held = math.sqrt((30e3 + 200e3) / 42) / (2 * math.pi)
    assert value(found, "Tramp, one wheel up and one down") == pytest.approx(held)
    at_arm = value(found, "Friction wanted at the end of the arm")
    assert value(found, "Clamp force") == pytest.approx(at_arm * 0.2 / (0.3 * 4 * 0.0275))
    assert value(found, "Damping ratio at twice that swing") == pytest.approx(0.14)


def test_every_fact_has_a_finite_value_and_says_where_it_comes_from() -> None:
    for fact in facts(spec(axle={"kind": "independent", "track_mm": 1300.0}, car=CAR, spring=COIL)):
        assert math.isfinite(fact.value)
        assert fact.basis
        assert fact.group


def test_a_vehicle_alone_has_a_need_but_no_ratios_and_no_ride() -> None:
    alone = bare(spec())
    assert alone.need is not None
    assert alone.ratios == ()
    assert alone.ride is None


def test_a_usual_target_says_that_it_is_common_practice() -> None:
    said = {fact.what: fact.basis for fact in facts(spec(target={"use": "sport"}))}
    assert said["Damping ratio wanted"] == 'usual for "sport": common practice, no source'
    assert "common practice" in said["Share of rebound in the force"]


def test_blow_off_starts_on_the_middle_of_the_band() -> None:
    """The knee's force is the needed one at that speed, with a leaf spring's friction taken off both."""
    spring = {"kind": "measured", "rate_n_mm": 30.0, "friction_n": 60.0}
    found = spec(spring=spring, road={"road_class": "C", "speed_km_h": 80.0})
    need, knee = needed_forces(corner_of(found)), value(found, "Suggested speed of the knee")
    assert need is not None
    assert 0.1 < knee < 0.3
    for way in ("rebound", "compression"):
        wanted = float(np.interp(knee, need.velocity_m_s, getattr(need, f"{way}_n")))
        assert value(found, f"Suggested blow-off force, {way}") == pytest.approx(wanted, rel=1e-3)


def test_friction_locks_the_spring_in_small_swings() -> None:
    """Below friction over rate the joint does not slip: by hand from zeta c_c pi omega X/4 at 20 mm."""
    found = spec(friction_damper=DISCS)
    wheel = value(found, "Friction wanted at the wheel, for swings of 20 mm")
    assert value(found, "Spring locked in swings below") == pytest.approx(wheel / 30)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Across the whole of what is allowed, both ends often."""
    spread = st.floats(math.log(low), math.log(high)).map(lambda x: min(max(math.exp(x), low), high))
    return st.one_of(st.sampled_from([low, high]), spread)


KG, N_MM, MM = numbers(0.1, 1e5), numbers(1e-3, 1e5), numbers(1.0, 5e4)
ANY_CORNER = st.fixed_dictionaries({"sprung_mass_kg": KG, "unsprung_mass_kg": KG, "tyre_rate_n_mm": N_MM})
ANY_SPRING = st.one_of(
    st.fixed_dictionaries({"kind": st.just("coil"), "wire_diameter_mm": MM, "coil_diameter_mm": MM, "active_coils": MM}),
    st.fixed_dictionaries({"kind": st.just("leaf"), "span_mm": MM, "width_mm": MM, "thickness_mm": MM,
                           "full_length_leaves": st.integers(1, 40), "graduated_leaves": st.integers(0, 40),
                           "friction_coefficient": st.floats(0, 2), "free_camber_mm": MM,
                           "shackle_tangent": st.floats(-2, 2)}),
    st.fixed_dictionaries({"kind": st.just("torsion-bar"), "diameter_mm": MM, "length_mm": MM, "lever_mm": MM,
                           "lever_angle_deg": st.floats(-79, 79)}),
    st.fixed_dictionaries({"kind": st.just("measured"), "rate_n_mm": N_MM, "friction_n": numbers(1.0, 1e6)}),
)  # fmt: skip
ANY_LINKAGE = st.fixed_dictionaries(
    {"kind": st.just("lever-arm"), "arm_mm": MM, "link_mm": MM, "arm_angle_deg": st.floats(-79, 79),
     "link_lean_deg": st.floats(-79, 79), "pickup_ratio": numbers(0.01, 5)}
)  # fmt: skip
ANY_CAR = st.fixed_dictionaries(
    {"mass_kg": KG, "wheelbase_mm": MM, "centre_height_mm": MM, "track_mm": MM, "front_share": st.floats(0.01, 0.99),
     "this_axle": st.sampled_from(["front", "rear"]), "other_wheel_rate_n_mm": N_MM}
)  # fmt: skip
ANY_AXLE = st.fixed_dictionaries({"kind": st.just("beam"), "track_mm": MM, "damper_spacing_mm": MM})


@given(ANY_CORNER, ANY_SPRING, ANY_LINKAGE, ANY_CAR, ANY_AXLE, numbers(0.01, 2), numbers(10, 200))
def test_a_vehicle_however_odd_is_refused_or_worked_out(
    corner: dict[str, Any],
    spring: dict[str, Any],
    linkage: dict[str, Any],
    car: dict[str, Any],
    axle: dict[str, Any],
    ratio: float,
    speed: float,
) -> None:
    """Never a crash, a warning (they are errors here) or a number that JSON cannot hold."""
    tables = {"corner": corner, "spring": spring, "linkage": linkage, "car": car, "axle": axle,
              "target": {"damping_ratio": ratio}, "road": {"speed_km_h": speed}}  # fmt: skip
    try:
        result = need_result(bare(VehicleSpec.model_validate(tables)))
    except (ValidationError, BadSettings):
        return
    json.dumps(result.model_dump(mode="json"), allow_nan=False)
