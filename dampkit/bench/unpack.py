"""Files that are no plain text become the text of a table: gzip, spreadsheets, rows of JSON.

Cells come out with all their digits, apart by tabs, a line a row, so that a line number is the sheet's row.
"""

from __future__ import annotations

import io
import json
import math
import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from dampkit.bench import gate
from dampkit.bench.cells import listed
from dampkit.bench.declared import BenchSpec
from dampkit.errors import UnreadableLog

GZIP, ZIP, OLD_SHEET = b"\x1f\x8b", b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
JSON_BEGINS = re.compile(rb'(?:\xef\xbb\xbf)?\s*(?:\{\s*"|\[\s*[\[{])')
SHEET_ROWS = 3  # rows with two numbers or more that make a sheet worth reading
Cells = Sequence[Sequence[Any]]


@dataclass(frozen=True)
class Text:
    """Bytes of a text; `made_here` where it was written out from cells, with tabs and decimal points."""

    data: bytes
    kind: str = ""
    made_here: bool = False


def as_text(data: bytes, spec: BenchSpec, where: str) -> Text:
    """Raises UnreadableLog where the file is damaged, or does not tell which of its sheets is meant."""
    kind = ""
    if data.startswith(GZIP):
        data, kind = gate.unpacked(data, where), "gzip, "
    if data.startswith((ZIP, OLD_SHEET)):
        return _written(_sheet(data, spec.log.sheet, where), kind + "spreadsheet", where)
    if JSON_BEGINS.match(data[:200]):
        found = _json_rows(data, where)
        if found is not None:
            return _written(found, kind + "JSON", where)
    return Text(data, kind)


def _written(cells: Cells, kind: str, where: str) -> Text:
    widest = max((len(row) for row in cells), default=0)
    if widest > gate.COLUMNS.most:
        found = f"{widest} columns"
        raise UnreadableLog(where, found, f"at most {gate.COLUMNS.most} columns", gate.COLUMNS.do())
    lines = ("\t".join(_cell(cell) for cell in row) for row in cells)
    return Text(("\n".join(lines) + "\n").encode(), kind, made_here=True)


def _cell(value: Any) -> str:
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else ""
    if isinstance(value, timedelta):
        return repr(value.total_seconds())
    if isinstance(value, datetime | time):
        return value.isoformat(*([" "] if isinstance(value, datetime) else []))
    if isinstance(value, date):
        return value.isoformat()
    return " ".join(str(value).replace('"', "''").split())


def _sheet(data: bytes, wanted: str | None, where: str) -> Cells:
    from python_calamine import CalamineError, CalamineWorkbook

    _check_archive(data, where)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        names = [name for name in book.sheet_names if wanted is None or name.casefold() == wanted.strip().casefold()]
        sheets = {name: _cells(book, name, where) for name in names}
    except (CalamineError, OSError, ValueError) as error:
        found = f"this is no spreadsheet that can be read: {' '.join(str(error).split())[:120]}"
        raise UnreadableLog(where, found, "an .xlsx, .xls or .ods file", "export the log as CSV") from None
    if not sheets:
        listing = listed(book.sheet_names)
        do = "correct [log] sheet in bench.toml"
        raise UnreadableLog(where, f"there is no sheet {wanted!r}; there are {listing}", "a sheet of this file", do)
    fitting = [name for name in sheets if _holds_a_table(sheets[name])] if len(sheets) > 1 else list(sheets)
    if len(fitting) != 1:
        found = f"{len(fitting)} of its sheets hold a table of numbers: {listed(fitting or list(sheets))}"
        do = f'name one in bench.toml: [log] sheet = "{(fitting or list(sheets))[0]}"'
        raise UnreadableLog(where, found, "one sheet to read", do)
    return sheets[fitting[0]]


def _cells(book: Any, name: str, where: str) -> Cells:
    sheet = book.get_sheet_by_name(name)
    if sheet.width > gate.COLUMNS.most:
        found = f"sheet {name!r} has {sheet.width} columns"
        raise UnreadableLog(where, found, f"at most {gate.COLUMNS.most} columns", gate.COLUMNS.do())
    cells: Cells = sheet.to_python(skip_empty_area=False)
    return cells


def _holds_a_table(cells: Cells) -> bool:
    rows = sum(sum(isinstance(c, int | float) for c in row) > 1 for row in cells[:10_000])
    return rows >= SHEET_ROWS


def _check_archive(data: bytes, where: str) -> None:
    """What a zip would unpack to is counted by unpacking it, since what it says of itself may be wrong."""
    if not data.startswith(ZIP):
        return
    most, size = gate.UNPACKED.most, 0
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for member in archive.infolist():
                with archive.open(member) as file:
                    for piece in gate.pieces(file):  # type: ignore[arg-type]
                        size += len(piece)
                        _refuse_bomb(size, most, where)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError, OSError) as error:
        found = f"this is no whole spreadsheet: {' '.join(str(error).split())[:120]}"
        raise UnreadableLog(where, found, "a whole file", "copy it from the bench again") from None
    except Exception as error:
        if type(error).__module__ != "zlib":
            raise
        found = f"this is no whole spreadsheet: {error}"
        raise UnreadableLog(where, found, "a whole file", "copy it from the bench again") from None


def _refuse_bomb(size: int, most: int, where: str) -> None:
    if size > most:
        raise UnreadableLog(where, f"more than {most} {gate.UNPACKED.what}", "a log of that size", gate.UNPACKED.do())


A_JSON_LOG = gate.Wanted("rows of a log as JSON: a list of objects, or an object of lists", gate.RESULT, UnreadableLog)


def _json_rows(data: bytes, where: str) -> Cells | None:
    """Rows of cells, the headings first; None where the text only looks like JSON and is none."""
    if len(data) > gate.RESULT.most:
        found = f"more than {gate.RESULT.most} bytes of JSON"
        raise UnreadableLog(where, found, A_JSON_LOG.what, gate.RESULT.do())
    if not data.rstrip().endswith((b"]", b"}")) and not where.lower().endswith((".json", ".json.gz")):
        return None
    plain = gate.plain_json(data, where, A_JSON_LOG)
    rows = _from_list(plain) if isinstance(plain, list) else _from_object(plain, where)
    if rows is None:
        raise UnreadableLog(where, "this is JSON, but no table", A_JSON_LOG.what, "export the log as CSV")
    return rows


def _from_list(plain: list[Any]) -> Cells | None:
    if plain and all(isinstance(row, dict) for row in plain):
        names = list(dict.fromkeys(str(key) for row in plain for key in row))
        return [names, *([row.get(name) for name in names] for row in plain)]
    if plain and all(isinstance(row, list) for row in plain):
        return plain
    return None


def _from_object(plain: dict[str, Any], where: str) -> Cells | None:
    """Lists of one length under their names; or one list of rows, its headings beside it where there are any."""
    said = [[f"{key}: {value}"] for key, value in plain.items() if isinstance(value, str | int | float)]
    lists = {str(key): value for key, value in plain.items() if isinstance(value, list) and value}
    flat = {key: value for key, value in lists.items() if not isinstance(value[0], list | dict)}
    nested = [value for key, value in lists.items() if key not in flat]
    if len(nested) == 1:
        rows = _from_list(nested[0])
        heads = [value for value in flat.values() if all(isinstance(cell, str) for cell in value)]
        return None if rows is None else [*said, *heads, *rows]
    flat = {key: value for key, value in flat.items() if not isinstance(value[0], str)}
    if nested or not flat:
        return None
    lengths = {key: len(value) for key, value in flat.items()}
    if len(set(lengths.values())) > 1:
        found = "lists of unequal length: " + ", ".join(
            f"{json.dumps(k)[:40]} {n}" for k, n in list(lengths.items())[:6]
        )
        raise UnreadableLog(where, found, "one reading of each channel a row", "export the log again")
    rows_of: Iterable[Sequence[Any]] = zip(*flat.values(), strict=True)
    return [*said, list(flat), *rows_of]
