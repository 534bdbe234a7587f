"""What the commands of the job book do; the book itself is in `dampkit.store`."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.ask import missing, sure
from dampkit.app.at_book import place_of, the_book
from dampkit.app.book_words import LIST_LINE, about, both, list_line, nothing_found
from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import check_free, folder_for, whole_file, write_text
from dampkit.job import JobFiles
from dampkit.outcome.about import day_of_test
from dampkit.outcome.result import Result
from dampkit.report.document import Look
from dampkit.report.page import write_report
from dampkit.report.plain import visible
from dampkit.store.again import differing
from dampkit.store.archive import export, import_archive
from dampkit.store.book import Book, read_bytes
from dampkit.store.check import backup, complaints
from dampkit.store.content import pack, sha256_of
from dampkit.store.entry_sheets import write_entry_sheets
from dampkit.store.facts import NAMES, checked_facts
from dampkit.store.from_library import Named, from_library
from dampkit.store.history_page import followed, render_history, sentence
from dampkit.store.look_up import Question, count, find, history, of_another_unit
from dampkit.store.measures import MEASURES
from dampkit.store.record import Beside as Attached
from dampkit.store.record import Circumstances, Entry, Note, Photo, Tell, new_entry, not_told, now
from dampkit.store.second_check import as_it_stands, sign
from dampkit.store.settings import read_settings
from dampkit.store.table import Kind, check_kind, measure_columns, numbers, write_table
from dampkit.store.trend import Trend, trend
from dampkit.store.works import build_lines, passed_build
from dampkit.store.workshop import workshop_of

COLUMNS: dict[str, Kind] = {
    "entry": "count",
    "tested_on": "text",
    "serial": "text",
    "job": "text",
    "customer": "text",
    "unit_type": "text",
    "action": "text",
    "faults": "text",
    "file": "text",
    **measure_columns(),
    "corrects": "count",
    "corrected_by": "count",
    "archive": "text",
    "action_again": "text",
    "version": "text",
    "who": "text",
    "added_at": "text",
    "log_sha256": "text",
}


@dataclass(frozen=True)
class Beside:
    """Notes and photos that go with an entry; the bytes of `photos` are kept, of `photo_paths` only place and hash."""

    notes: Sequence[str] = ()
    photos: Sequence[Path] = ()
    photo_paths: Sequence[Path] = ()
    even_so: bool = False


@dataclass(frozen=True)
class Declared:
    """Files of the job, and cards of the library that are named instead of files."""

    files: JobFiles
    named: Named


def add(named: Path | None, logs: Sequence[Path], given: Declared, said: Circumstances, beside: Beside) -> None:
    """Analyse a test and add it with its records. Raises what the analysis raises, BadSettings and UnusableBook."""
    day_of_test(said.tested_on or None)
    said = replace(said, facts=checked_facts(said.facts, "book add"))
    with from_library(place_of(named), given.named, given.files) as (files, quality):
        settings, job = read_settings(files), files.load()
    test = dampkit.read_test(logs, job.bench).remarked(quality)
    data = [read_bytes(log, "a readable log file") for log in logs]
    result = analyse_job(test, job)
    if [file.sha256 for file in test.files] != [sha256_of(record) for record in data]:
        do = "wait until the bench has finished writing, then add it again"
        raise BadSettings(str(logs[0]), "the file changed while it was being read", "a finished log", do)
    said = replace(said, serial=_serial(said.serial, result.damper.serial) or missing("Serial of the unit"))
    papers = attached(beside, said.who)
    with the_book(named, create=True) as book:
        _ask_about_same(book, test.files[0].sha256, said.serial, beside.even_so)
        added = book.add(new_entry(result, data, settings, said), papers)
        word = "added as" if added.fresh else "this very analysis is already in the book:"
        say(f"{logs[0].name}: {word} entry {added.entry}, {result.verdict.action} ({book.place})")
        if result.verdict.action not in ("fit", "undecided"):
            _say_passed_build(book, given.named.unit_type)
    if said.serial is None:
        say(f"  no serial: `dampkit book amend {added.entry} --serial SERIAL` says whose test it is", err=True)


def _say_passed_build(book: Book, unit_type: str | None) -> None:
    """Where the work on this unit starts: the last build of its type that passed."""
    passed = None if unit_type is None else passed_build(book, unit_type)
    if passed is not None:
        entry, worked = passed
        say(f"  the last build of {unit_type} that passed (entry {entry.id}, {entry.tested_on}, by {worked.who}):")
        for line in build_lines(worked.work):
            say(f"    {visible(line)}")


def _ask_about_same(book: Book, log_sha256: str, serial: str | None, even_so: bool) -> None:
    """Raises BadSettings where the person does not want the same log under another serial."""
    first = of_another_unit(book, log_sha256, serial)
    if first is not None:
        found = (
            f"entry {first.id} of unit {first.serial} is this very log, byte for byte; this one is for unit {serial}"
        )
        sure("--serial", found, "one unit for one log", even_so=even_so)


def amend(named: Path | None, number: int, facts: Mapping[str, str], why: str, who: str) -> None:
    """Put right what was said about an entry."""
    if not facts:
        raise BadSettings("book amend", "nothing to put right", "a new serial, job, day, customer ...", "give one")
    facts = checked_facts(facts, "book amend")
    with the_book(named) as book:
        before = book.standing(number)
        changed = book.put_right(number, facts, why=why, who=who)
    for name in changed:
        say(f"entry {number}: {NAMES[name]} was {before.get(name) or 'not said'}, is now {facts[name] or 'not said'}")
    if not changed:
        say(f"entry {number}: stands as it was")


def annotate(named: Path | None, number: int, beside: Beside, who: str) -> None:
    """Add notes and photos to an entry."""
    if not (beside.notes or beside.photos or beside.photo_paths):
        raise BadSettings("book note", "neither a text nor a photo", "a text, --photo or --photo-path", "give one")
    papers = attached(beside, who)
    with the_book(named) as book:
        book.attach(number, papers)
    say(f"entry {number}: noted")


def second_check(named: Path | None, number: int, by: str, note: str) -> None:
    """Keep that a second person has checked an entry."""
    with the_book(named) as book:
        check = sign(book, number, by, note)
    say(f"entry {number}: checked by {check.by} on {check.on}")


def show_list(named: Path | None, question: Question) -> None:
    """One line an entry, latest first."""
    with the_book(named) as book:
        entries, total = find(book, question), count(book)
        none = "" if entries else nothing_found(book, question)
    say(LIST_LINE.format("entry", "tested on", "serial", "verdict", "faults", "job", "log"))
    for entry in entries:
        say(list_line(entry))
    more = f"; the latest {question.limit} are shown" if len(entries) == question.limit else ""
    say(f"{len(entries)} shown of {total} in the book{more}", err=True)
    if none:
        say(none, err=True)


def show(named: Path | None, number: int, outputs: dict[str, Path | None], imperial: bool = False) -> None:
    """All about an entry; `outputs` may name files for its result (json), page (report), sheets and log, and a folder for its photos."""
    with the_book(named) as book:
        entry, result = book.entry(number), book.result(number)
        for line in about(book, entry, result):
            say(visible(line))
        for kind, path in outputs.items():
            if path is not None:
                _write_out((kind, path), book, number, imperial)
                say(f"written: {path}")


def print_result(named: Path | None, number: int) -> None:
    """The result as JSON, and nothing else, on standard output."""
    with the_book(named) as book:
        say(as_json(as_it_stands(book, number)), nl=False)


def as_json(result: Result) -> str:
    return json.dumps(result.to_dict(), indent=1, allow_nan=False) + "\n"


def show_history(named: Path | None, serial: str, page: Path | None) -> None:
    """The trends of a unit in words, and on a page."""
    with the_book(named) as book:
        past, head = history(book, serial), workshop_of(book)
    for test in past:
        say(list_line(test.entry))
    for name, measure in MEASURES.items():
        days, values = followed(past, name)
        found = trend(days, values) if days else Trend(None)
        say(f"{measure.title}: {sentence(name, days, found)}")
    if page is not None:
        write_text(page, render_history(serial, past, head), make_folder=True)
        say(f"written: {page}")


def write_export(named: Path | None, to: Path, question: Question) -> None:
    """A .zip archive that `import` reads, or a .csv or .parquet table. Raises BadSettings for another ending."""
    say(f"written: {to}, {exported(named, to, question)} entries")


def exported(named: Path | None, to: Path, question: Question, tell: Tell = not_told) -> int:
    """The same without a word: how many entries were written; `tell` hears how many are."""
    check_kind(to, ".zip")
    with the_book(named) as book:
        entries = sorted(find(book, question), key=lambda entry: entry.id)
        if to.suffix == ".zip":
            return export(book, entries, to, tell)
        write_table(to, COLUMNS, _rows(book, entries, tell))
        return len(entries)


def take_in(named: Path | None, archive: Path, who: str) -> None:
    """Add what an archive holds and the book does not, and say where its logs give another verdict here."""
    with the_book(named, create=True) as book:
        added = import_archive(book, archive, who)
        fresh = [book.entry(each.entry) for each in added if each.fresh]
    say(f"{archive}: {len(fresh)} entries added, {len(added) - len(fresh)} there already ({book.place})")
    for entry in fresh:
        if entry.differs:
            found = f"imported as {entry.action}; analysed again here, its log gives {entry.action_again}"
            say(f"  entry {entry.id}, unit {entry.serial or '-'}: {found}", err=True)


def check(named: Path | None, again: bool = False) -> int:
    """Say what is wrong with the book; exit status 5 where anything is. `again` analyses every entry once more."""
    with the_book(named) as book:
        wrong, total = complaints(book), count(book)
        for entry, now_is in differing(book) if again and not wrong else ():
            say(f"  entry {entry.id}, unit {entry.serial or '-'}, dampkit {entry.version}: {both(entry, now_is)}")
    for complaint in wrong:
        say(f"dampkit: {book.place}: {complaint}", err=True)
    if wrong:
        say("  Do: keep this file as it is and go back to the last backup", err=True)
        return 5
    say(f"{book.place}: {total} entries, every byte as it was added")
    return 0


def make_backup(named: Path | None, to: Path) -> None:
    with the_book(named) as book:
        backup(book, to)
    say(f"written: {to}")


def _serial(said: str | None, declared: str | None) -> str | None:
    if said and declared and said != declared:
        found = f"found {said!r}, and the damper file says {declared!r}"
        raise BadSettings("--serial", found, "one serial", "leave one of them out, or correct it")
    return said or declared


def attached(beside: Beside, who: str) -> Attached:
    """Read what goes beside an entry, before the book is opened."""
    kept = [(path, True) for path in beside.photos] + [(path, False) for path in beside.photo_paths]
    photos = []
    for path, in_book in kept:
        data = read_bytes(path, "a photo")
        where = None if in_book else str(path.resolve())
        photos.append((Photo(path.name, sha256_of(data), where, who, now()), pack(data) if in_book else None))
    return Attached(tuple(Note(text, who, now()) for text in beside.notes), tuple(photos))


def _write_out(wanted: tuple[str, Path], book: Book, number: int, imperial: bool) -> None:
    kind, path = wanted
    if kind == "report":
        write_report(as_it_stands(book, number), path, Look(imperial, letterhead=workshop_of(book)))
        return
    if kind == "sheets":
        write_entry_sheets(book, number, path, imperial)
        return
    if kind == "json":
        contents = {path: as_json(as_it_stands(book, number)).encode()}
    else:
        contents = _records_to(path, book, number) if kind == "log" else _photos_to(path, book, number)
        for place in contents:
            check_free(place)
    for place, data in contents.items():
        with whole_file(place) as draft:
            draft.write_bytes(data)


def _records_to(path: Path, book: Book, number: int) -> dict[Path, bytes]:
    """Where each record of a test is written: the first to `path`, others beside it as `path-2` and so on."""
    (_, first), *more = book.records(number)
    beside = {path.with_name(f"{path.stem}-{i}{Path(name).suffix}"): data for i, (name, data) in enumerate(more, 2)}
    return {path: first, **beside}


def _photos_to(folder: Path, book: Book, number: int) -> dict[Path, bytes]:
    """Those that the book has, each under its number and name."""
    place, kept = folder_for(folder, "photos"), [photo for photo in book.photos(number) if photo.path is None]
    return {place / f"{n}-{Path(photo.name).name}": book.content(photo.sha256) for n, photo in enumerate(kept, 1)}


def _rows(book: Book, entries: Sequence[Entry], tell: Tell) -> Iterator[dict[str, Any]]:
    for done, entry in enumerate(entries, start=1):
        yield {**asdict(entry), "entry": entry.id, **numbers(book.measures(entry.id).items())}
        tell(done, len(entries))
