"""`dampkit book unit-type|vehicle|stock|bench`: the workshop's library; the same four commands for each kind of card."""

from __future__ import annotations

import difflib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.at_book import person, the_book
from dampkit.app.commands import Group
from dampkit.app.options import Book, Who
from dampkit.app.say import say
from dampkit.errors import visible
from dampkit.files import check_free, folder_for, whole_file

if TYPE_CHECKING:
    from dampkit.store.library import Card, CardKind

Name = Annotated[str, typer.Argument(metavar="NAME", help="The workshop's own name for it.", show_default=False)]
LINE = "{:<28}  {:>7}  {:<10}  {:<16}  {}"
WHAT = {
    "unit-type": ("Types of unit by the workshop's own part number: sizes, oil, gas, valve build, reference.", "12-34"),
    "vehicle": ("Vehicles: masses, springs, linkage and what they are to ride like.", "'blue estate'"),
    "stock": ("Stock: drills, springs, shims and oils that the workshop has at hand.", "'drawer 1'"),
    "bench": ("Benches: how each writes its logs, its signs, zero and uncertainty.", "'bench 1'"),
}


def shelf(kind: CardKind) -> typer.Typer:
    """The commands of one kind of card."""
    what, example = WHAT[kind]
    epilog = f"Example: dampkit book {kind} add {example} FILE.toml"
    app = typer.Typer(cls=Group, rich_markup_mode=None, help=what, epilog=epilog, no_args_is_help=True)

    @app.command("add", epilog=f"Example: dampkit book {kind} add {example} FILE.toml --why 'new shims'")
    def add(
        name: Name,
        file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="What it says.", show_default=False)],
        drawing: Annotated[list[Path] | None, typer.Option(metavar="FILE", help="A drawing or photo to keep.")] = None,
        why: Annotated[str, typer.Option(metavar="TEXT", help="What changed since the version before.")] = "",
        who: Who = None,
        book: Book = None,
    ) -> None:
        """Add it, or a new version of it; earlier versions stay."""
        from dampkit.bench.toml_file import toml_text
        from dampkit.store.book import read_bytes
        from dampkit.store.content import pack
        from dampkit.store.library import NewCard, add_card

        text = toml_text(file)
        pictures = tuple((path.name, pack(read_bytes(path, "a drawing or photo"))) for path in drawing or ())
        with the_book(book, create=True) as opened:
            card, fresh = add_card(opened, NewCard(kind, name, text, person(who), why, pictures))
        say(f"{card.kind} {card.title}: {'added' if fresh else 'is this very text already'} ({opened.place})")

    @app.command("show", epilog=f"Example: dampkit book {kind} show {example} > FILE.toml")
    def show(
        name: Name,
        version: Annotated[int | None, typer.Option(metavar="N", help="Else the latest.", min=1)] = None,
        drawings: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Write its drawings there.")] = None,
        book: Book = None,
    ) -> None:
        """Print the file as it was written, comments and all."""
        _show(kind, name, (version, drawings), book)

    @app.command("list", epilog=f"Example: dampkit book {kind} list")
    def list_all(book: Book = None) -> None:
        """One line each, by name."""
        _list(kind, book)

    @app.command("history", epilog=f"Example: dampkit book {kind} history {example}")
    def history(name: Name, book: Book = None) -> None:
        """Every version: when, who, and what changed."""
        _history(kind, name, book)

    return app


def _list(kind: CardKind, book: Path | None) -> None:
    from dampkit.store.library import cards

    with the_book(book) as opened:
        found = cards(opened, kind)
    say(LINE.format("name", "version", "since", "by", "what changed"))
    for card in found:
        say(_line(card))
    say(f"{len(found)} in the library", err=True)


def _show(kind: CardKind, name: str, wanted: tuple[int | None, Path | None], book: Path | None) -> None:
    """The text on standard output and nothing else; drawings of the wanted version into the wanted folder."""
    from dampkit.store.library import card_of, drawings_of

    version, drawings = wanted
    with the_book(book) as opened:
        card = card_of(opened, kind, name, version)
        say(card.text, nl=not card.text.endswith("\n"))
        say(f"{card.kind} {card.title}, {card.added_at[:10]} by {card.who}", err=True)
        for label, sha256 in drawings_of(opened, card):
            say(f"  drawing {label}, sha256 {sha256}", err=True)
            if drawings is not None:
                _write(folder_for(drawings, "drawings") / Path(label).name, opened.content(sha256))


def _history(kind: CardKind, name: str, book: Path | None) -> None:
    """Every version, with the lines that changed since the one before."""
    from dampkit.store.library import history_of

    with the_book(book) as opened:
        versions = history_of(opened, kind, name)
    say(LINE.format("name", "version", "since", "by", "what changed"))
    before: list[str] = []
    for card in versions:
        say(_line(card))
        lines = card.text.splitlines()
        for line in list(difflib.unified_diff(before, lines, lineterm="", n=0))[2:] if before else ():
            if not line.startswith("@@"):
                say(f"    {visible(line)}")
        before = lines


def _line(card: Card) -> str:
    words = visible(card.name), card.version, card.added_at[:10], visible(card.who), visible(card.why)
    return LINE.format(*words).rstrip()


def _write(place: Path, data: bytes) -> None:
    check_free(place)
    with whole_file(place) as draft:
        draft.write_bytes(data)
    say(f"written: {place}", err=True)


workshop = typer.Typer(
    cls=Group,
    rich_markup_mode=None,
    help="The workshop itself: its name, address and mark, at the head of every page and sheet.",
    epilog="Example: dampkit book workshop add WORKSHOP.toml",
    no_args_is_help=True,
)


@workshop.command("add", epilog="Example: dampkit book workshop add WORKSHOP.toml --why 'moved'")
def _add_workshop(
    file: Annotated[
        Path,
        typer.Argument(metavar="WORKSHOP.toml", help="As `dampkit new workshop` writes it.", show_default=False),
    ],
    why: Annotated[str, typer.Option(metavar="TEXT", help="What changed since the version before.")] = "",
    who: Who = None,
    book: Book = None,
) -> None:
    """Add it with the mark beside it, or a new version of it; earlier versions stay."""
    from dampkit.bench.toml_file import from_text, toml_text
    from dampkit.outcome.workshop import WorkshopSpec, mark_beside
    from dampkit.store.library import add_workshop

    text = toml_text(file)
    name, data = from_text(text, str(file), WorkshopSpec).workshop.mark, mark_beside(file, text)
    mark = None if name is None or data is None else (name, data)
    with the_book(book, create=True) as opened:
        card, fresh = add_workshop(opened, text, mark, (why, person(who)))
    say(f"{card.title}: {'added' if fresh else 'is this very text and mark already'} ({opened.place})")


@workshop.command("show", epilog="Example: dampkit book workshop show > WORKSHOP.toml")
def _show_workshop(
    version: Annotated[int | None, typer.Option(metavar="N", help="Else the latest.", min=1)] = None,
    drawings: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Write its mark there.")] = None,
    book: Book = None,
) -> None:
    """Print the file as it was written, comments and all."""
    from dampkit.store.library import WORKSHOP, check_there_is_one

    with the_book(book) as opened:
        check_there_is_one(opened)
    _show(WORKSHOP, WORKSHOP, (version, drawings), book)


@workshop.command("history", epilog="Example: dampkit book workshop history")
def _workshop_history(book: Book = None) -> None:
    """Every version: when, who, and what changed."""
    from dampkit.store.library import WORKSHOP, check_there_is_one

    with the_book(book) as opened:
        check_there_is_one(opened)
    _history(WORKSHOP, WORKSHOP, book)
