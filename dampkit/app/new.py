"""`dampkit new`: a declared file to fill in, with what each key means and how it is measured; `dampkit schema`: what may stand
in such a file, and in what a command writes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import check_outputs, write_text

if TYPE_CHECKING:
    from dampkit.bench.template import Blank


AS_THE_UNIT = {"inspection": "damper"}  # files that are of a kind of unit without naming it


def new_command(
    file: Annotated[
        str,
        typer.Argument(
            metavar="bench|damper|vehicle|inspection|costs|stock|workshop", help="What to declare.", show_default=False
        ),
    ],
    kind: Annotated[
        list[str] | None,
        typer.Option(
            "--kind", metavar="KIND", help="Of which kind of test, unit, spring or linkage; may be given again."
        ),
    ] = None,
    save: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write it there; a file that exists is kept.")
    ] = None,
    ask: Annotated[bool, typer.Option("--ask", help="Ask for the values on the terminal.")] = False,
) -> None:
    """Every key comes with its meaning, its unit and how it is measured; what is optional stands behind a #. With --ask
    what is needed is asked first, then the rest, a section at a time."""
    from dampkit.bench.template import template

    blank = _blank(file, tuple(kind or ()))
    if save is not None:
        check_outputs([save], [])
        _refuse_to_overwrite(save)
    if ask:
        from dampkit.app.asking import Terminal, ask_all

        blank = ask_all(blank, Terminal())
    text = template(blank)
    if save is None:
        say(text, nl=False)
    else:
        say(f"written: {write_text(save, text)}")
    for key in blank.asked:
        say(f"to be filled in: [{'.'.join(key.place[:-1])}] {key.name}", err=True)


def _blank(file: str, kinds: tuple[str, ...]) -> Blank:
    from dampkit.bench.template import Blank, kinds_of
    from dampkit.job import BESIDE, MODELS
    from dampkit.outcome.published import keys

    if file not in (files := (*MODELS, *BESIDE)):
        raise BadSettings(
            "dampkit new", f"there is no file {file!r}", f"one of {', '.join(files)}", "name one of these"
        )
    known = kinds_of(keys(AS_THE_UNIT.get(file, file)))
    for kind in kinds:
        if kind not in known:
            expected = f"one of {', '.join(known)}" if known else f"no --kind: {file}.toml comes in one kind only"
            raise BadSettings(
                "--kind", f"{file}.toml has no kind {kind!r}", expected, "name one of these, or leave it out"
            )
    return Blank(file, keys(file), kinds)


def _refuse_to_overwrite(place: Path) -> None:
    if place.exists():
        raise BadSettings(str(place), "this file exists and is kept", "a new file", "give another name")


def schema_command(
    name: Annotated[
        str,
        typer.Argument(
            metavar="[NAME]",
            help="result, need, compare, settings, reference; bench, damper, vehicle, inspection, costs, stock, workshop.",
            show_default=False,
        ),
    ] = "result",
) -> None:
    from dampkit.outcome.published import NAMES, schema_text

    if name not in NAMES:
        raise BadSettings(
            "NAME", f"there is no schema {name!r}", f"one of {', '.join(NAMES)}", "give one of these names"
        )
    say(schema_text(name), nl=False)
