"""Every way to get a TOML file wrong gives one clear error: file, line, key, what was found, what is allowed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from dampkit.bench.declared import BenchSpec
from dampkit.bench.toml_file import declared, load_toml
from dampkit.damper.declared import DamperSpec
from dampkit.errors import BadSettings
from dampkit.job import MODELS, model_of
from dampkit.needs.declared import VehicleSpec
from dampkit.outcome.costs import CostSpec
from dampkit.outcome.published import keys

CORNER = "[corner]\nsprung_mass_kg = 380\nunsprung_mass_kg = 42.0\nwheel_rate_n_mm = 30\ntyre_rate_n_mm = 200\n"
REFERENCE = "[reference]\nvelocity_m_s = {}\nrebound_force_n = {}\ncompression_force_n = {}\n"
ONE_AND_A_HALF, TWO = "[0.1, 0.2]", "[1.0, 2.0]"

WRONG: list[tuple[type[BaseModel], str, str, str, str]] = [
    (BenchSpec, "[sings]\nx = 1", ":1, sings", "unknown section 'sings'", "'signs', perhaps?"),
    (
        BenchSpec,
        "[signs]\n\nforce_positiv = 1",
        ":3, [signs] force_positiv",
        "unknown key",
        "'force_positive', perhaps?",
    ),
    (BenchSpec, '[signs]\nforce_positive = "up"', ":2, [signs] force_positive", "'up'", "'tension' or 'compression'"),
    (BenchSpec, '[units]\nforce = "stone"', ":2, [units] force", "'stone'", "one of N, daN, kN, kgf, lbf"),
    (BenchSpec, '[timing]\nsample_rate_hz = "fast"', ":2, [timing] sample_rate_hz", "'fast'", "a number"),
    (BenchSpec, "[timing]\nsample_rate_hz = -1", ":2, [timing] sample_rate_hz", "-1", "greater than 0"),
    (BenchSpec, "[timing]\nsample_rate_hz = nan", ":2, [timing] sample_rate_hz", "nan", "finite"),
    (BenchSpec, "[timing]\nsample_rate_hz = true", ":2, [timing] sample_rate_hz", "True", "a number"),
    (BenchSpec, "[timing]\nsample_rate_hz = 1,0", "", "line 2", "decimal point"),
    (BenchSpec, "[timing\nx = 1", "", "line 1", "under a [section]"),
    (BenchSpec, "[columns]\nforce = 3", ":2, [columns] force", "3", "text in quotes"),
    (BenchSpec, "timing = 3", ":1, timing", "3", "[timing]"),
    (BenchSpec, "[timing]\nforce_delay_s = 5", ":2, [timing] force_delay_s", "5", "less than or equal to 1"),
    (BenchSpec, "[fixture]\nstiffness_n_mm = 0", ":2, [fixture] stiffness_n_mm", "0", "greater than 0"),
    (
        BenchSpec,
        "[fixture]\nmoving_mass_kg = -0.1",
        ":2, [fixture] moving_mass_kg",
        "-0.1",
        "greater than or equal to 0",
    ),
    (DamperSpec, '[damper]\nkind = "mono"', ":2, [damper] kind", "'mono'", "'monotube'"),
    (DamperSpec, "[damper]\nserial = 7", ":2, [damper] serial", "7", "text in quotes"),
    (
        DamperSpec,
        "[damper]\nrod_diameter_mm = 28\npiston_diameter_mm = 27",
        ":1, damper",
        "28",
        "rod thinner than the piston",
    ),
    (DamperSpec, "[damper]\npiston_diameter_mm = -27", ":2, [damper] piston_diameter_mm", "-27", "greater than 0"),
    (DamperSpec, REFERENCE.format(ONE_AND_A_HALF, "[1.0]", TWO), ":1, reference", "2 values", "for every velocity"),
    (DamperSpec, REFERENCE.format("[0.2, 0.1]", TWO, TWO), ":1, reference", "does not rise at 0.1", "slow to fast"),
    (
        DamperSpec,
        REFERENCE.format("[0.1, 0.1]", TWO, TWO),
        ":1, reference",
        "does not rise at 0.1",
        "each velocity once",
    ),
    (DamperSpec, REFERENCE.format("[]", "[]", "[]"), ":2, [reference] velocity_m_s", "[]", "at least 1"),
    (DamperSpec, REFERENCE.format("0.1", TWO, TWO), ":2, [reference] velocity_m_s", "0.1", "a list of numbers"),
    (DamperSpec, REFERENCE.format('[0.1, "b"]', TWO, TWO), ":2, [reference] velocity_m_s value 2", "'b'", "a number"),
    (
        DamperSpec,
        REFERENCE.format(ONE_AND_A_HALF, "[1, -2]", TWO),
        ":3, [reference] rebound_force_n value 2",
        "-2",
        "0",
    ),
    (DamperSpec, "[reference]\nvelocity_m_s = [0.1]", "[reference] rebound_force_n", "missing", "a value"),
    (VehicleSpec, '[vehicle]\nname = "x"', ", corner", "missing", "a value"),
    (VehicleSpec, CORNER, ":1, [corner] damper_motion_ratio", "missing", "exactly one"),
    (VehicleSpec, CORNER + "damper_motion_ratio = 0", ":6, [corner] damper_motion_ratio", "0", "greater than 0"),
    (
        VehicleSpec,
        CORNER.replace("380", "-380") + "damper_motion_ratio = 1",
        ":2, [corner] sprung_mass_kg",
        "-380",
        "greater than",
    ),
    (
        VehicleSpec,
        CORNER + "damper_motion_ratio = 1\nmas = 1",
        ":7, [corner] mas",
        "unknown key 'mas'",
        "sprung_mass_kg",
    ),
    (
        VehicleSpec,
        CORNER + "damper_motion_ratio = 1\n[target]\nrebound_share = 1.2",
        ":8, [target] rebound_share",
        "1.2",
        "1",
    ),
]


@pytest.mark.parametrize(("model", "text", "where", "found", "expected"), WRONG, ids=[row[1][:40] for row in WRONG])
def test_what_is_wrong_is_said(
    model: type[BaseModel], text: str, where: str, found: str, expected: str, tmp_path: Path
) -> None:
    path = tmp_path / "file.toml"
    path.write_text(text)
    with pytest.raises(BadSettings) as caught:
        load_toml(path, model)
    first, second, third = caught.value.lines()
    assert first.startswith(str(path))
    assert where in first
    assert found in first
    assert expected in second + third
    assert third.startswith("Do: ")
    assert caught.value.exit_status == 2


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00\x01")
    for path, found in ((tmp_path / "none.toml", "no such file"), (tmp_path, "directory"), (binary, "not UTF-8")):
        with pytest.raises(BadSettings, match=found):
            load_toml(path, BenchSpec)


def test_whole_numbers_and_byte_order_marks_are_taken(tmp_path: Path) -> None:
    path = tmp_path / "vehicle.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (CORNER + "damper_motion_ratio = 1").encode())
    assert load_toml(path, VehicleSpec).corner.sprung_mass_kg == 380.0


EVERYTHING_WRONG = """[damper]
kind = "mono"
rod_diametre_mm = 12.4
pressure_bar = 20.0
piston_diameter_mm = 27000.0
[reference]
velocity_m_s = [0.1]
"""


def test_all_problems_are_told_at_once_each_with_what_to_type(tmp_path: Path) -> None:
    path = tmp_path / "damper.toml"
    path.write_text(EVERYTHING_WRONG)
    with pytest.raises(BadSettings) as caught:
        load_toml(path, DamperSpec)
    first, second, third = caught.value.lines()
    assert first.startswith(f"{path}:2, [damper] kind: (1) found 'mono'")
    for found in ("line 5, [damper] piston_diameter_mm: found 27000", "line 3, [damper] rod_diametre_mm: unknown",
                  "line 6, [reference] rebound_force_n: this is missing"):  # fmt: skip
        assert found in first
    assert "'rod_diameter_mm', perhaps?" in second
    for typed in ('write, for example,  kind = "twin-tube"', "correct the key, for example:  rod_diameter_mm = 12.4",
                  "move it: pressure_bar under [gas]", "Written in um? Then it is 27 mm",
                  "add  rebound_force_n = [124.0, 421.0, 1260.0]  with your own value"):  # fmt: skip
        assert typed in third
    assert "(6)" in third


def test_speeds_of_a_reference_in_mm_s_are_refused_and_not_sent_to_the_bench(tmp_path: Path) -> None:
    path = tmp_path / "damper.toml"
    path.write_text(REFERENCE.format("[50, 100]", TWO, TWO))
    with pytest.raises(BadSettings) as caught:
        load_toml(path, DamperSpec)
    said = " ".join(caught.value.lines())
    assert "Written in mm/s? Then it is 0.05 m/s" in said
    assert "Tuple" not in said


def test_a_file_of_another_kind_is_not_told_key_by_key_for_ever(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_text("[text]\n" + "".join(f"key_{i} = {i}\n" for i in range(30)))
    with pytest.raises(BadSettings, match="and 22 more"):
        load_toml(path, BenchSpec)


@pytest.mark.parametrize(
    ("text", "do"),
    [
        ("[corner]\nsprung_mass = 380", "correct the key, for example:  sprung_mass_kg = 340.0"),
        ("[corner]\nwheel_rate_n_m = 24000", "correct the key, for example:  wheel_rate_n_mm = 24.0"),
        ("[corner]\nuse = 'road'", "move it: use under [target]"),
        ("[corner]\ntrack_mm = 1300\n#[car]", "take the # from the line #[car]"),
        (CORNER, "add one of the two, for example:  damper_motion_ratio = 0.8"),
        (CORNER.replace("wheel_rate_n_mm = 30\n", ""), "wheel_rate_n_mm = 24.0  and  damper_motion_ratio = 0.8"),
        ("[corners]\nx = 1", "correct the key: [corner]"),
        ("", "add a line [corner] and below it, with your own values, sprung_mass_kg = 340.0"),
        ("[corner]\nsprung_mass_kg = 380000", "Of one wheel, in kilograms? Written in g? Then it is 380 kg"),
    ],
)
def test_what_to_type(text: str, do: str, tmp_path: Path) -> None:
    path = tmp_path / "vehicle.toml"
    path.write_text(text)
    with pytest.raises(BadSettings) as caught:
        load_toml(path, VehicleSpec)
    assert do in caught.value.do


def test_a_value_that_may_be_written_in_two_ways_is_one_problem(tmp_path: Path) -> None:
    path = tmp_path / "costs.toml"
    path.write_text('[labour]\nrate_per_hour = "much"\n')
    with pytest.raises(BadSettings) as caught:
        load_toml(path, CostSpec)
    assert caught.value.where == f"{path}:2, [labour] rate_per_hour"
    assert caught.value.expected == "a number or list of numbers from 0 money/h"


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.text(max_size=80))
def test_any_text_is_settings_or_a_clear_error(text: str) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "x.toml")
        path.write_text(text, encoding="utf-8", errors="replace")
        assert _lines_of_error(path) <= 3


def _lines_of_error(path: Path) -> int:
    try:
        load_toml(path, BenchSpec)
    except BadSettings as error:
        return len(error.lines())
    return 0


NAMES = [
    *sorted({part for kind in MODELS for key in keys(kind) for part in key.place if part.isidentifier()}),
    "unheard_of",
]
SCALARS = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.sampled_from(["leaf", "coil"])
)
ANY_FILE = st.dictionaries(
    st.sampled_from(NAMES),
    st.recursive(
        SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(NAMES), inner, max_size=4)
    ),
    max_size=5,
)


@pytest.mark.slow
@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.sampled_from(list(MODELS)), ANY_FILE)
def test_any_content_is_declared_or_refused_in_three_lines(kind: str, content: dict[str, Any]) -> None:
    """Keys of every file in every place, with values of every sort."""
    refused = _refusal(kind, content)
    assert refused is None or (refused.do and len(refused.lines()) <= 3)


def _refusal(kind: str, content: dict[str, Any]) -> BadSettings | None:
    try:
        declared(content, model_of(kind))
    except BadSettings as error:
        return error
    return None


def test_what_is_refused_there_is_told() -> None:
    assert _refusal("stock", {}) is None
    refused = _refusal("stock", {"bleed": {"span_mm": []}})
    assert refused is not None
    assert "unknown key 'span_mm'" in refused.found
