"""`dampkit book`: the commands of the job book. What they do is in `book_work`, loaded when one is used."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.bench_commands import with_records
from dampkit.app.commands import group_of_commands
from dampkit.app.making import SheetsOption, Units, UnitsOption
from dampkit.app.options import (
    Bench,
    Book,
    Car,
    Costs,
    Customer,
    Damper,
    Inspection,
    Job,
    OnBench,
    Serial,
    Stock,
    Technician,
    UnitType,
    Vehicle,
    Who,
)
from dampkit.app.shelf import shelf
from dampkit.app.workshop_commands import app as workshop_app

app = group_of_commands()

Number = Annotated[int, typer.Argument(metavar="ENTRY", help="Number of the entry.", show_default=False)]
Verdict = Annotated[
    str | None, typer.Option(metavar="WORD", help="fit, adjust, rebuild, replace, retest or undecided.")
]
Fault = Annotated[str | None, typer.Option(metavar="CODE", help="Only with this fault, such as low_oil.")]
Since = Annotated[str | None, typer.Option(metavar="DATE", help="Tested on this day or later.")]
Until = Annotated[str | None, typer.Option(metavar="DATE", help="Tested on this day or earlier.")]
Corrected = Annotated[bool, typer.Option("--corrected", help="Entries that a later one corrects as well.")]
Limit = Annotated[int, typer.Option(metavar="N", help="At most so many entries.", min=1)]
Photos = Annotated[list[Path] | None, typer.Option("--photo", metavar="FILE", help="A photo to keep in the book.")]
PhotoPaths = Annotated[
    list[Path] | None, typer.Option("--photo-path", metavar="FILE", help="A photo to note by its place and hash only.")
]


@app.command("add", epilog="Example: dampkit book add RUN.csv --damper DAMPER.toml --tested-on 2024-05-31")
def add_command(
    runs: Annotated[
        list[Path], typer.Argument(metavar="RUN...", help="The records of one test, in order.", show_default=False)
    ],
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    inspection: Inspection = None,
    costs: Costs = None,
    stock: Stock = None,
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
    from dampkit.app import book_work as work
    from dampkit.app.at_book import person
    from dampkit.job import JobFiles
    from dampkit.store.from_library import Named
    from dampkit.store.record import Circumstances

    named = Named(unit_type, car, on, tested_on)
    facts = {"customer": customer or "", "technician": technician or "", "tested_at": tested_at, **named.facts}
    said = Circumstances(person(who), serial, job, tested_on, corrects, facts=facts)
    beside = work.Beside(note or (), photo or (), photo_path or (), even_so)
    files = JobFiles(bench, damper, vehicle, inspection, costs, stock)
    work.add(book, runs, work.Declared(files, named), said, beside)


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
    from dampkit.app import book_work as work
    from dampkit.app.at_book import person

    given = {
        "serial": serial, "job": job, "tested_on": tested_on, "tested_at": tested_at, "customer": customer,
        "technician": technician, "unit_type": unit_type,
    }  # fmt: skip
    facts = {name: value for name, value in given.items() if value is not None}
    work.amend(book, entry, facts, why, person(who))


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
    from dampkit.app import book_work as work
    from dampkit.app.at_book import person

    beside = work.Beside(text or (), photo or (), photo_path or ())
    work.annotate(book, entry, beside, person(who))


@app.command("list", epilog="Example: dampkit book list --verdict rebuild --since 2024-01-01")
def list_command(
    serial: Serial = None,
    job: Job = None,
    customer: Customer = None,
    unit_type: UnitType = None,
    verdict: Verdict = None,
    fault: Fault = None,
    since: Since = None,
    until: Until = None,
    corrected: Corrected = False,
    limit: Limit = 50,
    book: Book = None,
) -> None:
    """List entries, latest first."""
    from dataclasses import replace

    from dampkit.app import book_work as work
    from dampkit.outcome.about import day
    from dampkit.store.look_up import Question

    days = {"since": day(since), "until": day(until)}
    asked = Question(serial=serial, job=job, action=verdict, fault=fault, corrected=corrected, limit=limit, **days)
    work.show_list(book, replace(asked, customer=customer, unit_type=unit_type))


@app.command("find", epilog="Example: dampkit book find 'blue estate'")
def find_command(
    words: Annotated[
        str | None,
        typer.Argument(
            metavar="WORDS", help="Text in serial, job, customer, type, log name or a note.", show_default=False
        ),
    ] = None,
    log: Annotated[Path | None, typer.Option(metavar="RUN.csv", help="Entries of exactly this log.")] = None,
    corrected: Corrected = False,
    limit: Limit = 50,
    book: Book = None,
) -> None:
    """Find entries by what stands in them, or by their log."""
    from dampkit.app import book_work as work
    from dampkit.store.book import read_bytes
    from dampkit.store.content import sha256_of
    from dampkit.store.look_up import Question

    sha256 = None if log is None else sha256_of(read_bytes(log, "a readable log file"))
    asked = Question(words=words, log_sha256=sha256, corrected=corrected, limit=limit)
    work.show_list(book, asked)


@app.command("show", epilog="Example: dampkit book show 12 --report ENTRY12.html")
def show_command(
    entry: Number,
    json_to: Annotated[
        str | None,
        typer.Option("--json", metavar="OUT.json", help="Write its result as it stands; - for standard output."),
    ] = None,
    report: Annotated[Path | None, typer.Option(metavar="OUT.html", help="Write its page.")] = None,
    sheets: SheetsOption = None,
    units: UnitsOption = Units.si,
    log: Annotated[Path | None, typer.Option(metavar="OUT.csv", help="Write its log, byte for byte.")] = None,
    photos: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Write its photos there.")] = None,
    book: Book = None,
) -> None:
    """Show all about an entry, and take its result, page, sheets, log or photos out of the book."""
    from dampkit.app import book_work as work

    if json_to == "-":
        work.print_result(book, entry)
        return
    outputs = {
        "json": Path(json_to) if json_to else None,
        "report": report,
        "sheets": sheets,
        "log": log,
        "photos": photos,
    }
    work.show(book, entry, outputs, imperial=units == Units.imperial)


@app.command("history", epilog="Example: dampkit book history A-1042 --page A-1042.html")
def history_command(
    serial: Annotated[str, typer.Argument(metavar="SERIAL", help="Serial of the unit.", show_default=False)],
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with pictures.")] = None,
    book: Book = None,
) -> None:
    """Show how bleed, friction, lost motion and gas force of a unit changed over its tests."""
    from dampkit.app import book_work as work

    work.show_history(book, serial, page)


@app.command("export", epilog="Example: dampkit book export A-1042.zip --serial A-1042")
def export_command(
    to: Annotated[
        Path, typer.Argument(metavar="OUT.zip|OUT.csv|OUT.parquet", help="Archive or table.", show_default=False)
    ],
    serial: Serial = None,
    job: Job = None,
    since: Since = None,
    until: Until = None,
    book: Book = None,
) -> None:
    """Write entries as an archive for another book, or as a table for a spreadsheet."""
    from dampkit.app import book_work as work
    from dampkit.outcome.about import day
    from dampkit.store.look_up import EVERY, Question

    asked = Question(serial=serial, job=job, since=day(since), until=day(until), corrected=True, limit=EVERY)
    work.write_export(book, to, asked)


@app.command("import", epilog="Example: dampkit book import A-1042.zip")
def import_command(
    archive: Annotated[Path, typer.Argument(metavar="ARCHIVE.zip", help="From `export`.", show_default=False)],
    who: Who = None,
    book: Book = None,
) -> None:
    """Add the entries of an archive: all of them, or none where anything in it is wrong.

    Each is marked as imported, and its records are analysed again: where they give another verdict, that is shown.
    """
    from dampkit.app import book_work as work
    from dampkit.app.at_book import person

    work.take_in(book, archive, person(who))


@app.command("check", epilog="Example: dampkit book check")
def check_command(
    again: Annotated[bool, typer.Option("--again", help="Analyse every entry again and show other verdicts.")] = False,
    book: Book = None,
) -> None:
    """Check that the book is whole and every byte as it was added."""
    from dampkit.app import book_work as work

    raise typer.Exit(work.check(book, again))


@app.command("backup", epilog="Example: dampkit book backup book-2024-05-31.sqlite")
def backup_command(
    to: Annotated[Path, typer.Argument(metavar="OUT.sqlite", help="A new file.", show_default=False)],
    book: Book = None,
) -> None:
    """Copy the book, also while others add to it, and check the copy."""
    from dampkit.app import book_work as work

    work.make_backup(book, to)


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
    from dampkit.app import unit_work as work

    work.work(entry, work.Sheet(sheet, photo or (), done_on, who), page, book)


@app.command("statistics", epilog="Example: dampkit book statistics --type 12-34 --page SHOP.html")
def statistics_command(
    unit_type: UnitType = None,
    since: Since = None,
    until: Until = None,
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with charts.")] = None,
    table: Annotated[
        Path | None, typer.Option(metavar="OUT.csv|OUT.parquet", help="The counts for a spreadsheet.")
    ] = None,
    book: Book = None,
) -> None:
    """Say what the tests came to by month and type, what comes back, and whether a type's numbers are steady."""
    from dampkit.app import statistics_work as work

    work.statistics((unit_type, since, until), page, table, book)


@app.command("sign", epilog="Example: dampkit book sign 12 --by NAME --note 'serial read again'")
def sign_command(
    entry: Number,
    by: Annotated[str, typer.Option(metavar="NAME", help="The second person, not the one who tested it.")],
    note: Annotated[str, typer.Option(metavar="TEXT", help="What was looked at, or is to be minded.")] = "",
    book: Book = None,
) -> None:
    """Keep that a second person has checked a test. What is put right after that makes it signed before the change."""
    from dampkit.app import book_work as work

    work.second_check(book, entry, by, note)


for _kind in ("unit-type", "vehicle", "stock"):
    app.add_typer(shelf(_kind), name=_kind)
app.add_typer(with_records(shelf("bench")), name="bench")
app.add_typer(workshop_app, name="workshop")
