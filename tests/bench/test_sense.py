"""Values that may be right and seldom are: each is remarked on with what to ask, once loaded, and never refused.

The conversions are by definition (pound, inch, standard gravity), checked with round figures by hand.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from dampkit.bench.sense import doubt, odd_values
from dampkit.bench.toml_file import load_toml
from dampkit.job import MODELS, model_of
from dampkit.report.car import render_need

SAMPLES = Path(__file__).parents[2] / "sample_runs"
CORNER = {"sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "wheel_rate_n_mm": 30.0, "tyre_rate_n_mm": 200.0,
          "damper_motion_ratio": 0.8}  # fmt: skip


def said(kind: str, data: dict[str, Any]) -> list[str]:
    return [note.message for note in odd_values(model_of(kind).model_validate(data), kind)]


@pytest.mark.parametrize(
    ("kind", "data", "asked"),
    [
        ("vehicle", {"corner": {**CORNER, "damper_motion_ratio": 1.25}}, "0.8 or 1.25? Damper travel over wheel travel"),
        ("vehicle", {"corner": {**CORNER, "sprung_mass_kg": 38000.0}}, "Written in g? Then it is 38 kg."),
        ("vehicle", {"corner": {**CORNER, "wheel_rate_n_mm": 30000.0}}, "Written in N/m? Then it is 30 N/mm."),
        ("vehicle", {"corner": CORNER, "target": {"damping_ratio": 0.03}}, "usual is 0.1 to 1"),
        ("bench", {"motion": {"stroke_mm": 50000.0}}, "Written in um? Then it is 50 mm."),
        ("bench", {"motion": {"stroke_mm": 0.05}}, "Written in m? Then it is 50 mm."),
        ("damper", {"damper": {"rod_diameter_mm": 0.5}}, "Written in cm? Then it is 5 mm. Written in inch? Then it is 12.7 mm."),
        ("damper", {"damper": {"piston_diameter_mm": 1.0}}, "Written in inch? Then it is 25.4 mm."),
        ("damper", {"reference": {"velocity_m_s": [5.0], "rebound_force_n": [1.0], "compression_force_n": [1.0]}},
         "Written in mm/s? Then it is 0.005 m/s."),
        ("stock", {"bleed": {"drills_mm": [0.8, 40.0]}}, "40 mm"),
    ],
)  # fmt: skip
def test_what_is_seldom_right_is_asked_about(kind: str, data: dict[str, Any], asked: str) -> None:
    found = said(kind, data)
    assert len(found) == 1
    assert asked in found[0]


def test_what_was_not_declared_is_not_asked_about() -> None:
    assert said("bench", {}) == []
    assert doubt(0.8, "1", (0.2, 1.0)) == ""
    assert doubt(1e9, "N", None) == ""


def test_springs_in_a_list_are_looked_at_too() -> None:
    own = {key: value for key, value in CORNER.items() if key != "wheel_rate_n_mm"}
    springs = [{"kind": "measured", "rate_n_mm": rate} for rate in (20.0, 20000.0)]
    found = said("vehicle", {"corner": own, "spring": {"kind": "series", "springs": springs}})
    assert ["20000 N/mm" in text for text in found] == [True]


@pytest.mark.parametrize("kind", MODELS)
def test_no_sample_file_is_asked_about(kind: str) -> None:
    for file in sorted(SAMPLES.glob(f"*{kind}.toml")):
        assert odd_values(load_toml(file, model_of(kind)), kind) == (), file.name


def test_a_result_holds_what_is_to_be_asked() -> None:
    import dampkit

    test = dampkit.read_test([SAMPLES / "drawing_table.csv"])
    result = dampkit.analyse(test, vehicle={"corner": {**CORNER, "damper_motion_ratio": 1.25}})
    assert [q.clears for q in result.quality if q.code == "unusual_value"] == ["declare"]
    need = dampkit.need({"corner": {**CORNER, "damper_motion_ratio": 1.25}})
    assert [q.code for q in need.quality] == ["unusual_value"]
    assert "0.8 or 1.25?" in render_need(need)
