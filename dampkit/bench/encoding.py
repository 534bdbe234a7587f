"""The bytes of a log become 8-bit text that a parser can take."""

from __future__ import annotations

import codecs
import re
from typing import NamedTuple

from dampkit.errors import BadSettings, UnreadableLog

LOOK = 1 << 16
WORDS_IN = 4096  # bytes at the head of a log that hold its headings
_BOMS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_CONTROL = re.compile(rb"[\x01-\x08\x0e-\x1a\x1c-\x1f]")
_NOT_TEXT = {b"%PDF": "a PDF", b"\x89PNG": "a picture", b"\x1f\x8b": "gzip within gzip", b"SQLite": "a database"}
# beside Western Europe's: which of them makes headings words that are known; from several bytes a letter on, whole
OTHERS = ("cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp932", "gb18030", "euc_kr")
SEVERAL_BYTES = ("cp932", "gb18030", "euc_kr")


class EightBit(NamedTuple):
    text: bytes
    codec: str  # of the text as it is here
    encoding: str  # of the file


def as_8_bit(raw: bytes, declared: str | None, where: str) -> EightBit:
    """The log as 8-bit text without a byte-order mark.

    UTF-16 is turned into UTF-8. Raises UnreadableLog where the bytes are not text.
    """
    if not raw[:LOOK].strip(b"\x00\xff\xfe\xef\xbb\xbf \t\r\n"):
        raise _refuse(where, "the file is empty")
    for start, name in _NOT_TEXT.items():
        if raw.startswith(start):
            raise _refuse(where, f"this is {name}, not text")
    encoding, skip = _encoding(raw)
    encoding = declared or encoding
    if encoding in SEVERAL_BYTES or encoding.lower().replace("_", "-").startswith(("utf-16", "utf16", "utf-32")):
        text = _decode(raw[skip:], encoding, where)
        text = text if "\n" in text[:LOOK] else text.replace("\r", "\n")
        return EightBit(text.lstrip("\ufeff").encode("utf-8", errors="replace"), "utf-8", encoding)
    head = raw[skip : skip + LOOK]
    if b"\x00" in head or len(_CONTROL.findall(head)) > len(head) // 100:
        raise _refuse(where, "the bytes are not text")
    try:
        head.decode(encoding, errors="ignore")
    except LookupError:
        raise BadSettings("bench.toml, [text] encoding", f"found {encoding!r}", "such as utf-8 or cp1252") from None
    if b"\n" not in head:
        raw = raw.replace(b"\r", b"\n")
    return EightBit(raw[skip:] if skip else raw, encoding, encoding)


def _encoding(raw: bytes) -> tuple[str, int]:
    for mark, name in _BOMS:
        if raw.startswith(mark):
            return name, len(mark)
    head = raw[:LOOK]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if max(even, odd) > len(head) // 6 and min(even, odd) < len(head) // 50 + 1:
        return ("utf-16-le" if odd > even else "utf-16-be"), 0
    sample = head.rsplit(b"\n", 1)[0] + b"\n" + raw[-LOOK:].split(b"\n", 1)[-1]
    try:
        sample.decode("utf-8")
    except UnicodeDecodeError:
        return _by_words(sample), 0
    return "utf-8", 0


def _by_words(sample: bytes) -> str:
    """The encoding by which most words of the text's head are words of headings; the usual one where none tells."""
    from dampkit.bench.headings import foreign_words

    known = {name: foreign_words(text) for name in OTHERS if (text := _decoded(sample[:WORDS_IN], name)) is not None}
    best = max(known, key=lambda name: known[name], default="cp1252")
    return best if known.get(best, 0) else "cp1252"


def _decoded(sample: bytes, name: str) -> str | None:
    try:
        return sample.decode(name, errors="strict" if name in SEVERAL_BYTES else "replace")
    except UnicodeDecodeError as error:
        return sample[: error.start].decode(name) if error.start > len(sample) - 4 else None


def _decode(raw: bytes, encoding: str, where: str) -> str:
    try:
        return raw.decode(encoding, errors="replace")
    except LookupError:
        raise BadSettings("bench.toml, [text] encoding", f"found {encoding!r}", "such as utf-8 or cp1252") from None


def _refuse(where: str, found: str) -> UnreadableLog:
    return UnreadableLog(
        where, found, "a log as text, such as CSV", "export the log from the bench as CSV and give that file"
    )
