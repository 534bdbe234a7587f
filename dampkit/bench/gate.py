"""The one gate for all that comes in: regular files only, no more of anything than a bench or a workshop would write.

Every limit can be raised by the environment variable that its message names.
"""

from __future__ import annotations

import json
import os
import re
import stat
import zlib
from pathlib import Path
from typing import Any, BinaryIO

from dampkit.errors import BadSettings, DampkitError, UnreadableLog
from dampkit.frozen import frozen

GZIP = b"\x1f\x8b"
PIECE, AT_ONCE = 1 << 16, 1 << 24
DOTS = 200
HEAD_LINES = 200  # by which the columns of a table are counted
KINDS = (
    (stat.S_ISDIR, "a directory"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)


@frozen
class Limit:
    """`variable` of the environment raises it; `what` names the unit in which it counts."""

    variable: str
    usual: int
    what: str

    @property
    def most(self) -> int:
        """Raises BadSettings where the environment holds no whole number."""
        text = os.environ.get(self.variable, "")
        if not text:
            return self.usual
        if not re.fullmatch(r"[1-9]\d{0,17}", text):
            raise BadSettings(self.variable, f"found {text[:40]!r}", "a whole number", "correct it or leave it out")
        return int(text)

    def do(self) -> str:
        return f"if it is right, allow more with {self.variable} in the environment"


LOG = Limit("DAMPKIT_MOST_LOG_BYTES", 2**31, "bytes of a log")
UNPACKED = Limit("DAMPKIT_MOST_UNPACKED_BYTES", 2**28, "bytes unpacked")
LINE = Limit("DAMPKIT_MOST_LINE_BYTES", 2**17, "bytes in a line")
COLUMNS = Limit("DAMPKIT_MOST_COLUMNS", 1000, "columns")
TOML = Limit("DAMPKIT_MOST_TOML_BYTES", 2**20, "bytes of a TOML file")
RESULT = Limit("DAMPKIT_MOST_RESULT_BYTES", 2**26, "bytes of a stored result")
NESTED = Limit("DAMPKIT_MOST_NESTING", 40, "brackets in one another")
ARCHIVE = Limit("DAMPKIT_MOST_ARCHIVE_BYTES", 2**31, "bytes of an archive unpacked")
Refusal = type[DampkitError]


@frozen
class Wanted:
    """What is expected at a place, the error where it is not that, and how much of it there may be."""

    what: str
    limit: Limit
    refusal: Refusal = BadSettings


A_LOG = Wanted("one log file", LOG, UnreadableLog)
A_TOML = Wanted("a TOML file", TOML)
AN_ARCHIVE = Wanted("an archive made by `dampkit book export`", ARCHIVE)
A_RESULT = Wanted("a result as `dampkit analyse --json` writes it", RESULT)


def file_bytes(path: Path, wanted: Wanted) -> bytes:
    """All of a regular file. Raises `wanted.refusal` for anything else, and where there is too much of it."""
    with regular_file(path, wanted) as file:
        try:
            data = file.read(os.fstat(file.fileno()).st_size + 1)
            while len(data) <= wanted.limit.most and (more := file.read(PIECE)):  # it grows, or does not say its size
                data += more
        except OSError as error:
            raise wanted.refusal(str(path), f"cannot be read: {_reason(error)}", wanted.what, "copy it again") from None
    check_size(len(data), str(path), wanted)
    return data


def check_size(size: int, where: str, wanted: Wanted) -> None:
    """Raises `wanted.refusal` where there is too much of it."""
    if size > wanted.limit.most:
        raise _too_large(where, wanted)


def regular_file(path: Path, wanted: Wanted) -> BinaryIO:
    """An open regular file, never a pipe or a device that would be waited for. Raises `wanted.refusal`."""
    try:
        before = path.stat()
        for is_kind, words in KINDS:
            if is_kind(before.st_mode):
                raise wanted.refusal(str(path), f"this is {words}", wanted.what, "name the file itself")
        if before.st_size > wanted.limit.most:
            raise _too_large(str(path), wanted)
        return open(path, "rb")
    except FileNotFoundError:
        raise wanted.refusal(str(path), "no such file", wanted.what, "check the path and the spelling") from None
    except (OSError, ValueError, RuntimeError) as error:
        raise wanted.refusal(str(path), f"cannot be opened: {_reason(error)}", wanted.what, "check access") from None


def _reason(error: Exception) -> str:
    reason = getattr(error, "strerror", None) or str(error)
    return "its links go round in a circle" if "symbolic links" in reason or "ymlink loop" in reason else reason


def _too_large(where: str, wanted: Wanted) -> DampkitError:
    limit = wanted.limit
    return wanted.refusal(where, f"more than {limit.most} {limit.what}", wanted.what, limit.do())


def unpacked(data: bytes, where: str, wanted: Wanted) -> bytes:
    """The content of gzip bytes, all its members. Raises `wanted.refusal` where it is damaged or too much comes out."""
    most = UNPACKED.most
    out, size, left = [], 0, data
    unpacker = zlib.decompressobj(wbits=31)
    try:
        while left.strip(b"\0"):
            out.append(unpacker.decompress(left, AT_ONCE))
            size += len(out[-1])
            if size > most:
                raise wanted.refusal(where, f"more than {most} {UNPACKED.what}", wanted.what, UNPACKED.do())
            left = unpacker.unconsumed_tail
            if unpacker.eof:
                left, unpacker = unpacker.unused_data, zlib.decompressobj(wbits=31)
            elif not left:
                out.append(unpacker.flush())
                size += len(out[-1])
                _refuse_half(unpacker.eof)
    except zlib.error as error:
        found = f"this is no whole gzip file: {error}"
        raise wanted.refusal(where, found, wanted.what, "copy it again") from None
    return b"".join(out)


def _refuse_half(whole: bool) -> None:
    if not whole:
        raise zlib.error("it ends too early")


def check_lines(text: bytes, where: str) -> None:
    """Raises UnreadableLog where a line is longer, or its cells are more, than any bench writes."""
    most, begin = LINE.most, 0
    while len(text) - begin > most:  # from the last end of a line that is near enough to the next
        end = text.rfind(b"\n", begin, begin + most + 1)
        end = end if end >= 0 else text.rfind(b"\r", begin, begin + most + 1)
        if end < 0:
            line = text.count(b"\n", 0, begin) + 1
            found = f"a line of more than {most} bytes"
            raise UnreadableLog(f"{where}:{line}", found, "a row a sample, a line a row", LINE.do())
        begin = end + 1
    columns = COLUMNS.most
    for number, row in enumerate(text[: 8 * PIECE].split(b"\n", HEAD_LINES)[:HEAD_LINES], start=1):
        cells = 1 + max(row.count(mark) for mark in (b",", b";", b"\t", b"|"))
        if cells > columns:
            found = f"{cells} cells in a line"
            raise UnreadableLog(f"{where}:{number}", found, f"at most {columns} columns", COLUMNS.do())


def check_nesting(text: str, where: str, refusal: Refusal) -> None:
    """Raises `refusal` where brackets stand in one another deeper than anything dampkit reads."""
    most, depth = NESTED.most, 0
    for bracket in re.finditer(r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|[\[\]{}]', text):
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(bracket[0], 0)
        if depth > most:
            line = text.count("\n", 0, bracket.start()) + 1
            found = f"more than {most} {NESTED.what}"
            raise refusal(f"{where}:{line}", found, "plain keys and lists", NESTED.do())


def check_keys(text: str, where: str) -> None:
    """Raises BadSettings where a key of a TOML file has more parts than any section dampkit reads."""
    for number, line in enumerate(text.splitlines(), start=1):
        if any(part.count(".") > DOTS for part in line.split("=")):
            raise BadSettings(f"{where}:{number}", f"more than {DOTS} points in a key", "plain keys", "correct it")


def plain_json(data: bytes | str, where: str, wanted: Wanted) -> Any:
    """What JSON text holds. Raises `wanted.refusal` where it is none, too deep, or holds what is no finite number."""
    if len(data) > wanted.limit.most:
        raise _too_large(where, wanted)
    try:
        text = data if isinstance(data, str) else data.decode("utf-8-sig")
        check_nesting(text, where, wanted.refusal)
        return json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        found = f"this is no JSON: {' '.join(str(error).split())[:120]}"
        raise wanted.refusal(where, found, wanted.what, "check the file") from None


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")
