"""A stored result, read back."""

from __future__ import annotations

from pathlib import Path

from dampkit.bench.gate import A_RESULT, GZIP, file_bytes, plain_json, unpacked
from dampkit.errors import BadSettings
from dampkit.outcome.result import Result
from dampkit.report.page import checked


def stored_result(place: Path) -> Result:
    """A result from a file of `analyse --json`, or from the folder `results` of a batch. Raises BadSettings."""
    raw = file_bytes(place, A_RESULT)
    if raw.startswith(GZIP):
        raw = unpacked(raw, str(place), A_RESULT)
    plain = plain_json(raw, str(place), A_RESULT)
    if isinstance(plain, dict) and isinstance(plain.get("result"), dict):
        plain = plain["result"]
    if not isinstance(plain, dict):
        raise BadSettings(str(place), "this is JSON, but no result", A_RESULT.what, "check the path")
    return checked(plain)
