"""Bytes kept exactly as they were, compressed, each content once under its SHA-256."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zlib
from collections.abc import Mapping
from typing import Any

from dampkit.frozen import frozen

LEVEL = 6


@frozen
class Packed:
    """Bytes ready to be stored: hash and size are those of the bytes as they came."""

    sha256: str
    size_bytes: int
    packed: bytes


def sha256_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def pack(data: bytes) -> Packed:
    return Packed(sha256_of(data), len(data), zlib.compress(data, LEVEL))


def unpack(packed: bytes) -> bytes:
    """The bytes as they came. Raises zlib.error where they are damaged."""
    return zlib.decompress(packed)


def plain_json(value: Any) -> bytes:
    """One way to write a value, so that equal values are equal bytes. Raises ValueError for nan and infinity."""
    return json.dumps(value, allow_nan=False, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def insert(connection: sqlite3.Connection, table: str, row: Mapping[str, Any], *, once: bool = False) -> int:
    """Add a row by the names of its columns; the number that it got. `once`: unless its key is there already."""
    names, marks = ", ".join(row), ", ".join(f":{name}" for name in row)
    how = "INSERT OR IGNORE" if once else "INSERT"
    return int(connection.execute(f"{how} INTO {table} ({names}) VALUES ({marks})", row).lastrowid or 0)


def keep(connection: sqlite3.Connection, content: Packed) -> None:
    """Store the bytes unless they are there already."""
    insert(connection, "content", vars(content), once=True)


def kept(connection: sqlite3.Connection, sha256: str) -> bytes | None:
    """The bytes with this hash, or None where the book does not hold them."""
    row = connection.execute("SELECT packed FROM content WHERE sha256 = ?", (sha256,)).fetchone()
    return None if row is None else unpack(row[0])
