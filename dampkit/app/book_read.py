"""`dampkit book`: what is read out of the job book."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dampkit.app.at_book import the_book
from dampkit.app.book_words import LIST_LINE, Number, about, both, list_line, nothing_found
from dampkit.app.commands import group_of_commands
from dampkit.app.making import SheetsOption, Units, UnitsOption
from dampkit.app.options import Book, Customer, Job, Options, Serial, UnitType
from dampkit.app.say import say
from dampkit.errors import visible
from dampkit.files import check_free, folder_for, whole_file, write_text
from dampkit.outcome.about import day
from dampkit.store.question import EVERY, Question

if TYPE_CHECKING:
    from dampkit.store.book import Book as OpenBook
    from dampkit.store.record import Entry, Tell
    from dampkit.store.table import Kind

app = group_of_commands()

Since = Annotated[str | None, typer.Option(metavar="DATE", parser=day, help="Tested on this day or later.")]
Until = Annotated[str | None, typer.Option(metavar="DATE", parser=day, help="Tested on this day or earlier.")]
HOW_MANY = {
    "corrected": Annotated[bool, typer.Option("--corrected", help="Entries that a later one corrects as well.")],
    "limit": Annotated[int, typer.Option(metavar="N", help="At most so many entries.", min=1)],
}
LISTED = Options(
    serial=Serial, job=Job, customer=Customer, unit_type=UnitType,
    action=Annotated[str | None, typer.Option(
        "--verdict", metavar="WORD", help="fit, adjust, rebuild, replace, retest or undecided.")],
    fault=Annotated[str | None, typer.Option(metavar="CODE", help="Only with this fault, such as low_oil.")],
    since=Since, until=Until, **HOW_MANY,
)  # fmt: skip
WORDS = Annotated[str | None, typer.Argument(
    metavar="WORDS", help="Text in serial, job, customer, type, log name or a note.", show_default=False)]  # fmt: skip


@app.command("list", epilog="Example: dampkit book list --verdict rebuild --since 2024-01-01")
def list_command(asked: Annotated[Question, LISTED], book: Book = None) -> None:
    """List entries, latest first."""
    _show_list(book, asked)


@app.command("find", epilog="Example: dampkit book find 'blue estate'")
def find_command(
    asked: Annotated[Question, Options(words=WORDS, **HOW_MANY)],
    log: Annotated[Path | None, typer.Option(metavar="RUN.csv", help="Entries of exactly this log.")] = None,
    book: Book = None,
) -> None:
    """Find entries by what stands in them, or by their log."""
    from dampkit.store.book import read_bytes
    from dampkit.store.content import sha256_of

    sha256 = None if log is None else sha256_of(read_bytes(log, "a readable log file"))
    _show_list(book, replace(asked, log_sha256=sha256))


def _show_list(named: Path | None, question: Question) -> None:
    """One line an entry, latest first."""
    from dampkit.store.look_up import count, find

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
    with the_book(book) as opened:
        if json_to == "-":
            say(_as_json(opened, entry), nl=False)
            return
        for line in about(opened, opened.entry(entry), opened.result(entry)):
            say(visible(line))
        places = {
            "json": Path(json_to) if json_to else None,
            "report": report,
            "sheets": sheets,
            "log": log,
            "photos": photos,
        }
        for kind, path in places.items():
            if path is not None:
                _write_out((kind, path), opened, entry, units == Units.imperial)
                say(f"written: {path}")


def _as_json(book: OpenBook, number: int) -> str:
    from dampkit.store.second_check import as_it_stands

    return json.dumps(as_it_stands(book, number).to_dict(), indent=1, allow_nan=False) + "\n"


def _write_out(wanted: tuple[str, Path], book: OpenBook, number: int, imperial: bool) -> None:
    from dampkit.report.document import Look
    from dampkit.report.page import write_report
    from dampkit.store.entry_sheets import write_entry_sheets
    from dampkit.store.library import workshop_of
    from dampkit.store.second_check import as_it_stands

    kind, path = wanted
    if kind == "report":
        write_report(as_it_stands(book, number), path, Look(imperial, letterhead=workshop_of(book)))
        return
    if kind == "sheets":
        write_entry_sheets(book, number, path, imperial)
        return
    if kind == "json":
        contents = {path: _as_json(book, number).encode()}
    else:
        contents = _records_to(path, book, number) if kind == "log" else _photos_to(path, book, number)
        for place in contents:
            check_free(place)
    for place, data in contents.items():
        with whole_file(place) as draft:
            draft.write_bytes(data)


def _records_to(path: Path, book: OpenBook, number: int) -> dict[Path, bytes]:
    """Where each record of a test is written: the first to `path`, others beside it as `path-2` and so on."""
    (_, first), *more = book.records(number)
    beside = {path.with_name(f"{path.stem}-{i}{Path(name).suffix}"): data for i, (name, data) in enumerate(more, 2)}
    return {path: first, **beside}


def _photos_to(folder: Path, book: OpenBook, number: int) -> dict[Path, bytes]:
    """Those that the book has, each under its number and name."""
    place, kept = folder_for(folder, "photos"), [photo for photo in book.photos(number) if photo.path is None]
    return {place / f"{n}-{Path(photo.name).name}": book.content(photo.sha256) for n, photo in enumerate(kept, 1)}


@app.command("history", epilog="Example: dampkit book history A-1042 --page A-1042.html")
def history_command(
    serial: Annotated[str, typer.Argument(metavar="SERIAL", help="Serial of the unit.", show_default=False)],
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with pictures.")] = None,
    book: Book = None,
) -> None:
    """Show how bleed, friction, lost motion and gas force of a unit changed over its tests."""
    from dampkit.store.history_page import followed, render_history, sentence
    from dampkit.store.library import workshop_of
    from dampkit.store.look_up import history
    from dampkit.store.measures import MEASURES
    from dampkit.store.trend import Trend, trend

    with the_book(book) as opened:
        past, head = history(opened, serial), workshop_of(opened)
    for test in past:
        say(list_line(test.entry))
    for name, measure in MEASURES.items():
        days, values = followed(past, name)
        found = trend(days, values) if days else Trend(None)
        say(f"{measure.title}: {sentence(name, days, found)}")
    if page is not None:
        write_text(page, render_history(serial, past, head), make_folder=True)
        say(f"written: {page}")


@app.command("export", epilog="Example: dampkit book export A-1042.zip --serial A-1042")
def export_command(
    to: Annotated[
        Path, typer.Argument(metavar="OUT.zip|OUT.csv|OUT.parquet", help="Archive or table.", show_default=False)
    ],
    asked: Annotated[Question, Options(serial=Serial, job=Job, since=Since, until=Until)],
    book: Book = None,
) -> None:
    """Write entries as an archive for another book, or as a table for a spreadsheet."""
    from dampkit.store.record import not_told

    asked = replace(asked, corrected=True, limit=EVERY)
    say(f"written: {to}, {exported(book, to, asked, not_told)} entries")


def exported(named: Path | None, to: Path, question: Question, tell: Tell) -> int:
    """A .zip archive that `import` reads, or a table by its ending; gives how many entries, of which `tell` hears.

    Raises BadSettings for another ending.
    """
    from dampkit.store.archive import export
    from dampkit.store.look_up import find
    from dampkit.store.table import check_kind, write_table

    check_kind(to, ".zip")
    with the_book(named) as book:
        entries = sorted(find(book, question), key=lambda entry: entry.id)
        if to.suffix == ".zip":
            return export(book, entries, to, tell)
        write_table(to, _columns(), _rows(book, entries, tell))
        return len(entries)


def _columns() -> dict[str, Kind]:
    from dampkit.store.table import measure_columns

    return {
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


def _rows(book: OpenBook, entries: Sequence[Entry], tell: Tell) -> Iterator[dict[str, Any]]:
    from dampkit.store.table import numbers

    for done, entry in enumerate(entries, start=1):
        yield {**asdict(entry), "entry": entry.id, **numbers(book.measures(entry.id).items())}
        tell(done, len(entries))


@app.command("check", epilog="Example: dampkit book check")
def check_command(
    again: Annotated[bool, typer.Option("--again", help="Analyse every entry again and show other verdicts.")] = False,
    book: Book = None,
) -> None:
    """Check that the book is whole and every byte as it was added."""
    from dampkit.store.again import differing
    from dampkit.store.check import complaints
    from dampkit.store.look_up import count

    with the_book(book) as opened:
        wrong, total = complaints(opened), count(opened)
        for entry, now_is in differing(opened) if again and not wrong else ():
            say(f"  entry {entry.id}, unit {entry.serial or '-'}, dampkit {entry.version}: {both(entry, now_is)}")
    for complaint in wrong:
        say(f"dampkit: {opened.place}: {complaint}", err=True)
    if wrong:
        say("  Do: keep this file as it is and go back to the last backup", err=True)
        raise typer.Exit(5)
    say(f"{opened.place}: {total} entries, every byte as it was added")


@app.command("backup", epilog="Example: dampkit book backup book-2024-05-31.sqlite")
def backup_command(
    to: Annotated[Path, typer.Argument(metavar="OUT.sqlite", help="A new file.", show_default=False)],
    book: Book = None,
) -> None:
    """Copy the book, also while others add to it, and check the copy."""
    from dampkit.store.check import backup

    with the_book(book) as opened:
        backup(opened, to)
    say(f"written: {to}")
