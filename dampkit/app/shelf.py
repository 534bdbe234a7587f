"""`dampkit book unit-type|vehicle|stock|bench`: the workshop's library; the same four commands for each kind of card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.options import Book, Who

if TYPE_CHECKING:
    from dampkit.store.library import CardKind

Name = Annotated[str, typer.Argument(metavar="NAME", help="The workshop's own name for it.", show_default=False)]
WHAT = {
    "unit-type": ("Types of unit by the workshop's own part number: sizes, oil, gas, valve build, reference.", "12-34"),
    "vehicle": ("Vehicles: masses, springs, linkage and what they are to ride like.", "'blue estate'"),
    "stock": ("Stock: drills, springs, shims and oils that the workshop has at hand.", "'drawer 1'"),
    "bench": ("Benches: how each writes its logs, its signs, zero and uncertainty.", "'bench 1'"),
}


def shelf(kind: CardKind) -> typer.Typer:
    """The commands of one kind of card."""
    what, example = WHAT[kind]
    app = typer.Typer(
        rich_markup_mode=None,
        help=what,
        epilog=f"Example: dampkit book {kind} add {example} FILE.toml",
        no_args_is_help=True,
    )

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
        from dampkit.app import shelf_work as work

        work.add((kind, name), file, drawing or (), (why, who), book)

    @app.command("show", epilog=f"Example: dampkit book {kind} show {example} > FILE.toml")
    def show(
        name: Name,
        version: Annotated[int | None, typer.Option(metavar="N", help="Else the latest.", min=1)] = None,
        drawings: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Write its drawings there.")] = None,
        book: Book = None,
    ) -> None:
        """Print the file as it was written, comments and all."""
        from dampkit.app import shelf_work as work

        work.show((kind, name), version, drawings, book)

    @app.command("list", epilog=f"Example: dampkit book {kind} list")
    def list_all(book: Book = None) -> None:
        """One line each, by name."""
        from dampkit.app import shelf_work as work

        work.list_all(kind, book)

    @app.command("history", epilog=f"Example: dampkit book {kind} history {example}")
    def history(name: Name, book: Book = None) -> None:
        """Every version: when, who, and what changed."""
        from dampkit.app import shelf_work as work

        work.history(kind, name, book)

    return app
