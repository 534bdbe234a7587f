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
import unicodedata

_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff]")
NO_BREAK = "\N{NO-BREAK SPACE}"  # between a number and its unit
HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}  # controls, direction marks, halves of pairs, private use, separators


def printable(text: str) -> str:
    """Foreign text without what would move a terminal's cursor, change its colours or turn its direction."""
    return _UNPRINTABLE.sub("\ufffd", text)


def visible(text: str) -> str:
    """Control and direction characters are spelt out as `<U+202E>`; new lines and tabs become spaces."""
    if text.replace(NO_BREAK, "").isprintable():
        return text
    flat = " ".join(text.split())
    return "".join(f"<U+{ord(c):04X}>" if unicodedata.category(c) in HIDDEN else c for c in flat)


class DampkitError(Exception):
    """Base of every error that is meant for the person at the bench.

    Examples
    --------
    >>> try:
    ...     dampkit.read_run("missing.csv")
    ... except dampkit.DampkitError as error:
    ...     error.exit_status, error.where, error.found
    (3, 'missing.csv', 'no such file')
    """

    exit_status = 70

    def __init__(self, where: str, found: str, expected: str = "", do: str = "") -> None:
        self.where, self.found, self.expected, self.do = (printable(part) for part in (where, found, expected, do))
        super().__init__("\n".join(self.lines()))

    def __reduce__(self) -> tuple[type[DampkitError], tuple[str, str, str, str]]:
        """So that it comes whole from another process."""
        return type(self), (self.where, self.found, self.expected, self.do)

    def lines(self) -> list[str]:
        """One to three plain lines: where and found; expected; what to do."""
        rows = [f"{self.where}: {self.found}"]
        if self.expected:
            rows.append(f"Expected: {self.expected}")
        if self.do:
            rows.append(f"Do: {self.do}")
        return rows


class BadSettings(DampkitError):
    """Wrong usage, or a TOML file that cannot be used.

    Examples
    --------
    >>> dampkit.need({"corner": {"sprung_mass_kg": -1.0}})
    Traceback (most recent call last):
    dampkit.errors.BadSettings: ...
    """

    exit_status = 2


class UnreadableLog(DampkitError):
    """The log cannot be read as a table of channels.

    Examples
    --------
    >>> dampkit.read_run(b"no table at all")
    Traceback (most recent call last):
    dampkit.errors.UnreadableLog: bytes: ...
    """

    exit_status = 3


class DataError(UnreadableLog):
    """A DataFrame or arrays hold what no bench writes; `where` names column and row, rows counted from 0.

    Examples
    --------
    >>> dampkit.read_run({"time_s": [0.0, 0.1], "force_n": [1.0]})
    Traceback (most recent call last):
    dampkit.errors.DataError: arrays, column 'force_n': 1 values where column 'time_s' has 2
    ...
    """


class CannotAnalyse(DampkitError):
    """The log was read, but an analysis needs more than it holds.

    Examples
    --------
    >>> run = dampkit.read_run({"time_s": [0.01 * n for n in range(99)], "displacement_mm": range(99), "force_n": range(99)})
    >>> dampkit.curves(run)
    Traceback (most recent call last):
    dampkit.errors.CannotAnalyse: arrays: ...
    """

    exit_status = 4


class UnusableBook(DampkitError):
    """The job book cannot be opened, read or written.

    Examples
    --------
    >>> with dampkit.open_book("sample_runs/low_oil.csv") as book:
    ...     pass
    Traceback (most recent call last):
    dampkit.errors.UnusableBook: ...
    """

    exit_status = 5


def together(wrong: list[BadSettings]) -> BadSettings:
    """Several files that cannot be used, as one error in as many lines as one has."""
    first, *more = wrong
    if not more:
        return first
    found = [first.found, *(f"{error.where}: {error.found}" for error in more)]
    rest = (" | ".join(getattr(error, name) or "as it was" for error in wrong) for name in ("expected", "do"))
    return BadSettings(first.where, " | ".join(found), *rest)
