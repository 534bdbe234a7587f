"""What a person wrote around the keys of a TOML file stays when a program writes into it."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as some

from dampkit.bench.written import written_into

MINE = """# the old bench, by the window
[columns]  # as the logger calls them
time = "Zeit"  # from its clock
force = "Kraft"

# asked on the telephone
[signs]
force_positive = "tension"

[files.told."slow.csv"]
frequency_hz = 1.0
"""


def test_comments_and_order_stay_and_only_the_keys_change() -> None:
    changed: dict[tuple[str, ...], dict[str, object]] = {
        ("columns",): {"time": "t"},
        ("files", "told", "slow.csv"): {"stroke_mm": 50.0},
    }
    text = written_into(MINE, changed)
    assert text == MINE.replace('"Zeit"', '"t"') + "stroke_mm = 50.0\n"


def test_what_is_dropped_goes_with_its_own_comments() -> None:
    text = written_into(MINE, {}, drop=[("signs",), ("columns", "force"), ("none", "such")])
    assert tomllib.loads(text) == {"columns": {"time": "Zeit"}, "files": {"told": {"slow.csv": {"frequency_hz": 1.0}}}}
    assert "# from its clock" in text


def test_a_section_begun_here_gets_its_note_once() -> None:
    once = written_into(MINE, {("zero",): {"force_n": 1.0}}, notes={("zero",): ["read today"], (): ["not mine"]})
    assert once.endswith("[zero]\n# read today\nforce_n = 1.0\n")
    assert "not mine" not in once
    assert written_into(once, {("zero",): {"force_n": 2.0}}, notes={("zero",): ["read today"]}).count("read today") == 1


@pytest.mark.parametrize("text", ["", "# nothing yet\n", 'damper.serial = "A-1"\n', "damper = {}\n"])
def test_a_file_of_another_shape_takes_the_keys_too(text: str) -> None:
    made = tomllib.loads(written_into(text, {("damper",): {"kind": "monotube"}}, drop=[("damper", "serial")]))
    assert made == {"damper": {"kind": "monotube"}}


TEXT = some.text(some.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
VALUE = some.one_of(
    TEXT, some.booleans(), some.floats(allow_nan=False, allow_infinity=False), some.lists(some.floats(0, 1))
)


@given(some.dictionaries(TEXT, VALUE, min_size=1, max_size=4))
def test_whatever_is_written_is_read_back(keys: dict[str, object]) -> None:
    """Against the reader of Python's own library."""
    assert tomllib.loads(written_into(MINE, {("columns", "more"): keys}))["columns"]["more"] == keys
