"""`dampkit book`: what is written into the job book."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.ask import missing, sure
from dampkit.app.at_book import person, place_of, the_book
from dampkit.app.book_words import Number
from dampkit.app.commands import group_of_commands
from dampkit.app.options import (
    AllFiles,
    Book,
    Car,
    Customer,
    Job,
    OnBench,
    Records,
    Serial,
    Technician,
    UnitType,
    Who,
)  # fmt: skip
from dampkit.app.say import say
from dampkit.errors import BadSettings, visible
from dampkit.files import write_text
from dampkit.job import Job as DeclaredJob
from dampkit.outcome.about import day_of_test, today

if TYPE_CHECKING:
    from dampkit.bench.run import Quality
    from dampkit.outcome.result import Result
    from dampkit.store.book import Book as OpenBook
    from dampkit.store.record import Beside

app = group_of_commands()

Photos = Annotated[list[Path] | None, typer.Option("--photo", metavar="FILE", help="A photo to keep in the book.")]
PhotoPaths = Annotated[
    list[Path] | None, typer.Option("--photo-path", metavar="FILE", help="A photo to note by its place and hash only.")
]


@app.command("add", epilog="Example: dampkit book add RUN.csv --damper DAMPER.toml --tested-on 2024-05-31")
def add_command(
    runs: Records,
    files: AllFiles,
    serial: Serial = None,
    job: Job = None,
    tested_on: Annotated[str, typer.Option(metavar="DATE", help="Day of the test; else today.")] = "",
    tested_at: Annotated[str, typer.Option(metavar="HH:MM", help="Time of the test.")] = "",
    customer: Customer = None,
    technician: Technician = None,
    unit_type: UnitType = None,
    car: Car = None,
    on: OnBench = None,
    corrects: Annotated[int | None, typer.Option(metavar="ENTRY", help="The entry that this one corrects.")] = None,
    even_so: Annotated[
        bool, typer.Option("--even-so", help="Add it although the book has these very bytes under another serial.")
    ] = False,
    note: Annotated[list[str] | None, typer.Option(metavar="TEXT", help="A note on it.")] = None,
    photo: Photos = None,
    photo_path: PhotoPaths = None,
    who: Who = None,
    book: Book = None,
) -> None:
    """Analyse a test and add it, with its records, to the book."""
    from dampkit.store.content import sha256_of
    from dampkit.store.facts import checked_facts
    from dampkit.store.from_library import Named, from_library
    from dampkit.store.record import Circumstances, new_entry
    from dampkit.store.settings import read_settings

    day_of_test(tested_on or None)
    named = Named(unit_type, car, on, tested_on)
    facts = {"customer": customer or "", "technician": technician or "", "tested_at": tested_at, **named.facts}
    said = Circumstances(person(who), serial, job, tested_on, corrects, facts=checked_facts(facts, "book add"))
    with from_library(place_of(book), named, files) as (files, quality):
        settings, declared = read_settings(files), files.load()
    result, data = _analysed(runs, declared, quality)
    said = replace(said, serial=_serial(said.serial, result.damper.serial) or missing("Serial of the unit"))
    papers = attached(said.who, note or (), photo or (), photo_path or ())
    with the_book(book, create=True) as opened:
        _ask_about_same(opened, sha256_of(data[0]), said.serial, even_so)
        added = opened.add(new_entry(result, data, settings, said), papers)
        word = "added as" if added.fresh else "this very analysis is already in the book:"
        say(f"{runs[0].name}: {word} entry {added.entry}, {result.verdict.action} ({opened.place})")
        if result.verdict.action not in ("fit", "undecided"):
            _say_passed_build(opened, unit_type)
    if said.serial is None:
        say(f"  no serial: `dampkit book amend {added.entry} --serial SERIAL` says whose test it is", err=True)


def _analysed(logs: Sequence[Path], job: DeclaredJob, quality: tuple[Quality, ...]) -> tuple[Result, list[bytes]]:
    """The result, and the very bytes that it is of."""
    from dampkit.store.book import read_bytes
    from dampkit.store.content import sha256_of

    test = dampkit.read_test(logs, job.bench).remarked(quality)
    data = [read_bytes(log, "a readable log file") for log in logs]
    result = analyse_job(test, job)
    if [file.sha256 for file in test.files] != [sha256_of(record) for record in data]:
        do = "wait until the bench has finished writing, then add it again"
        raise BadSettings(str(logs[0]), "the file changed while it was being read", "a finished log", do)
    return result, data


def _say_passed_build(book: OpenBook, unit_type: str | None) -> None:
    """Where the work on this unit starts: the last build of its type that passed."""
    from dampkit.store.works import build_lines, passed_build

    passed = None if unit_type is None else passed_build(book, unit_type)
    if passed is not None:
        entry, worked = passed
        say(f"  the last build of {unit_type} that passed (entry {entry.id}, {entry.tested_on}, by {worked.who}):")
        for line in build_lines(worked.work):
            say(f"    {visible(line)}")


def _ask_about_same(book: OpenBook, log_sha256: str, serial: str | None, even_so: bool) -> None:
    """Raises BadSettings where the person does not want the same log under another serial."""
    from dampkit.store.look_up import of_another_unit

    first = of_another_unit(book, log_sha256, serial)
    if first is not None:
        found = (
            f"entry {first.id} of unit {first.serial} is this very log, byte for byte; this one is for unit {serial}"
        )
        sure("--serial", found, "one unit for one log", even_so=even_so)


def _serial(said: str | None, declared: str | None) -> str | None:
    if said and declared and said != declared:
        found = f"found {said!r}, and the damper file says {declared!r}"
        raise BadSettings("--serial", found, "one serial", "leave one of them out, or correct it")
    return said or declared


@app.command("amend", epilog="Example: dampkit book amend 12 --serial A-1042 --why 'two digits were turned'")
def amend_command(
    entry: Number,
    serial: Serial = None,
    job: Job = None,
    tested_on: Annotated[str | None, typer.Option(metavar="DATE", help="Day of the test.")] = None,
    tested_at: Annotated[str | None, typer.Option(metavar="HH:MM", help="Time of the test.")] = None,
    customer: Customer = None,
    technician: Technician = None,
    unit_type: UnitType = None,
    why: Annotated[str, typer.Option(metavar="TEXT", help="Why the earlier word was wrong.")] = "",
    who: Who = None,
    book: Book = None,
) -> None:
    """Put right what was said about an entry; the analysis stays, and so does every earlier word.

    An empty word, as in --customer '', takes away what was said.
    """
    from dampkit.store.facts import NAMES, checked_facts

    given = {
        "serial": serial, "job": job, "tested_on": tested_on, "tested_at": tested_at, "customer": customer,
        "technician": technician, "unit_type": unit_type,
    }  # fmt: skip
    facts = {name: value for name, value in given.items() if value is not None}
    if not facts:
        raise BadSettings("book amend", "nothing to put right", "a new serial, job, day, customer ...", "give one")
    facts = checked_facts(facts, "book amend")
    with the_book(book) as opened:
        before = opened.standing(entry)
        changed = opened.put_right(entry, facts, why=why, who=person(who))
    for name in changed:
        say(f"entry {entry}: {NAMES[name]} was {before.get(name) or 'not said'}, is now {facts[name] or 'not said'}")
    if not changed:
        say(f"entry {entry}: stands as it was")


@app.command("note", epilog="Example: dampkit book note 12 'new seal fitted' --photo seal.jpg")
def note_command(
    entry: Number,
    text: Annotated[list[str] | None, typer.Argument(metavar="TEXT", help="The note.", show_default=False)] = None,
    photo: Photos = None,
    photo_path: PhotoPaths = None,
    who: Who = None,
    book: Book = None,
) -> None:
    """Add a note or a photo to an entry."""
    if not (text or photo or photo_path):
        raise BadSettings("book note", "neither a text nor a photo", "a text, --photo or --photo-path", "give one")
    _annotate(book, entry, attached(person(who), text or (), photo or (), photo_path or ()))


def _annotate(book: Path | None, entry: int, papers: Beside) -> None:
    with the_book(book) as opened:
        opened.attach(entry, papers)
    say(f"entry {entry}: noted")


def attached(
    who: str, notes: Sequence[str] = (), photos: Sequence[Path] = (), photo_paths: Sequence[Path] = ()
) -> Beside:
    """Notes and photos, read before the book is opened; of `photo_paths` only place and hash are kept."""
    from dampkit.store.book import read_bytes
    from dampkit.store.content import pack, sha256_of
    from dampkit.store.record import Beside, Note, Photo, now

    kept = []
    for path, in_book in (*((path, True) for path in photos), *((path, False) for path in photo_paths)):
        data = read_bytes(path, "a photo")
        where = None if in_book else str(path.resolve())
        kept.append((Photo(path.name, sha256_of(data), where, who, now()), pack(data) if in_book else None))
    return Beside(tuple(Note(text, who, now()) for text in notes), tuple(kept))


@app.command("import", epilog="Example: dampkit book import A-1042.zip")
def import_command(
    archive: Annotated[Path, typer.Argument(metavar="ARCHIVE.zip", help="From `export`.", show_default=False)],
    who: Who = None,
    book: Book = None,
) -> None:
    """Add the entries of an archive: all of them, or none where anything in it is wrong.

    Each is marked as imported, and its records are analysed again: where they give another verdict, that is shown.
    """
    from dampkit.store.archive import import_archive

    with the_book(book, create=True) as opened:
        added = import_archive(opened, archive, person(who))
        fresh = [opened.entry(each.entry) for each in added if each.fresh]
    say(f"{archive}: {len(fresh)} entries added, {len(added) - len(fresh)} there already ({opened.place})")
    for entry in fresh:
        if entry.differs:
            found = f"imported as {entry.action}; analysed again here, its log gives {entry.action_again}"
            say(f"  entry {entry.id}, unit {entry.serial or '-'}: {found}", err=True)


@app.command("work", epilog="Example: dampkit book work 12 WORK.toml --photo piston.jpg --page UNIT.html")
def work_command(
    entry: Number,
    sheet: Annotated[
        Path | None, typer.Argument(metavar="[WORK.toml]", help="What was found and built.", show_default=False)
    ] = None,
    photo: Photos = None,
    done_on: Annotated[str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="The day; else today.")] = None,
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="Before and after on one page.")] = None,
    who: Who = None,
    book: Book = None,
) -> None:
    """Write down the strip-down and build that followed a test, and show before and after."""
    from dampkit.bench.toml_file import toml_text
    from dampkit.store.library import workshop_of
    from dampkit.store.papers import Paper
    from dampkit.store.work_page import photos_of, render_work, work_lines
    from dampkit.store.works import STRIP_DOWN, add_work, before_after

    by = person(who)
    if sheet is not None:
        day = day_of_test(done_on) or today()
        paper = Paper(STRIP_DOWN, toml_text(sheet), day, by)
        with the_book(book) as opened:
            add_work(opened, entry, paper, attached(by, photos=photo or ()))
    elif photo:
        _annotate(book, entry, attached(by, photos=photo))
    with the_book(book) as opened:
        shown = before_after(opened, entry)
        photos, head = photos_of(opened, shown) if page is not None else (), workshop_of(opened)
    say(
        f"before: entry {shown.before.id}, {shown.before.tested_on}: {shown.before.action} {shown.before.faults}".rstrip()
    )
    if shown.worked is None:
        say("  no work is written down")
    else:
        say(f"  work of {shown.worked.done_on} by {visible(shown.worked.who)}")
        for line in work_lines(shown.worked.work):
            say(f"    {visible(line)}")
    after = shown.after
    told = "not tested yet" if after is None else f"entry {after.id}, {after.tested_on}: {after.action} {after.faults}"
    say(f"after: {told}".rstrip())
    if page is not None:
        write_text(page, render_work(shown, photos, head), make_folder=True)
        say(f"written: {page}")


@app.command("sign", epilog="Example: dampkit book sign 12 --by NAME --note 'serial read again'")
def sign_command(
    entry: Number,
    by: Annotated[str, typer.Option(metavar="NAME", help="The second person, not the one who tested it.")],
    note: Annotated[str, typer.Option(metavar="TEXT", help="What was looked at, or is to be minded.")] = "",
    book: Book = None,
) -> None:
    """Keep that a second person has checked a test. What is put right after that makes it signed before the change."""
    from dampkit.store.second_check import sign

    with the_book(book) as opened:
        check = sign(opened, entry, by, note)
    say(f"entry {entry}: checked by {check.by} on {check.on}")
