"""The one way in and out: options before the command, errors as plain lines, exit statuses."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from dampkit.app.commands import Grouped, first_steps
from dampkit.app.say import never_fail_to_print, say
from dampkit.errors import DampkitError
from dampkit.own_process import settle
from dampkit.version import __version__

BUG, INTERRUPTED = 70, 130

app = typer.Typer(
    cls=Grouped,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="From a damper bench log to a verdict: what the unit does, what is wrong with it, and what to do next.",
    epilog="Example: dampkit analyse RUN.csv --bench BENCH.toml --report RUN.html",
)


def say_version(asked: bool) -> None:
    if asked:
        say(f"dampkit {__version__}")
        raise typer.Exit


@app.callback()
def options(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=say_version, help="Print the version and end.")
    ] = False,
    debug: Annotated[
        bool, typer.Option("--debug", help="Show where in the program an unexpected error arose.")
    ] = False,
) -> None:
    """Options before the command."""
    if context.invoked_subcommand is None:
        say("\n".join(first_steps()))


def main(arguments: Sequence[str] | None = None) -> None:
    """The one way in and out: runs the command and ends the process with its exit status."""
    settle()
    given = list(sys.argv[1:] if arguments is None else arguments)
    sys.exit(run_command(given if os.name != "nt" else patterns_as_files(given)))


def patterns_as_files(arguments: list[str]) -> list[str]:
    """With the names that fit each pattern, sorted, in its place, as the shells of Windows leave that to the program."""
    from glob import glob, has_magic

    out: list[str] = []
    for argument in arguments:
        is_pattern = has_magic(argument) and not os.path.exists(argument)
        out += (sorted(glob(argument)) if is_pattern else []) or [argument]
    return out


def run_command(arguments: list[str]) -> int:
    """Exit status of a command line of `dampkit`."""
    return run_app(app, arguments, "dampkit")


def run_app(commands: typer.Typer, arguments: list[str], name: str) -> int:
    """Exit status of a command line. Errors are printed here, as one to three plain lines, and nowhere else."""
    never_fail_to_print()
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
        if type(error).__name__ == "NoArgsIsHelpError":  # a group alone
            say(error.format_message())  # type: ignore[attr-defined]
            return 0
        if hasattr(error, "format_message") and hasattr(error, "exit_code"):  # wrong usage, as typer words it
            path = getattr(getattr(error, "ctx", None), "command_path", name)
            return _say(2, error.format_message(), f"Do: see  {path} --help")
        if "--debug" in arguments:
            raise
        return _say(
            BUG,
            f"unexpected {type(error).__name__}: {' '.join(str(error).split())[:200]}",
            "This is a fault of the program: please report it, with the log. `dampkit --debug ...` shows where it is.",
        )


def _say(status: int, *lines: str) -> int:
    for i, line in enumerate(lines):
        say(f"dampkit: {line}" if i == 0 else f"  {line}", err=True)
    return status


if __name__ == "__main__":
    main()
