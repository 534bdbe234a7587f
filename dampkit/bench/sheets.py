"""Reads a spreadsheet in a process of its own: a damaged one may ask for more memory than there is, which ends a process.

    python -P sheets.py COLUMNS [SHEET] < FILE

Writes JSON: the names of all sheets; of each sheet asked for its width, its rows as tab-separated text, and how many of
them hold two numbers or more. Imports nothing of the package, so it starts quickly.
"""

from __future__ import annotations

import io
import json
import math
import sys
from datetime import date, datetime, time, timedelta
from typing import Any

MEMORY_BYTES = 2**29 + 2**28  # of addresses, the interpreter's own included
COUNTED = 10_000  # rows in which numbers are counted


def main(columns: int, wanted: str | None) -> None:
    _limit_memory()
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(sys.stdin.buffer.read()))
        asked = [n for n in book.sheet_names if wanted is None or n.casefold() == wanted.strip().casefold()]
        answer = {"names": book.sheet_names, "sheets": {name: _sheet(book, name, columns) for name in asked}}
    except (CalamineError, OSError, ValueError) as error:
        answer = {"error": " ".join(str(error).split())[:120]}
    json.dump(answer, sys.stdout)


def _limit_memory() -> None:
    """Where the system can; elsewhere it is the machine's own memory that ends the process."""
    if sys.platform == "win32":
        return
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    except (ImportError, OSError, ValueError):  # none of the kind, or one that may not be lowered as on macOS
        return


def _sheet(book: Any, name: str, columns: int) -> dict[str, Any]:
    sheet = book.get_sheet_by_name(name)
    if sheet.width > columns:
        return {"width": sheet.width, "numeric": 0, "text": ""}
    lines: list[str] = []
    numeric = 0
    for row in sheet.iter_rows():
        numeric += len(lines) < COUNTED and sum(isinstance(c, int | float) for c in row) > 1
        lines.append("\t".join(map(_cell, row)))
    return {"width": sheet.width, "numeric": numeric, "text": "\n".join(lines) + "\n"}


def _cell(value: Any) -> str:
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else ""
    if isinstance(value, timedelta):
        return repr(value.total_seconds())
    if isinstance(value, datetime):
        return value.isoformat(" ")
    if isinstance(value, date | time):
        return value.isoformat()
    return " ".join(str(value).replace('"', "''").split())


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else None)
