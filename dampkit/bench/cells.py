"""Cells of a log: how a line is split, what a cell is, and which mark is the decimal one."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from dampkit.bench.words import MISSING
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen

CellKind = Literal["number", "clock", "missing", "text"]
NUMBER = re.compile(
    r"[+-]?(?:\d+\.?|\d*[.,]\d+|[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?|[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?)(?:[eE][+-]?\d+)?"
)
SPACED = re.compile(r"[+-]?[1-9]\d{0,2}(?:[ '’]\d{3})+(?:[.,]\d+)?")  # thousands set apart by a blank or apostrophe
CLOCK = re.compile(
    r"(?:\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[ T])?(?:\d{1,2}:)?\d{1,2}:\d{2}(?:[.,]\d+)?(?: ?[AaPp]\.?[Mm]\.?)?"
)
ODD_CHARACTERS = {"\u2212": "-", "\u00a0": " ", "\u202f": " "}  # typographic minus, no-break blanks
LONGEST = 40  # characters of a number
DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "blanks"}


def split_line(line: str, delimiter: str) -> list[str]:
    """Cells of a line, blanks round them off; quotes are honoured."""
    if not line.isascii():
        for odd, plain in ODD_CHARACTERS.items():
            line = line.replace(odd, plain)
    if delimiter == " ":
        return line.split()
    if '"' in line:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]
    return [cell.strip() for cell in line.split(delimiter)]


def kind_of(cell: str, delimiter: str) -> CellKind:
    if cell.lower() in MISSING:
        return "missing"
    if NUMBER.fullmatch(cell) or (delimiter in ";\t" and SPACED.fullmatch(cell)):
        return "number"
    return "clock" if CLOCK.fullmatch(cell) else "text"


@frozen
class Marks:
    decimal: str = "."
    thousands: str | None = None


def number_of(cell: str, marks: Marks) -> float | None:
    """The number that a cell is by the marks of its log; None where it is none, or has the other decimal mark."""
    plain = cell.replace(marks.thousands, "") if marks.thousands else cell
    if marks.decimal == ",":
        plain = "" if "." in plain else plain.replace(",", ".")
    if len(cell) > LONGEST or "_" in plain or not plain.isascii():
        return None
    try:
        value = float(plain)
    except ValueError:
        return None
    return None if value != value else value


@frozen
class Cell:
    text: str
    spot: str  # file, line and column, for an error


@dataclass
class _Evidence:
    """Examples of cells that prove a mark to be decimal or thousands, or leave it open; keyed by the mark."""

    decimal: dict[str, Cell] = field(default_factory=dict)
    thousands: dict[str, Cell] = field(default_factory=dict)
    open: dict[str, Cell] = field(default_factory=dict)


def _keep(examples: dict[str, Cell], mark: str, cell: Cell) -> None:
    """The first example of a mark, but rather one that is not nothing but zeros."""
    if mark not in examples or not re.search("[1-9]", examples[mark].text):
        examples[mark] = cell


def number_marks(columns: Iterable[Sequence[Cell]], declared: str | None) -> Marks:
    """Decimal and thousands marks of the number cells given column by column.

    Raises UnreadableLog where cells contradict each other or leave the reading open; both readings are shown.
    """
    evidence = _Evidence()
    for cells in columns:
        _column_evidence(cells, evidence)
    decimal = _decimal(evidence, declared)
    other = "," if decimal == "." else "."
    proof = evidence.decimal.get(decimal)
    if decimal in evidence.thousands:
        raise mixed_marks(evidence.thousands[decimal], proof)
    if other in evidence.open and other not in evidence.thousands and not declared:
        raise mixed_marks(evidence.open[other], proof)
    spaced = next((mark for mark in " '’" if mark in evidence.thousands), None)
    return Marks(decimal, other if other in {**evidence.thousands, **evidence.open} else spaced)


def _decimal(evidence: _Evidence, declared: str | None) -> str:
    if declared:
        return declared
    if len(evidence.decimal) > 1:
        raise mixed_marks(evidence.decimal[","], evidence.decimal["."])
    if evidence.decimal:
        return next(iter(evidence.decimal))
    unproved = [mark for mark in evidence.open if mark not in evidence.thousands]
    if unproved:
        raise mixed_marks(evidence.open[unproved[0]])
    return "," if "." in evidence.thousands else "."


def _column_evidence(cells: Sequence[Cell], evidence: _Evidence) -> None:
    undecided: list[Cell] = []
    bare = decimals = 0
    for cell in cells:
        body = cell.text.lstrip("+-").lower().split("e")[0]
        for blank in " '’":
            if blank in body:
                _keep(evidence.thousands, blank, cell)
                body = body.replace(blank, "")
        marks = [c for c in body if c in ".,"]
        if not marks:
            bare += 1
        elif len(set(marks)) == 2:
            _keep(evidence.decimal, marks[-1], cell)
            _keep(evidence.thousands, marks[0], cell)
        elif len(marks) > 1:
            _keep(evidence.thousands, marks[0], cell)
        elif _must_be_decimal(body, marks[0]):
            _keep(evidence.decimal, marks[0], cell)
            decimals += 1
        else:
            undecided.append(cell)
    proved = not bare and not decimals and len({cell.text for cell in cells}) > 1  # else numbers below 1000 had no mark
    for cell in undecided:
        mark = "," if "," in cell.text else "."
        if proved:
            _keep(evidence.decimal, mark, cell)
        elif mark not in evidence.decimal:
            _keep(evidence.open, mark, cell)


def _must_be_decimal(body: str, mark: str) -> bool:
    """True where the only mark cannot set thousands apart: not three digits behind, or none, a zero or four before."""
    before, _, after = body.partition(mark)
    return len(after) != 3 or len(before) > 3 or before == "" or before.startswith("0")


def mixed_marks(cell: Cell, against: Cell | None = None) -> UnreadableLog:
    """The error for a cell that can be read in two ways."""
    beside = f" next to {against.text!r}" if against and against.text != cell.text else ""
    return UnreadableLog(
        cell.spot,
        f"found {cell.text!r}{beside}: with a decimal comma it is {_read_with(cell.text, ',')},"
        f" with a decimal point it is {_read_with(cell.text, '.')}",
        "one decimal mark in the whole log",
        "export the log again with one decimal mark, or state it in bench.toml: [text] decimal",
    )


def shown(text: str) -> str:
    """A cell in quotes, odd characters made plain, cut where it is long."""
    return ascii(text if len(text) <= 40 else text[:37] + "...")


def listed(names: Sequence[str], most: int = 12) -> str:
    """Names in quotes, one after the other; of many the first."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(repr(name if len(name) <= 40 else name[:37] + "...") for name in names[:most]) + more


def _read_with(text: str, decimal: str) -> str:
    """The number that a cell is if `decimal` is its decimal mark, in plain digits."""
    bare = "".join(c for c in text if c.isalnum() or c in "+-" or c == decimal).replace(decimal, ".")
    try:
        return f"{float(bare):.12g}"
    except ValueError:
        return "no number"
