"""A file made by `dampkit new` can be used as it is, or once what it asks for is filled in; each of its examples too."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import jsonschema
import pytest

from dampkit.bench.keys import EACH, keys_of
from dampkit.bench.sense import odd_values
from dampkit.bench.template import Blank, kinds_of, template
from dampkit.job import MODELS, Job, model_of
from dampkit.outcome.published import schema_of

KEYS = {file: keys_of(schema_of(file)) for file in MODELS}
SEVERAL = ("parallel", "series")  # springs that are lists of springs
ALL = [
    (file, kinds)
    for file in MODELS
    for kinds in [(), *((kind,) for kind in kinds_of(KEYS[file]) if kind not in SEVERAL)]
]
EVERY = pytest.mark.parametrize(("file", "kinds"), ALL, ids=[" ".join([file, *kinds]) for file, kinds in ALL])


def blank(file: str, kinds: tuple[str, ...] = ()) -> Blank:
    return Blank(file, KEYS[file], kinds)


def filled(made: Blank) -> Blank:
    return made.filled({key.place: key.example for key in made.asked})


def opened(text: str, section: str) -> str:
    """The text with one section's marks taken away, as a person would: its header and its keys."""
    lines, inside = [], False
    for line in text.splitlines():
        if re.match(r"#?\[", line):
            inside = line.lstrip("#").strip("[]") == section
        lines.append(line[1:] if inside and re.match(r"#(\[|\w+ = )", line) else line)
    return "\n".join(lines)


@EVERY
def test_file_is_toml_and_fits_its_schema_once_filled(file: str, kinds: tuple[str, ...]) -> None:
    made = blank(file, kinds)
    assert isinstance(tomllib.loads(template(made)), dict)
    data = tomllib.loads(template(filled(made)))
    jsonschema.Draft202012Validator(schema_of(file)).validate(data)
    assert getattr(Job.load(**{file: data}), file) == model_of(file).model_validate(data)
    assert odd_values(model_of(file).model_validate(data), file) == ()


@EVERY
def test_what_is_asked_for_is_what_the_file_cannot_do_without(file: str, kinds: tuple[str, ...]) -> None:
    """Each key that is asked for is needed: without it the model refuses. And it is marked where it stands."""
    made = blank(file, kinds)
    text = template(made)
    assert text.count("# FILL IN.") == len(made.asked)
    for key in made.asked:
        values = {one.place: one.example for one in made.asked if one is not key}
        with pytest.raises(ValueError, match="validation error"):
            model_of(file).model_validate(tomllib.loads(template(made.filled(values))))


@EVERY
def test_every_section_can_be_opened_with_its_examples(file: str, kinds: tuple[str, ...]) -> None:
    """As they stand but for keys that go instead of others, which the file says."""
    made = filled(blank(file, kinds))
    text = template(made)
    for section in dict.fromkeys(re.findall(r"^#?\[([a-z_.]+)\]$", text, re.MULTILINE)):
        data = tomllib.loads(_one_of_both(opened(text, section)))
        for table, needed in GOES_WITH.get(section, {}).items():
            data[table] = {**data.get(table, {}), **needed}
        model_of(file).model_validate(data)


# What a section needs of another one, as its words or the error say
GOES_WITH: dict[str, dict[str, dict[str, Any]]] = {
    "gas": {"damper": {"kind": "monotube"}},
    "strut": {"damper": {"duty": "strut"}},
    "arm": {"damper": {"arm_length_mm": 160.0}},
    "reference_torque": {"damper": {"arm_length_mm": 160.0}},
    "oil.now": {"oil": {"stock": [{"name": "b", "viscosity_40_mm2_s": 22.0, "viscosity_100_mm2_s": 5.1}], "now": {
        "name": "a", "viscosity_40_mm2_s": 15.0, "viscosity_100_mm2_s": 4.5}}},
}  # fmt: skip


def _one_of_both(text: str) -> str:
    """Without keys that go in place of others, as their words say."""
    return re.sub(r"(?m)^(use|fill_g) = .*$", "", text)


def test_gas_and_oils_open_with_their_examples() -> None:
    text = opened(template(blank("damper", ("monotube",))), "gas")
    assert model_of("damper").model_validate(tomllib.loads(text)).gas.pressure_bar == 20.0
    text = template(blank("stock"))
    at = text.index("# The oil that the unit")
    oils = re.sub(r"(?m)^#(?=\[|\w+ = )", "", text[at:])
    assert model_of("stock").model_validate(tomllib.loads(oils)).oil.stock[0].viscosity_40_mm2_s == 15.0


def test_only_what_matters_to_a_kind_is_in_its_file() -> None:
    monotube, lever, disc = (template(blank("damper", (kind,))) for kind in ("monotube", "lever-arm", "friction-disc"))
    assert "[gas]" in monotube
    assert "rod_diameter_mm" in monotube
    assert "arm_length_mm" not in monotube
    assert "[arm]" not in monotube
    assert "arm_length_mm" in lever
    assert "rod_diameter_mm" not in lever
    assert "piston_diameter_mm" not in disc
    assert "[reference]" in disc
    assert 'kind = "friction-disc"' in disc
    assert "stroke_mm" in template(blank("bench", ("table",)))
    assert "sample_rate_hz" not in template(blank("bench", ("table",)))


def test_a_spring_stands_for_the_wheel_rate_and_a_linkage_for_the_motion_ratio() -> None:
    names = [key.name for key in blank("vehicle").asked]
    assert names == ["sprung_mass_kg", "unsprung_mass_kg", "wheel_rate_n_mm", "tyre_rate_n_mm", "damper_motion_ratio"]
    both = [key.name for key in blank("vehicle", ("coil", "lever-arm")).asked]
    assert both == ["sprung_mass_kg", "unsprung_mass_kg", "tyre_rate_n_mm", "wire_diameter_mm", "coil_diameter_mm",
                    "active_coils", "arm_mm", "link_mm"]  # fmt: skip


def test_every_line_of_a_value_has_its_meaning_its_unit_and_how_it_is_measured_before_it() -> None:
    """Once a file; what was said of a key before is not said again."""
    for file in MODELS:
        text = template(blank(file))
        for key in blank(file).wanted:
            if key.is_table or EACH in key.place:
                continue
            unwrapped = re.sub(r"\n#\s+", " ", text)
            assert key.description in unwrapped, key.place
            assert key.how_to_measure in unwrapped, key.place
            assert key.unit in ("", "1") or f"({key.unit};" in unwrapped or f"({key.unit})" in unwrapped, key.place
