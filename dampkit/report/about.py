"""Whose unit, which job, when, by whom and checked by whom: the lines that every page and sheet carries."""

from __future__ import annotations

from dampkit.outcome.about_record import AboutRecord
from dampkit.outcome.result import Result

NAMES: dict[str, str] = {
    "job": "Job",
    "customer": "Customer",
    "vehicle": "Vehicle",
    "unit_type": "Type",
    "bench": "Bench",
    "tested_on": "Tested on",
    "tested_at": "At",
    "by": "By",
}
STALE = "signed before the change"


def about(result: Result) -> tuple[tuple[str, str | None], ...]:
    """Everything that may be said of a test with its name, None where nothing was said."""
    return lines(result.about or AboutRecord())


def lines(said: AboutRecord) -> tuple[tuple[str, str | None], ...]:
    """The same of what was said alone."""
    told = ((name, getattr(said, key)) for key, name in NAMES.items())
    return (*told, ("Checked by", checked(said)), ("Not tested here", came_from(said)))


def came_from(said: AboutRecord) -> str | None:
    """Where a test came from, with what its records gave here; None where it was made here."""
    if said.imported_from is None:
        return None
    return f"taken over from {said.imported_from}; its records give here: {said.verdict_here}"


def checked(said: AboutRecord) -> str | None:
    """The second person's check, with its day and whether it still stands; None where there was none."""
    if said.checked_by is None:
        return None
    parts = [
        said.checked_by,
        "not here" if said.check_imported else None,
        said.checked_on,
        said.check_note,
        STALE if said.check_stands is False else None,
    ]
    return ", ".join(part for part in parts if part)
