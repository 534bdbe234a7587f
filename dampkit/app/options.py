"""What several commands share: the records of a test and the declared files of a job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer


def _toml(kind: str, text: str) -> Any:
    return typer.Option(f"--{kind}", metavar=f"{kind.upper()}.toml", help=text)


Bench = Annotated[Path | None, _toml("bench", "How the bench writes its logs.")]
Damper = Annotated[Path | None, _toml("damper", "The unit and its reference.")]
Vehicle = Annotated[Path | None, _toml("vehicle", "The corner it is for.")]
Inspection = Annotated[Path | None, _toml("inspection", "What eyes and hands found.")]
Costs = Annotated[Path | None, _toml("costs", "Prices, to weigh rebuild and replace.")]
Stock = Annotated[Path | None, _toml("stock", "Drills, springs, shims and oils at hand.")]

Records = Annotated[
    list[Path],
    typer.Argument(metavar="RUN...", help="The records of one test of one unit, in order.", show_default=False),
]
AsLogged = Annotated[
    bool, typer.Option("--as-logged", help="Leave in what the log shows of channel delay, moving mass and gaps.")
]

Serial = Annotated[str | None, typer.Option(metavar="SERIAL", help="Serial of the unit.")]
Job = Annotated[str | None, typer.Option(metavar="JOB", help="Name or number of the job.")]
Customer = Annotated[str | None, typer.Option(metavar="NAME", help="Whose unit it is.")]
Technician = Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who made the test.")]
Who = Annotated[str | None, typer.Option(metavar="NAME", help="Who did this; else the name of the account.")]
Day = Annotated[str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="The day; else today.")]

UnitType = Annotated[
    str | None, typer.Option("--type", metavar="NAME", help="The unit's type in the library, instead of --damper.")
]
Car = Annotated[
    str | None, typer.Option("--car", metavar="NAME", help="The vehicle in the library, instead of --vehicle.")
]
OnBench = Annotated[
    str | None, typer.Option("--on", metavar="NAME", help="The bench in the library, instead of --bench.")
]
Book = Annotated[
    Path | None,
    typer.Option("--book", metavar="BOOK.sqlite", help="The book; else DAMPKIT_BOOK, else the user's data folder."),
]
