"""What commands are given: options that several share, and settings objects whose fields are options."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from copy import copy
from dataclasses import MISSING, fields
from functools import wraps
from pathlib import Path
from typing import Annotated, Any, get_type_hints

import typer
from typer.models import OptionInfo

from dampkit.job import JobFiles


class Options:
    """Of a parameter that is a settings object: the option of each field that has one; the others keep their defaults."""

    def __init__(self, **by_field: Any) -> None:
        self.by_field = {name: _named(option, name) for name, option in by_field.items()}


def _named(option: Any, field: str) -> Any:
    """An option that has no name of its own has its field's."""
    info = option.__metadata__[0]
    if isinstance(info, OptionInfo) and info.default is ...:
        info = copy(info)
        info.default = f"--{field.replace('_', '-')}"
    return Annotated[option.__origin__, info]


def opened(command: Callable[..., Any]) -> Callable[..., Any]:
    """The command as typer reads it: in the place of each settings object its options."""
    hints, made, parameters = get_type_hints(command, include_extras=True), {}, []
    for name, parameter in inspect.signature(command).parameters.items():
        options = next((m for m in getattr(hints[name], "__metadata__", ()) if isinstance(m, Options)), None)
        if options is None:
            parameters.append(parameter.replace(kind=inspect.Parameter.KEYWORD_ONLY, annotation=hints[name]))
            continue
        kind = hints[name].__origin__
        made[name] = kind, {field: f"{name}_{field}" for field in options.by_field}
        defaults = {f.name: inspect.Parameter.empty if f.default is MISSING else f.default for f in fields(kind)}
        parameters += [
            inspect.Parameter(
                f"{name}_{field}", inspect.Parameter.KEYWORD_ONLY, default=defaults[field], annotation=option
            )
            for field, option in options.by_field.items()
        ]

    @wraps(command)
    def run(**given: Any) -> Any:
        for name, (kind, names) in made.items():
            given[name] = kind(**{field: given.pop(one) for field, one in names.items()})
        return command(**given)

    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    return run


def _toml(kind: str, text: str) -> Any:
    return Annotated[Path | None, typer.Option(f"--{kind}", metavar=f"{kind.upper()}.toml", help=text)]


Bench = _toml("bench", "How the bench writes its logs.")
UNIT = {"bench": Bench, "damper": _toml("damper", "The unit and its reference.")}
CAR = {**UNIT, "vehicle": _toml("vehicle", "The corner it is for.")}
JOB = {
    **CAR,
    "inspection": _toml("inspection", "What eyes and hands found."),
    "costs": _toml("costs", "Prices, to weigh rebuild and replace."),
    "stock": _toml("stock", "Drills, springs, shims and oils at hand."),
}
UnitFiles = Annotated[JobFiles, Options(**UNIT)]
CarFiles = Annotated[JobFiles, Options(**CAR)]
AllFiles = Annotated[JobFiles, Options(**JOB)]

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
SAID = Options(  # of a test beside its files
    serial=Serial, job=Job, customer=Customer, by=Technician, unit_type=UnitType, vehicle=Car, bench=OnBench,
    tested_on=Annotated[str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="Day of the test.")],
    tested_at=Annotated[str | None, typer.Option("--at", metavar="HH:MM", help="Time of the test.")],
)  # fmt: skip
