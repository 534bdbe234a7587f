"""Part of a book as one zip file of plain things, and back into another book.

    entries.jsonl      one line an entry: unit, job, day, who, settings, notes, photos, papers, what it corrects
    library.jsonl      one line a version of each unit type, vehicle and bench that they name
    results/UID.json   the stored result
    content/SHA256     logs, photos and drawings, byte for byte

An archive is read in memory and only into the book: no member is ever written to a file under its own name.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from dampkit.bench.gate import A_RESULT, AN_ARCHIVE, ARCHIVE, UNPACKED, regular_file
from dampkit.bench.gate import plain_json as plain_json_of
from dampkit.errors import BadSettings
from dampkit.files import whole_file
from dampkit.frozen import frozen
from dampkit.store.again import analysed_again
from dampkit.store.archive_library import CardLine, Line, card_lines, cards_within, imported
from dampkit.store.book import Book, add_within, beside_within, origin_within
from dampkit.store.content import Packed, pack, plain_json, sha256_of
from dampkit.store.facts import facts_within
from dampkit.store.papers import Paper, paper_within, papers_of
from dampkit.store.place import plain_errors
from dampkit.store.record import Added, Again, Beside, Circumstances, Entry, NewEntry, Tell, not_told
from dampkit.store.schema import writing

LIST, LIBRARY = "entries.jsonl", "library.jsonl"
MEMBER = re.compile(r"(?:entries|library)\.jsonl|results/[0-9a-f]{64}\.json|content/[0-9a-f]{64}")
EXPECTED = "an archive made by `dampkit book export`"
Listed = TypeVar("Listed", bound=BaseModel)


def export(book: Book, entries: Iterable[Entry], place: Path, tell: Tell = not_told) -> int:
    """Write the entries, and those that they correct, with all that belongs to them; gives how many.

    `tell` hears how many are written, and of how many.
    Raises BadSettings where the place cannot be written to.
    """
    chosen: dict[int, Entry] = {}
    for entry in entries:
        _with_corrected(book, entry, chosen)
    with (
        whole_file(place, make_folder=True, private=True) as draft,
        zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        written: set[str] = set()
        lines = []
        for number in sorted(chosen):
            lines.append(_write_entry(book, archive, chosen[number], written))
            tell(len(lines), len(chosen))
        cards = card_lines(book, chosen)
        _write_contents(book, archive, (drawing["sha256"] for card in cards for drawing in card["drawings"]), written)
        for name, listed in ((LIST, lines), (LIBRARY, cards)):
            if listed or name == LIST:
                archive.writestr(_member(name), b"".join(plain_json(line) + b"\n" for line in listed))
    return len(chosen)


def import_archive(book: Book, place: Path, who: str = "unknown", tell: Tell = not_told) -> tuple[Added, ...]:
    """Add everything in an archive, in one transaction: all of it or, where anything is wrong, nothing.

    One entry at a time is held in memory; `tell` hears how many were read and analysed again, and of how many.
    Every fresh entry is marked as imported, with the verdict that its records give when they are analysed again here.
    Entries that the book has already are left as they are. Raises BadSettings where the file is no such archive, holds a
    member that does not belong there, or one that does not fit its hash.
    """
    try:
        with regular_file(place, AN_ARCHIVE) as file, zipfile.ZipFile(file) as archive:
            _refuse_strangers(place, archive)
            lines, cards = _lines(archive, LIST, Line), _cards(archive)
            if not lines:
                raise ValueError("it lists no entry")
            again = []
            for line in lines:  # all of them before the book is locked
                again.append(_again(book, _part(archive, line, place.name), place.name, who))
                tell(len(again), len(lines))
            with plain_errors(book.place), writing(book.connection):
                cards_within(book, cards, place.name)
                return _add_all(book, (_part(archive, line, place.name) for line in lines), again)
    except OSError as error:
        found = f"cannot be read: {error.strerror or error}"
        raise BadSettings(str(place), found, EXPECTED, "check the path and the spelling") from None
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError, NotImplementedError, RuntimeError) as error:
        found = f"this is not a whole archive of a job book ({_shortly(error)})"
        raise BadSettings(str(place), found, EXPECTED, "export it again; nothing was added") from None


@frozen
class _Part:
    """One entry of an archive, checked against its hashes; what it corrects is known by its uid until it is added."""

    line: Line
    result: dict[str, Any]
    records: tuple[bytes, ...]
    beside: Beside
    papers: tuple[Paper, ...]

    def entry(self, corrects: int | None) -> NewEntry:
        first, *more = (pack(data) for data in self.records)
        said = Circumstances(**self.line.said.model_dump(), corrects=corrects)
        return NewEntry(self.result, first, self.line.settings, said, tuple(more))


def _part(archive: zipfile.ZipFile, line: Line, name: str) -> _Part:
    result = _checked(_plain(archive.read(f"results/{line.uid}.json")))
    records = tuple(_content(archive, sha256) for sha256 in (line.log, *_others(result)))
    kept = [(photo, None if photo.path is not None else pack(_content(archive, photo.sha256))) for photo in line.photos]
    papers = tuple(imported(paper, name) for paper in line.papers)
    part = _Part(line, result, records, Beside(tuple(line.notes), tuple(kept)), papers)
    if part.entry(None).uid(line.corrects) != line.uid:
        raise ValueError(f"entry {line.uid[:12]}... does not fit its hash")
    return part


def _again(book: Book, part: _Part, archive: str, who: str) -> Again | None:
    """None where the book has the entry already."""
    if book.has(part.line.uid):
        return None
    files = [file["file"] for file in part.result["run"].get("files", ())] or [part.result["run"]["file"]]
    repeated = analysed_again(list(zip(files, part.records, strict=True)), part.line.settings)
    return Again(archive, who, repeated.version, repeated.action, repeated.faults)


def _add_all(book: Book, parts: Iterable[_Part], again: Sequence[Again | None]) -> tuple[Added, ...]:
    ids: dict[str, int] = {}
    return tuple(_add(book, part, origin, ids) for part, origin in zip(parts, again, strict=True))


def _add(book: Book, part: _Part, origin: Again | None, ids: dict[str, int]) -> Added:
    line = part.line
    added = add_within(
        book.connection, part.entry(None if line.corrects is None else ids[line.corrects]), str(book.place)
    )
    ids[line.uid] = added.entry
    beside_within(book.connection, added.entry, part.beside)
    if added.fresh:
        facts_within(book.connection, added.entry, tuple(line.facts))
        for paper in part.papers:
            paper_within(book.connection, added.entry, paper)
        if origin is not None:
            origin_within(book.connection, added.entry, origin)
    return added


def _shortly(error: Exception) -> str:
    if isinstance(error, ValidationError):
        first = error.errors(include_input=False, include_url=False)[0]
        return f"{' '.join(str(part) for part in first['loc'])}: {first['msg']}"
    return str(error)


def _with_corrected(book: Book, entry: Entry, chosen: dict[int, Entry]) -> None:
    while entry.id not in chosen:
        chosen[entry.id] = entry
        if entry.corrects is None:
            return
        entry = book.entry(entry.corrects)


def _others(result: dict[str, Any]) -> list[str]:
    """Hashes of the records of a test beyond its first."""
    return [str(file["sha256"]) for file in result["run"].get("files", ())[1:]]


def _member(name: str) -> zipfile.ZipInfo:
    """A member with a fixed date, so that the same entries give the same archive."""
    info = zipfile.ZipInfo(name)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    return info


def _write_entry(book: Book, archive: zipfile.ZipFile, entry: Entry, written: set[str]) -> dict[str, Any]:
    photos, first = book.photos(entry.id), book.as_added(entry.id)
    result = book.result(entry.id)
    in_book = (photo.sha256 for photo in photos if photo.path is None)
    _write_contents(book, archive, (entry.log_sha256, *_others(result), *in_book), written)
    archive.writestr(_member(f"results/{entry.uid}.json"), plain_json(result))
    return {
        "uid": entry.uid,
        "corrects": None if entry.corrects is None else book.entry(entry.corrects).uid,
        "said": {
            "who": entry.who,
            "serial": first.serial,
            "job": first.job,
            "tested_on": first.tested_on,
            "added_at": entry.added_at,
        },
        "log": entry.log_sha256,
        "settings": book.settings(entry.id).written,
        "notes": [asdict(note) for note in book.notes(entry.id)],
        "photos": [asdict(photo) for photo in photos],
        "facts": [asdict(fact) for fact in book.facts(entry.id)],
        "papers": [asdict(paper) for paper in papers_of(book, entry.id)],
    }


def _write_contents(book: Book, archive: zipfile.ZipFile, hashes: Iterable[str], written: set[str]) -> None:
    for sha256 in hashes:
        if sha256 not in written:
            written.add(sha256)
            archive.writestr(_member(f"content/{sha256}"), book.content(sha256))


def _refuse_strangers(place: Path, archive: zipfile.ZipFile) -> None:
    """Names that do not belong, and more bytes than an archive, or one log in it, may hold."""
    size = 0
    for member in archive.infolist():
        if not MEMBER.fullmatch(member.filename):
            found = f"holds {member.filename!r}, which no archive of a job book holds"
            raise BadSettings(str(place), found, EXPECTED, "do not trust this file; nothing was added")
        size += member.file_size
        for limit, bytes_out in ((UNPACKED, member.file_size), (ARCHIVE, size)):
            if bytes_out > limit.most:
                found = f"{member.filename} would unpack to {bytes_out} bytes with what stands before it"
                raise BadSettings(str(place), found, f"at most {limit.most} {limit.what}", limit.do())


def _cards(archive: zipfile.ZipFile) -> list[tuple[CardLine, dict[str, Packed]]]:
    """None in an archive of before they were written."""
    lines = _lines(archive, LIBRARY, CardLine) if LIBRARY in archive.namelist() else []
    return [(line, {each.sha256: pack(_content(archive, each.sha256)) for each in line.drawings}) for line in lines]


def _lines(archive: zipfile.ZipFile, name: str, form: type[Listed]) -> list[Listed]:
    return [form.model_validate(_plain(line)) for line in archive.read(name).splitlines()]


def _plain(text: bytes) -> Any:
    return plain_json_of(text, LIST, A_RESULT)


def _content(archive: zipfile.ZipFile, sha256: str) -> bytes:
    data = archive.read(f"content/{sha256}")
    if sha256_of(data) != sha256:
        raise ValueError(f"content/{sha256[:12]}... does not fit its hash")
    return data


def _checked(result: Any) -> dict[str, Any]:
    """Only a result of a form that this version can show comes into the book; ValueError for anything else."""
    from dampkit.outcome.result import Result

    Result.read(result)
    checked: dict[str, Any] = result
    return checked
