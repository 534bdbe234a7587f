"""The command `dampkit look`; what it does is in `look`, loaded when it is used."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.options import AsLogged, Bench, Records


def look_command(
    runs: Records,
    bench: Bench = None,
    save_bench: Annotated[
        Path | None, typer.Option(metavar="BENCH.toml", help="Write the reading down for the next logs of this bench.")
    ] = None,
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with pictures.")] = None,
    as_logged: AsLogged = False,
) -> None:
    from dampkit.app.look import look

    look(runs, bench, save_bench, page, as_logged)
