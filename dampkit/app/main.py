"""The commands. Thin: each reads its files, calls the library and prints; heavy imports wait until they are needed."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from copy import copy
from pathlib import Path
from typing import Annotated, Any

import typer

from dampkit.app.batch_command import batch_command
from dampkit.app.book import app as book_app
from dampkit.app.making import (
    Drawn,
    DrawnOption,
    FiguresOption,
    NextTestOption,
    NumbersOption,
    Units,
    UnitsOption,
)
from dampkit.app.need import need_command
from dampkit.app.options import Bench, Costs, Damper, Inspection, Stock, Vehicle
from dampkit.app.page import page_command
from dampkit.app.say import say
from dampkit.app.side_by_side import add_side_by_side
from dampkit.app.spring import app as spring_app
from dampkit.errors import DampkitError
from dampkit.version import __version__

BUG, INTERRUPTED = 70, 130
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From a damper bench log to a verdict: what the unit does, what is wrong with it, and what to do next.",
    epilog="Example: dampkit analyse RUN.csv --bench BENCH.toml --report RUN.html",
)

Logs = Annotated[
    list[Path],
    typer.Argument(metavar="RUN...", help="The records of one test of one unit, in order.", show_default=False),
]
AsLogged = Annotated[
    bool, typer.Option("--as-logged", help="Leave in what the log shows of channel delay, moving mass and gaps.")
]


def say_version(asked: bool) -> None:
    if asked:
        say(f"dampkit {__version__}")
        raise typer.Exit


@app.callback()
def options(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=say_version, help="Print the version and end.")
    ] = False,
    debug: Annotated[
        bool, typer.Option("--debug", help="Show where in the program an unexpected error arose.")
    ] = False,
) -> None:
    """Options before the command."""
    for library in ONE_THREAD:  # the matrices are small: threads within one process only get in each other's way
        os.environ.setdefault(library, "1")


@app.command(
    "analyse", epilog="Example: dampkit analyse RUN.csv --bench BENCH.toml --damper DAMPER.toml --report RUN.html"
)
def analyse_command(
    runs: Logs,
    bench: Bench = None,
    damper: Damper = None,
    vehicle: Vehicle = None,
    inspection: Inspection = None,
    costs: Costs = None,
    stock: Stock = None,
    json_to: Annotated[
        str | None, typer.Option("--json", metavar="OUT.json", help="Write the result as JSON; - for standard output.")
    ] = None,
    report: Annotated[Path | None, typer.Option(metavar="OUT.html", help="Write the page for the workshop.")] = None,
    units: UnitsOption = Units.si,
    figures: FiguresOption = None,
    figures_as: DrawnOption = Drawn.svg,
    numbers: NumbersOption = None,
    next_test: NextTestOption = None,
    fail_on_fault: Annotated[
        bool, typer.Option("--fail-on-fault", help="End with status 1 unless the verdict is fit.")
    ] = False,
    as_logged: AsLogged = False,
) -> None:
    """Analyse a test and say what to do with the unit."""
    from dampkit.app.analyse import analyse
    from dampkit.app.making import Wanted
    from dampkit.job import JobFiles

    wanted = Wanted(report, units, figures, figures_as, numbers, next_test)
    files = JobFiles(bench, damper, vehicle, inspection, costs, stock)
    raise typer.Exit(analyse(runs, files, json_to, wanted, fail_on_fault=fail_on_fault, as_logged=as_logged))


@app.command("look", epilog="Example: dampkit look RUN.csv --save-bench BENCH.toml")
def look_command(
    runs: Logs,
    bench: Bench = None,
    save_bench: Annotated[
        Path | None, typer.Option(metavar="BENCH.toml", help="Write the reading down for the next logs of this bench.")
    ] = None,
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page with pictures.")] = None,
    as_logged: AsLogged = False,
) -> None:
    """Show how a record is understood, before any analysis."""
    from dampkit.app.look import look

    look(runs, bench, save_bench, page, as_logged)


@app.command("samples", epilog="Example: dampkit samples sample_runs")
def samples_command(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to write them.")] = Path("sample_runs"),
) -> None:
    """Write the made-up sample runs of an invented workshop."""
    from dampkit.virtual.samples import POINT_SAMPLES, SAMPLES, write_samples

    for path in write_samples(folder, SAMPLES, POINT_SAMPLES):
        say(path)


@app.command("schema", epilog="Example: dampkit schema > result.schema.json")
def schema_command() -> None:
    """Print the JSON Schema of the result."""
    import json

    from dampkit.outcome.result import json_schema

    say(json.dumps(json_schema(), indent=2))


app.add_typer(book_app, name="book")
app.add_typer(spring_app, name="spring")
app.command("need", epilog="Example: dampkit need VEHICLE.toml --report NEED.html")(need_command)
app.command("page", epilog="Example: dampkit page RESULT.json --report OUT.html --units imperial")(page_command)
add_side_by_side(app)
app.command("batch", epilog="Example: dampkit batch LOGS --out RESULTS --jobs 4")(batch_command)


def main(arguments: Sequence[str] | None = None) -> None:
    """The one way in and out: runs the command and ends the process with its exit status."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: more threads only wait for each other
    given = list(sys.argv[1:] if arguments is None else arguments)
    sys.exit(run_command(given))


def run_command(arguments: list[str]) -> int:
    """Exit status of a command line of `dampkit`."""
    return run_app(_needed(arguments), arguments, "dampkit")


def run_app(commands: typer.Typer, arguments: list[str], name: str) -> int:
    """Exit status of a command line. Errors are printed here, as one to three plain lines, and nowhere else."""
    try:
        status = commands(arguments, standalone_mode=False, prog_name=name)
        return status if isinstance(status, int) else 0
    except DampkitError as error:
        return _say(error.exit_status, *error.lines())
    except typer.Exit as done:
        return done.exit_code
    except (KeyboardInterrupt, typer.Abort):
        return _say(INTERRUPTED, "stopped by the user")
    except BrokenPipeError:
        sys.stderr.close()  # whoever read the output has seen enough
        return 0
    except Exception as error:
        if hasattr(error, "format_message") and hasattr(error, "exit_code"):  # wrong usage, as typer words it
            return _say(2, error.format_message(), f"Do: see  {name} --help")
        if "--debug" in arguments:
            raise
        return _say(
            BUG,
            f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}",
            "This is a fault of the program: please report it, with the log. `dampkit --debug ...` shows where it is.",
        )


def _needed(arguments: list[str]) -> typer.Typer:
    """The app with just the command that is asked for; else all commands by name and help, their options left out.

    Working out every command's options takes longer than all the rest of the start.
    """
    asked = next((a for a in arguments if not a.startswith("-")), None)
    commands, groups = app.registered_commands, app.registered_groups
    small = copy(app)
    if asked in {c.name for c in commands} | {g.name for g in groups}:
        small.registered_commands = [c for c in commands if c.name == asked]
        small.registered_groups = [g for g in groups if g.name == asked]
        if small.registered_commands:
            small.registered_groups = [_by_name(g) for g in groups]  # one command alone would lose its name
        return small
    small.registered_commands = [_by_name(c) for c in commands]
    small.registered_groups = [_by_name(g) for g in groups]
    return small


def _by_name(info: Any) -> Any:
    """A command or group with its name and help and nothing to work out."""
    named = copy(info)
    if hasattr(info, "callback") and not hasattr(info, "typer_instance"):

        def listed() -> None: ...

        listed.__doc__ = info.callback.__doc__
        named.callback = listed
    else:
        named.typer_instance = typer.Typer(help=info.typer_instance.info.help)
    return named


def _say(status: int, *lines: str) -> int:
    for i, line in enumerate(lines):
        say(f"dampkit: {line}" if i == 0 else f"  {line}", err=True)
    return status


if __name__ == "__main__":
    main()
