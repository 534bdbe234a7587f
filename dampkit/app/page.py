"""`dampkit page`: the page, figures and numbers of a stored result, without its log."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dampkit.app.making import Drawn, DrawnOption, FiguresOption, NumbersOption, Units, UnitsOption
from dampkit.app.say import say

if TYPE_CHECKING:
    from dampkit.outcome.result import Result


def page_command(
    stored: Annotated[
        Path, typer.Argument(metavar="RESULT.json", help="As `analyse --json` writes it.", show_default=False)
    ],
    report: Annotated[Path | None, typer.Option("--report", metavar="OUT.html", help="Write the page.")] = None,
    units: UnitsOption = Units.si,
    figures: FiguresOption = None,
    figures_as: DrawnOption = Drawn.svg,
    numbers: NumbersOption = None,
) -> None:
    from dampkit.app.making import Wanted, outputs
    from dampkit.errors import BadSettings
    from dampkit.files import check_outputs, write_all

    if not (report or figures or numbers):
        found = "nothing to make was named"
        raise BadSettings("dampkit page", found, "--report, --figures or --numbers", "name what to make")
    result = stored_result(stored)
    made = outputs(result, Wanted(report, units, figures, figures_as, numbers))
    check_outputs([output.path for output in made], [stored])
    write_all(made)
    for output in made:
        say(f"written: {output.path}")


def stored_result(place: Path) -> Result:
    """A result from a file of `analyse --json`, or from the folder `results` of a batch. Raises BadSettings."""
    from dampkit.bench.gate import A_RESULT, GZIP, file_bytes, plain_json, unpacked
    from dampkit.errors import BadSettings
    from dampkit.report.page import checked

    raw = file_bytes(place, A_RESULT)
    if raw.startswith(GZIP):
        raw = unpacked(raw, str(place), A_RESULT)
    plain = plain_json(raw, str(place), A_RESULT)
    if isinstance(plain, dict) and isinstance(plain.get("result"), dict):
        plain = plain["result"]
    if not isinstance(plain, dict):
        raise BadSettings(str(place), "this is JSON, but no result", A_RESULT.what, "check the path")
    return checked(plain)
