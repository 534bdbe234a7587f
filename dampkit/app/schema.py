"""`dampkit schema`: the published JSON Schemas, for editors and for programs that read results."""

from __future__ import annotations

from typing import Annotated

import typer

from dampkit.app.say import say
from dampkit.errors import BadSettings


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
