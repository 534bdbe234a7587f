"""The command `dampkit serve`; the pages themselves are loaded when it is used."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.options import Book


def serve_command(
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes one that is free.")] = 8719,
    book: Book = None,
    watch: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Take up every record that the bench writes there.")
    ] = None,
    share: Annotated[
        bool, typer.Option("--share", help="Let tablets on the network in, by a code that is shown.")
    ] = False,
    known_as: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME", help="With --share: the name under which a TLS proxy on this machine hands it on."
        ),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
    shortcut: Annotated[
        bool, typer.Option("--shortcut", help="Write a file to start it by a double click, and end.")
    ] = False,
) -> None:
    """It answers to this machine alone, unless --share is given. Its address is the last line of what it prints. Stop it
    with Ctrl-C: work that is not in the book yet is there again when it is started again."""
    from dampkit.app.at_book import place_of
    from dampkit.app.serve.run import Wish, serve
    from dampkit.app.serve.shortcut import write_shortcut

    wish = Wish(port, place_of(book), watch, share, tuple(known_as or ()), not no_browser)
    if shortcut:
        write_shortcut(wish)
    else:
        serve(wish)
