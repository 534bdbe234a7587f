"""Every command, as data: its group, what it does in one sentence, an example, and where it is, loaded when it is used."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from importlib import import_module
from inspect import getdoc
from typing import Any

import typer
from typer.core import TyperGroup

from dampkit.frozen import frozen


@frozen
class Command:
    """`said` opens the command's own help too; the docstring of its function says the rest.

    `place` is module:name, where it is not that of the others: `look:look_command` for look.
    """

    name: str
    said: str
    example: str
    place: str = ""

    @cache  # noqa: B019 - the commands are fifteen, and last as long as the program
    def made(self) -> Any:
        """The command as typer runs it; a group of commands where the place holds one."""
        module, _, name = (self.place or f"{self.name}:{self.name}_command").partition(":")
        found = getattr(import_module(f"dampkit.app.{module}"), name)
        if isinstance(found, typer.Typer):
            command, more = typer.main.get_command(found), ""
        else:
            alone = group_of_commands()
            alone.command(self.name)(found)
            command, more = typer.main.get_command(alone), getdoc(found) or ""
        command.name, command.epilog = self.name, f"Example: {self.example}"
        command.help = f"{self.said}\n\n{more}" if more else self.said
        return command


GROUPS: dict[str, tuple[Command, ...]] = {
    "One test": (
        Command("analyse", "Analyse a test and say what to do with the unit.",
                "dampkit analyse RUN.csv --bench BENCH.toml --damper DAMPER.toml --report RUN.html"),
        Command("look", "Show how a record is understood, before any analysis.",
                "dampkit look RUN.csv --save-bench BENCH.toml"),
        Command("page", "Make the page, figures and numbers of a stored result again, without its log.",
                "dampkit page RESULT.json --report OUT.html --units imperial", "analyse:page_command"),
    ),
    "The car": (
        Command("need", "Work out what a vehicle needs of its dampers, without any bench log.",
                "dampkit need VEHICLE.toml --report NEED.html"),
        Command("spring", "Work out rate, stress and friction of a spring, and its [spring] table.",
                "dampkit spring coil --wire 12 --coil 100 --active 6 --load 3400", "spring:app"),
    ),
    "Side by side": (
        Command("compare", "Hold a left and a right unit, before and after, or a batch of units side by side.",
                "dampkit compare LEFT.csv RIGHT.csv --damper DAMPER.toml"),
        Command("settings", "Map clicks or turns to curves from logs of several settings, and pick one.",
                "dampkit settings click0.csv click4.csv click8.csv --vehicle CAR.toml"),
        Command("reference", "Make a reference with its tolerance from runs of several known-good units.",
                "dampkit reference good*.csv --save DAMPER.toml"),
    ),
    "Many tests": (
        Command("batch", "Analyse many logs into one table and one page; what is done already is not done again.",
                "dampkit batch LOGS --out RESULTS --jobs 4"),
        Command("book", "Keep every log, analysis and note of the workshop in one file that is only ever added to.",
                "dampkit book add RUN.csv --damper DAMPER.toml --job 'blue estate, rear'", "book:app"),
        Command("serve", "Open a page at the bench: from a record to a verdict and into the book, in a browser.",
                "dampkit serve --watch LOGS", "serve.run:serve_command"),
    ),
    "To begin with": (
        Command("guide", "Explain how to test, read the page and go on, every key, and every code of a fault or remark.",
                "dampkit guide first-test"),
        Command("samples", "Copy the made-up sample runs of an invented workshop into a folder.",
                "dampkit samples sample_runs"),
        Command("new", "Make a commented file to fill in: bench, damper, vehicle, inspection, costs, stock or workshop.",
                "dampkit new damper --kind twin-tube --save DAMPER.toml"),
        Command("schema", "Print the JSON Schema of what a command writes, or of one of the declared files.",
                "dampkit schema result > result.schema.json", "new:schema_command"),
    ),
}  # fmt: skip
COMMANDS = {command.name: command for group in GROUPS.values() for command in group}


class Group(TyperGroup):
    """A group whose flags are False where they are not given: typer has None checked by pydantic, slow to load."""

    def get_params(self, ctx: Any) -> list[Any]:
        found: list[Any] = super().get_params(ctx)
        for option in found:
            if getattr(option, "is_flag", False) and option.default is None:
                option.default = False
        return found


class Listed(Group):
    """A group whose help says of each command the whole first sentence."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, (self.commands[name].help or "").split("\n\n")[0]) for name in self.commands])


class Commands(typer.Typer):
    """Commands whose settings objects are opened into options."""

    def command(self, name: str | None = None, **how: Any) -> Callable[[Any], Any]:
        from dampkit.app.options import opened

        def added(command: Any) -> Any:
            super(Commands, self).command(name, **how)(opened(command))
            return command

        return added


def group_of_commands() -> typer.Typer:
    """Without the library's own colours and frames; errors are worded in `main`."""
    return Commands(
        cls=Listed, add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None, no_args_is_help=True
    )


class Grouped(Group):
    """The commands by group. One is loaded when it is asked for, as working out all options takes longer than the rest."""

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self.commands = dict.fromkeys(COMMANDS)  # type: ignore[assignment]  # the names alone, to be suggested

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        found = COMMANDS.get(cmd_name)
        return None if found is None else found.made()

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        for group, commands in GROUPS.items():
            with formatter.section(group):
                formatter.write_dl([(command.name, command.said) for command in commands])


def first_steps() -> Iterator[str]:
    """What bare `dampkit` says."""
    low = "sample_runs/low_oil"
    yield "dampkit: from a damper bench log to a verdict. The first steps:"
    yield from _step("1", "copy made-up runs to try it on", ["dampkit samples sample_runs"])
    yield from _step("2", "see how a record is understood", [f"dampkit look {low}.csv --bench {low}.bench.toml"])
    declared = " ".join(f"--{kind} {low}.{kind}.toml" for kind in ("bench", "damper", "vehicle"))
    yield from _step(
        "3", "get a verdict and the page of it", [f"dampkit analyse {low}.csv {declared} --report low_oil.html"]
    )
    own = [
        "dampkit look RUN.csv --save-bench BENCH.toml",
        "dampkit new damper --save DAMPER.toml",
        "dampkit new vehicle --ask",
    ]
    yield from _step("4", "take a log of your own, and say what the unit is and which car it is for", own)
    yield "`dampkit guide` explains in a mechanic's words; `dampkit --help` lists every command, `dampkit COMMAND --help` one."


def _step(number: str, what: str, commands: Iterable[str]) -> Iterator[str]:
    yield f"  {number}. {what}"
    yield from (f"       {command}" for command in commands)
