"""What can go wrong, and the exit status that says so.

    DampkitError
    ├── BadSettings       2   wrong usage, or a TOML file that cannot be used
    ├── UnreadableLog     3   the log cannot be read
    │   └── DataError     3   nor can columns that were given from Python: a DataFrame, arrays
    ├── CannotAnalyse     4   the log was read but does not hold what the analysis needs
    └── UnusableBook      5   the job book cannot be opened, read or written

Every message says where, what was found, what was expected and what to do.
"""

from __future__ import annotations

import re

_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff]")


def printable(text: str) -> str:
    """Foreign text without what would move a terminal's cursor, change its colours or turn its direction."""
    return _UNPRINTABLE.sub("\ufffd", text)


class DampkitError(Exception):
    """Base of every error that is meant for the person at the bench."""

    exit_status = 70

    def __init__(self, where: str, found: str, expected: str = "", do: str = "") -> None:
        self.where, self.found, self.expected, self.do = (printable(part) for part in (where, found, expected, do))
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """One to three plain lines: where and found; expected; what to do."""
        rows = [f"{self.where}: {self.found}"]
        if self.expected:
            rows.append(f"Expected: {self.expected}")
        if self.do:
            rows.append(f"Do: {self.do}")
        return rows


class BadSettings(DampkitError):
    """Wrong usage, or a TOML file that cannot be used."""

    exit_status = 2


class UnreadableLog(DampkitError):
    """The log cannot be read as a table of channels."""

    exit_status = 3


class DataError(UnreadableLog):
    """A DataFrame or arrays hold what no bench writes; `where` names column and row, rows counted from 0."""


class CannotAnalyse(DampkitError):
    """The log was read, but an analysis needs more than it holds."""

    exit_status = 4


class UnusableBook(DampkitError):
    """The job book cannot be opened, read or written."""

    exit_status = 5
