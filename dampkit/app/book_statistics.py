"""`dampkit book statistics`; the figures are in `dampkit.store.statistics`."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.at_book import the_book
from dampkit.app.book_read import Since, Until
from dampkit.app.commands import group_of_commands
from dampkit.app.options import Book, Options, UnitType
from dampkit.app.say import say
from dampkit.errors import BadSettings, visible
from dampkit.files import write_text
from dampkit.store.question import Which

if TYPE_CHECKING:
    from dampkit.store.book import Book as OpenBook
    from dampkit.store.statistics import Shop

app = group_of_commands()


@app.command("statistics", epilog="Example: dampkit book statistics --type 12-34 --page SHOP.html")
def statistics_command(
    which: Annotated[Which, Options(unit_type=UnitType, since=Since, until=Until)],
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with charts.")] = None,
    table: Annotated[
        Path | None, typer.Option(metavar="OUT.csv|OUT.parquet", help="The counts for a spreadsheet.")
    ] = None,
    book: Book = None,
) -> None:
    """Say what the tests came to by month and type, what comes back, and whether a type's numbers are steady."""
    from dampkit.store.library import workshop_of
    from dampkit.store.statistics import COLUMNS, rows, shop
    from dampkit.store.statistics_page import render_statistics
    from dampkit.store.table import check_kind, write_table

    if table is not None:
        check_kind(table)
    with the_book(book) as opened:
        if which.unit_type is not None:
            _known(opened, which.unit_type)
        found, head = shop(opened, which), workshop_of(opened)
    _say(found)
    if page is not None:
        write_text(page, render_statistics(found, head), make_folder=True)
        say(f"written: {page}")
    if table is not None:
        write_table(table, COLUMNS, rows(found))
        say(f"written: {table}")


def _known(book: OpenBook, unit_type: str) -> None:
    from dampkit.store.look_up import nearest, perhaps
    from dampkit.store.statistics import unit_types

    names = unit_types(book)
    if unit_type not in names:
        otherwise = "name the type when a test is added: `dampkit book add --type NAME`"
        do = perhaps(nearest(unit_type, names), otherwise)
        raise BadSettings(str(book.place), f"no test of a unit of the type {unit_type!r}", "a type with tests", do)


def _say(found: Shop) -> None:
    from dampkit.store.measures import MEASURES
    from dampkit.store.statistics_page import chart_sentence, come_back_sentence, first_time_sentence, title

    say(title(found))
    _table("month", found.by_month)
    if found.which.unit_type is None:
        _table("type", {name or "(none named)": counts for name, counts in found.by_type.items()})
    for code in dict.fromkeys([*found.found, *found.suspected]):
        say(f"{code:<22} found {found.found.get(code, 0):>5}  suspected {found.suspected.get(code, 0):>5}")
    say(come_back_sentence(found.come_back))
    say(first_time_sentence(found.first_time_right))
    for followed in found.charts:
        say(f"{MEASURES[followed.name].title}: {chart_sentence(followed)}")


def _table(head: str, table: Mapping[str, Mapping[str, int]]) -> None:
    from dampkit.store.statistics_page import ACTIONS

    say(f"{head:<22}" + "".join(f"{action:>11}" for action in ACTIONS))
    for name, counts in table.items():
        say(f"{visible(name):<22}" + "".join(f"{counts.get(action, 0):>11}" for action in ACTIONS))
