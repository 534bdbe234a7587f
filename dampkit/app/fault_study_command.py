"""The command `dampkit fault-study`. Heavy imports wait until they are needed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def fault_study_command(
    out: Annotated[Path, typer.Argument(metavar="OUT.html", help="Where to write the page; a table goes beside it.")],
    sound: Annotated[int, typer.Option("--sound", min=1, help="Sound units in all.")] = 1600,
    each: Annotated[int, typer.Option("--each", min=1, help="Units of each kind, fault and severity.")] = 10,
    pairs: Annotated[int, typer.Option("--pairs", min=0, help="Units of each kind and pair of faults.")] = 30,
    seed: Annotated[int, typer.Option("--seed", help="Another seed, another fleet.")] = 1,
    jobs: Annotated[int, typer.Option("--jobs", min=1, help="How many processes.")] = 1,
) -> None:
    """Put faults into a made-up fleet, analyse every run, and count what was found, missed and cried wolf."""
    from dampkit.app.fault_study import Sizes, fault_study

    fault_study(Sizes(sound, each, pairs, seed), jobs, out)
