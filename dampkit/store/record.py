"""What the book is given and what it gives back."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from datetime import UTC, date, datetime
from functools import cached_property
from typing import Annotated, Any

from pydantic import AfterValidator, ConfigDict, Field

from dampkit.frozen import frozen
from dampkit.outcome.about import today
from dampkit.outcome.result import Result
from dampkit.store.content import Packed, pack, plain_json, sha256_of
from dampkit.store.settings import Settings


def not_told(done: int, of: int) -> None:
    """Where nobody listens."""


def _day(text: str) -> str:
    """ValueError for anything but a date as 2024-05-31."""
    try:
        if date.fromisoformat(text).isoformat() == text:
            return text
    except ValueError:
        pass
    raise ValueError("expected a date such as 2024-05-31")


def _moment(text: str) -> str:
    """ValueError for anything but a moment as `now` writes it."""
    datetime.fromisoformat(text)
    return text


Day = Annotated[str, AfterValidator(_day)]
Moment = Annotated[str, AfterValidator(_moment)]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Tell = Callable[[int, int], None]  # hears how much of a long work is done, and of how much
AS_WRITTEN = ConfigDict(extra="forbid")  # of what an archive may hold: nothing that this version would lose


@frozen
class Circumstances:
    """What a person adds to an analysis: whose unit, for which job, tested when, by whom, instead of which entry.

    `tested_on` is a date as 2024-05-31, today where it is empty; `added_at` is this moment where it is empty.
    """

    who: str
    serial: str | None = None
    job: str | None = None
    tested_on: str = ""
    corrects: int | None = None
    added_at: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)  # by the names of `store.facts.NAMES`

    @property
    def day(self) -> str:
        return self.tested_on or today()


@frozen
class NewEntry:
    """One analysis with the log it came from, byte for byte, ready to be added."""

    result: dict[str, Any]
    log: Packed
    settings: Settings
    said: Circumstances
    more: tuple[Packed, ...] = ()  # the other records of the same test

    @property
    def action(self) -> str:
        return str(self.result["verdict"]["action"])

    @property
    def faults(self) -> str:
        return fault_codes(self.result)

    @cached_property
    def result_json(self) -> bytes:
        return plain_json(self.result)

    @property
    def result_packed(self) -> bytes:
        return zlib.compress(self.result_json)

    def uid(self, corrects_uid: str | None) -> str:
        """The same for the same log, settings, unit, job, version and outcome, on whatever machine it is worked out.

        The name of the log file, the day and the person are no part of it.
        """
        run = {key: _nameless(value) for key, value in self.result["run"].items() if key != "file"}
        identity = {
            "result": {**self.result, "run": run},
            "log": self.log.sha256,
            "settings": self.settings.sha256,
            "serial": self.said.serial,
            "job": self.said.job,
            "corrects": corrects_uid,
        }
        return sha256_of(plain_json(identity))


def fault_codes(result: Mapping[str, Any]) -> str:
    """Codes of the faults found, then of those suspected with a question mark, separated by spaces."""
    listed = sorted(result["faults"], key=lambda fault: fault["level"] != "found")
    return " ".join(fault["code"] + ("" if fault["level"] == "found" else "?") for fault in listed)


def _nameless(value: Any) -> Any:
    """Records of a run, or its rows, without the names of their files."""
    if not isinstance(value, list | tuple):
        return value
    return [{k: v for k, v in part.items() if k != "file"} if isinstance(part, dict) else part for part in value]


@frozen
class Added:
    """`fresh` is False where the same analysis was in the book already, under this number."""

    entry: int
    fresh: bool


@frozen
class Entry:
    """One line of the book, with what stands now of serial, job, day and customer.

    `corrected_by` is the latest entry that corrects this one. `archive` names the file that it was imported from, and
    `action_again` the verdict that its records gave when they were analysed again here; None where it was made here.
    """

    id: int
    uid: str
    serial: str | None
    job: str | None
    file: str
    tested_on: str
    action: str
    faults: str
    version: str
    who: str
    added_at: str
    log_sha256: str
    settings_sha256: str
    corrects: int | None
    corrected_by: int | None
    customer: str | None
    unit_type: str | None
    archive: str | None
    action_again: str | None

    @property
    def differs(self) -> bool:
        """Imported, and this dampkit does not come to the verdict that was imported."""
        return self.action_again is not None and self.action_again != self.action


@frozen
class Note:
    __pydantic_config__ = AS_WRITTEN

    text: str
    who: str
    added_at: Moment


@frozen
class Photo:
    """`path` is None where the bytes are kept in the book."""

    __pydantic_config__ = AS_WRITTEN

    name: str
    sha256: Hash
    path: str | None
    who: str
    added_at: Moment


@frozen
class Beside:
    """Notes and photos that go with an entry; a photo's bytes are None where only its place and hash are noted."""

    notes: tuple[Note, ...] = ()
    photos: tuple[tuple[Photo, Packed | None], ...] = ()


@frozen
class Again:
    """What an archive's records gave when they were analysed again: by which version, and the codes of the faults."""

    archive: str
    who: str
    version: str
    action: str
    faults: str


def new_entry(result: Result, log: bytes | Sequence[bytes], settings: Settings, said: Circumstances) -> NewEntry:
    """An analysis made ready for the book; packing its records is done here, before the book is locked."""
    first, *more = [log] if isinstance(log, bytes) else log
    return NewEntry(result.to_dict(), pack(first), settings, said, tuple(pack(data) for data in more))


def now() -> str:
    """This moment, UTC, to the millisecond."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def moment_of(added_at: str) -> datetime:
    """What `now` wrote; books of the first version have it without a zone."""
    found = datetime.fromisoformat(added_at)
    return found if found.tzinfo else found.replace(tzinfo=UTC)
