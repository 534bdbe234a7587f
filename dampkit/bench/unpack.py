"""Files that are no plain text become the text of a table: gzip, spreadsheets, rows of JSON.

Cells come out with all their digits, apart by tabs, a line a row, so that a line number is the sheet's row.
"""

from __future__ import annotations

import io
import json
import math
import re
import sys
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from dampkit.bench import gate
from dampkit.bench.cells import listed
from dampkit.bench.declared import BenchSpec
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen

ZIP, OLD_SHEET = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
JSON_BEGINS = re.compile(rb'(?:\xef\xbb\xbf)?\s*(?:\{\s*"|\[\s*[\[{])')
SHEET_SECONDS = 60  # a log of the largest size allowed takes a fraction of it
SHEET_ROWS = 3  # rows with two numbers or more that make a sheet worth reading
Cells = Sequence[Sequence[Any]]


@frozen
class Text:
    """Bytes of a text; `made_here` where it was written out from cells, with tabs and decimal points."""

    data: bytes
    kind: str = ""
    made_here: bool = False


def as_text(data: bytes, spec: BenchSpec, where: str) -> Text:
    """Raises UnreadableLog where the file is damaged, or does not tell which of its sheets is meant."""
    kind = ""
    if data.startswith(gate.GZIP):
        data, kind = gate.unpacked(data, where, gate.A_LOG), "gzip, "
    if data.startswith((ZIP, OLD_SHEET)):
        return Text(_sheet(data, spec.log.sheet, where), kind + "spreadsheet", made_here=True)
    if JSON_BEGINS.match(data[:200]):
        found = _json_rows(data, where)
        if found is not None:
            return _written(found, kind + "JSON", where)
    return Text(data, kind)


def _written(cells: Cells, kind: str, where: str) -> Text:
    _refuse_wide(max((len(row) for row in cells), default=0), where)
    lines = ("\t".join(_cell(cell) for cell in row) for row in cells)
    return Text(("\n".join(lines) + "\n").encode(), kind, made_here=True)


def _cell(value: Any) -> str:
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else ""
    return " ".join(str(value).replace('"', "''").split())


def _sheet(data: bytes, wanted: str | None, where: str) -> bytes:
    """The text of the one sheet that is meant, a line a row."""
    if data.startswith(ZIP):
        _check_archive(data, where)
    book = _read_apart(data, wanted, where)
    sheets: dict[str, dict[str, Any]] = book["sheets"]
    if not sheets:
        found = f"there is no sheet {wanted!r}; there are {listed(book['names'])}"
        raise UnreadableLog(where, found, "a sheet of this file", "correct [log] sheet in bench.toml")
    fitting = [name for name, sheet in sheets.items() if sheet["numeric"] >= SHEET_ROWS or len(sheets) == 1]
    if len(fitting) != 1:
        found = f"{len(fitting)} of its sheets hold a table of numbers: {listed(fitting or list(sheets))}"
        do = f'name one in bench.toml: [log] sheet = "{(fitting or list(sheets))[0]}"'
        raise UnreadableLog(where, found, "one sheet to read", do)
    _refuse_wide(int(sheets[fitting[0]]["width"]), where)
    return str(sheets[fitting[0]]["text"]).encode()


def _read_apart(data: bytes, wanted: str | None, where: str) -> dict[str, Any]:
    """What `sheets` answers, in a process of its own, which a damaged file may end."""
    import subprocess

    command = [sys.executable, "-P", str(Path(__file__).with_name("sheets.py")), str(gate.COLUMNS.most)]
    command += [wanted] if wanted is not None else []
    answer = {"error": "its cells take more memory than a bench's log would"}
    try:
        said = subprocess.run(command, input=data, capture_output=True, check=False, timeout=SHEET_SECONDS)
        if said.returncode == 0:
            answer = json.loads(said.stdout)
    except subprocess.TimeoutExpired:
        answer = {"error": f"it takes more than {SHEET_SECONDS} s to read"}
    if "error" in answer:
        found = f"this is no spreadsheet that can be read: {answer['error']}"
        raise UnreadableLog(where, found, "an .xlsx, .xls or .ods file", "export the log as CSV")
    return answer


def _refuse_wide(columns: int, where: str) -> None:
    if columns > gate.COLUMNS.most:
        raise UnreadableLog(where, f"{columns} columns", f"at most {gate.COLUMNS.most} columns", gate.COLUMNS.do())


def _check_archive(data: bytes, where: str) -> None:
    """What a zip would unpack to is counted by unpacking it, since what it says of itself may be wrong."""
    most, size = gate.UNPACKED.most, 0
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            pieces = _unzipped(archive)
            while size <= most and (piece := next(pieces, b"")):
                size += len(piece)
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, ValueError, OSError) as error:
        found = f"this is no whole spreadsheet: {' '.join(str(error).split())[:120]}"
        raise UnreadableLog(where, found, "a whole file", "copy it from the bench again") from None
    if size > most:
        raise UnreadableLog(where, f"more than {most} {gate.UNPACKED.what}", "a log of that size", gate.UNPACKED.do())


def _unzipped(archive: zipfile.ZipFile) -> Iterator[bytes]:
    for member in archive.infolist():
        with archive.open(member) as file:
            while piece := file.read(gate.PIECE):
                yield piece


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
