"""Everything to print of one test: a side for the customer, a side for the mechanic, then the page as the evidence."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from dampkit.files import write_text
from dampkit.outcome.result import Result
from dampkit.report.customer_sheet import customer_sheet
from dampkit.report.document import ALONE, Look
from dampkit.report.earlier import Earlier
from dampkit.report.mechanic_sheet import mechanic_sheet
from dampkit.report.page import page_of


def render_sheets(result: Result | dict[str, Any], look: Look = ALONE, earlier: Earlier | None = None) -> str:
    """Both sheets and the page in one HTML text, a printed side each for the first two; the same result, the same text.

    Raises BadSettings where a dictionary is not a result in the format of this version.
    """
    return page_of(result, look, "sheets.html", lambda known: _view(known, look, earlier))


def write_sheets(
    result: Result | dict[str, Any], path: Path, look: Look = ALONE, earlier: Earlier | None = None
) -> Path:
    """Write them whole or not at all. Raises BadSettings where the place cannot be written to."""
    return write_text(path, render_sheets(result, look, earlier))


def _view(result: Result, look: Look, earlier: Earlier | None) -> dict[str, Any]:
    return {
        "customer": customer_sheet(result, look.writer, earlier),
        "mechanic": mechanic_sheet(result, look.writer),
        "earlier": earlier,
    }
