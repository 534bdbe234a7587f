"""Cells of a log: how a line is split, what a cell is, and which mark is the decimal one."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from dampkit.bench.words import MISSING
from dampkit.errors import UnreadableLog

CellKind = Literal["number", "clock", "missing", "text"]
NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d+)*\.?|[.,]\d+)(?:[eE][+-]?\d+)?")
SPACED = re.compile(r"[+-]?[1-9]\d{0,2}(?:[ '’]\d{3})+(?:[.,]\d+)?")  # thousands set apart by a blank or apostrophe
CLOCK = re.compile(r"(?:\d{1,4}[-./]\d{1,2}[-./]\d{1,4}[ T])?(?:\d{1,2}:)?\d{1,2}:\d{2}(?:[.,]\d+)?")
ODD_CHARACTERS = {"\u2212": "-", "\u00a0": " ", "\u202f": " "}  # typographic minus, no-break blanks
DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "blanks"}
MARK_NAMES = {",": "comma", ".": "point"}


def split_line(line: str, delimiter: str) -> list[str]:
    """Cells of a line, blanks round them off; quotes are honoured."""
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


@dataclass(frozen=True)
class Marks:
    decimal: str = "."
    thousands: str | None = None


@dataclass
class _Evidence:
    """Examples of cells that prove a mark to be decimal or thousands, or leave it open; keyed by the mark."""

    decimal: dict[str, str] = field(default_factory=dict)
    thousands: dict[str, str] = field(default_factory=dict)
    open: dict[str, str] = field(default_factory=dict)


def number_marks(columns: Iterable[Sequence[str]], declared: str | None, where: str) -> Marks:
    """Decimal and thousands marks of the number cells given column by column.

    Raises UnreadableLog where cells contradict each other or leave the reading open; both readings are shown.
    """
    evidence = _Evidence()
    for cells in columns:
        _column_evidence(cells, evidence)
    decimal = _decimal(evidence, declared, where)
    other = "," if decimal == "." else "."
    if decimal in evidence.thousands:
        raise mixed_marks(where, evidence.thousands[decimal], evidence.decimal.get(decimal, ""))
    if other in evidence.open and other not in evidence.thousands and not declared:
        raise mixed_marks(where, evidence.open[other], evidence.decimal.get(decimal, ""))
    spaced = next((mark for mark in " '’" if mark in evidence.thousands), None)
    return Marks(decimal, other if other in {**evidence.thousands, **evidence.open} else spaced)


def _decimal(evidence: _Evidence, declared: str | None, where: str) -> str:
    if declared:
        return declared
    if len(evidence.decimal) > 1:
        raise mixed_marks(where, evidence.decimal[","], evidence.decimal["."])
    if evidence.decimal:
        return next(iter(evidence.decimal))
    unproved = [mark for mark in evidence.open if mark not in evidence.thousands]
    if unproved:
        raise mixed_marks(where, evidence.open[unproved[0]], "")
    return "," if "." in evidence.thousands else "."


def _column_evidence(cells: Sequence[str], evidence: _Evidence) -> None:
    undecided: list[str] = []
    bare = decimals = 0
    for cell in cells:
        body = cell.lstrip("+-").lower().split("e")[0]
        for blank in " '’":
            if blank in body:
                evidence.thousands.setdefault(blank, cell)
                body = body.replace(blank, "")
        marks = [c for c in body if c in ".,"]
        if not marks:
            bare += 1
        elif len(set(marks)) == 2:
            evidence.decimal.setdefault(marks[-1], cell)
            evidence.thousands.setdefault(marks[0], cell)
        elif len(marks) > 1:
            evidence.thousands.setdefault(marks[0], cell)
        elif _must_be_decimal(body, marks[0]):
            evidence.decimal.setdefault(marks[0], cell)
            decimals += 1
        else:
            undecided.append(cell)
    for cell in undecided:
        mark = "," if "," in cell else "."
        if not bare and not decimals and len({c for c in cells}) > 1:
            evidence.decimal.setdefault(mark, cell)  # thousands marks would be missing from numbers below 1000
        elif mark not in evidence.decimal:
            evidence.open.setdefault(mark, cell)


def _must_be_decimal(body: str, mark: str) -> bool:
    """True where the only mark cannot set thousands apart: not three digits behind, or none, a zero or four before."""
    before, _, after = body.partition(mark)
    return len(after) != 3 or before in {"", "0", "00"} or len(before) > 3 or before.startswith("0")


def mixed_marks(where: str, cell: str, against: str) -> UnreadableLog:
    """The error for a cell that can be read in two ways."""
    mark = next((c for c in cell if c in ",."), ",")
    as_decimal = cell.replace(mark, ".")
    as_thousands = cell.replace(mark, "")
    beside = f" next to {against!r}" if against and against != cell else ""
    return UnreadableLog(
        where,
        f"found {cell!r}{beside}: with a decimal {MARK_NAMES[mark]} it is {as_decimal},"
        f" with thousands set apart by a {MARK_NAMES[mark]} it is {as_thousands}",
        "one decimal mark in the whole log",
        "export the log again with one decimal mark, or state it in bench.toml: [text] decimal",
    )
