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
from dampkit.report.page import name_of, page_of
from dampkit.report.words import VERDICTS


def render_sheets(result: Result | dict[str, Any], look: Look = ALONE, earlier: Earlier | None = None) -> str:
    """Both sheets and the page in one HTML text, a printed side each for the first two; the same result, the same text.

    Raises BadSettings where a dictionary is not a result in the format of this version.
    """
    return page_of(result, look, "sheets.html", lambda known: sheet_view(known, look, earlier))


def write_sheets(
    result: Result | dict[str, Any], path: Path, look: Look = ALONE, earlier: Earlier | None = None
) -> Path:
    """Write them whole or not at all. Raises BadSettings where the place cannot be written to."""
    return write_text(path, render_sheets(result, look, earlier))


def sheet_view(result: Result, look: Look, earlier: Earlier | None = None) -> dict[str, Any]:
    """Everything that the templates of the two sheets print."""
    return {
        "result": result,
        "unit": name_of(result.damper.serial, "no serial given"),
        "saying": VERDICTS[result.verdict.action],
        "customer": customer_sheet(result, look.writer, earlier),
        "mechanic": mechanic_sheet(result, look.writer),
        "earlier": earlier,
    }
