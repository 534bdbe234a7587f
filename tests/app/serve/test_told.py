"""What is said on the page names no command and no option: whoever sits there is told where on the page to go."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import dampkit
from dampkit.app.serve.forms import form_of, sheet
from dampkit.app.serve.told import error_of, on_page
from dampkit.errors import BadSettings
from dampkit.report.quality_words import QUALITIES
from tests.app.serve.desk import Desk, words
from tests.app.serve.test_shelves import kept_entry

PACKAGE = Path(dampkit.__file__).parent
# everything that the page calls; of its own files those that a person sees before there is a page are left out
ROOMS = ("bench", "curves", "damper", "expected", "faults", "needs", "outcome", "report", "store", "app/serve")
BEFORE = ("run.py", "shortcut.py", "watch.py", "told.py")
# said to who makes a reference from the book, or names a file beside a card: no page does
ELSEWHERE = ("store/grown.py", "store/from_library.py")
NAMED = re.compile(r"(?<![\w(-])--[a-z]|`dampkit |\bdampkit (?:book|analyse|look|new|batch|guide) ")


def sayings(tree: ast.AST) -> Iterator[str]:
    """Every text in a file that is no documentation, what is filled in shown as x."""
    docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            docs |= {id(part) for part in node.values}
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "x" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.value


def naming() -> list[tuple[str, str]]:
    files = (file for room in ROOMS for file in (PACKAGE / room).rglob("*.py") if file.name not in BEFORE)
    return [
        (name, text)
        for file in files
        if (name := file.relative_to(PACKAGE).as_posix()) not in ELSEWHERE
        for text in sayings(ast.parse(file.read_text(encoding="utf-8")))
        if NAMED.search(text) and not text.lstrip().startswith(("<", "{", "#", "/*"))
    ]


def test_the_walk_finds_what_names_an_option() -> None:
    """It would be no check where it found nothing."""
    found = {name for name, _ in naming()}
    assert {"store/second_check.py", "outcome/choice.py", "store/place.py", "store/library.py"} <= found


@pytest.mark.parametrize(("name", "text"), naming())
def test_no_error_that_the_page_can_show_names_a_command_or_an_option(name: str, text: str) -> None:
    said = error_of(BadSettings("here", text, "", ""))["found"]
    assert NAMED.search(said) is None, (name, said)
    assert " --" not in said


def test_what_is_worth_knowing_on_a_page_names_no_command() -> None:
    for remark in QUALITIES.values():
        assert NAMED.search(on_page(" ".join(remark))) is None


def test_forms_and_errors_call_a_field_as_it_stands_there(desk: Desk) -> None:
    """No name of a file or key: in none of the forms, and in no error about what one of their fields would say."""
    key = re.compile(r"\b[a-z]+_[a-z_]+\b|\.toml\b|\[[a-z]+\]")
    for file in ("bench", "damper", "vehicle", "inspection", "costs", "stock", "workshop", "calibration", "work"):
        for section in form_of(sheet(file, ""), file).sections:
            assert (
                key.findall(" ".join([section.about, *(f"{f.label} {f.about} {f.how}" for f in section.fields)])) == []
            )
    told = error_of(
        BadSettings("a.csv", "[its own] low_oil", "", "state it in bench.toml: [timing] sample_rate_hz = 1000.0")
    )
    assert told["do"] == "state it under Record, More about the bench: Timing, sample rate = 1000.0"
    assert told["found"] == "[its own] low_oil"
    desk.get("/")
    work = desk.post("/begin", {"pasted": "dear diary\n" * 40}).headers["location"].removesuffix("/record")
    said = words(desk.get(f"{work}/record"))
    assert "The record cannot be read" in said
    assert "state it under Record, More about the bench: Text, delimiter" in said


def test_errors_on_the_page_say_where_on_it_to_go(desk: Desk) -> None:
    number = kept_entry(desk, serial="A-1", technician="made-up fitter")
    desk.get(f"/book/{number}")
    said = words(desk.send(f"/book/{number}/sign", {"who": "made-up fitter"}))
    assert "the second person's name: 'made-up fitter' made the test" in said
    assert "What to do: look for it under Book." in words(desk.get("/book/77"))
    assert "look in the Library, or add it there" in words(desk.get("/card?kind=stock&name=none"))
    work = desk.begun("drawing_table.csv")
    desk.send(f"{work}/unit", {"damper.rod_diameter_mm": "x", "go": "on"})
    assert "Under Unit: Damper, rod diameter: found 'x'" in words(desk.get(f"{work}/verdict"))
    unit = {"kind": "unit-type", "name": "12-34", "text": '[damper]\nkind = "twin-tube"\nserial = "A-1"\n'}
    assert "it is typed under Unit when a unit is tested" in words(desk.send("/card", unit))
