"""How right it is, on made-up units: python -m dampkit.studies fit|faults|mix|advice|samples|sample-pages."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Made-up units through the whole, to see how right the fit, the faults and the advice are.",
)
Page = Annotated[Path, typer.Argument(metavar="OUT.html", help="Where to write the page.")]
Jobs = Annotated[int, typer.Option("--jobs", min=1, help="How many processes.")]
Seed = Annotated[int, typer.Option("--seed", help="Another seed, another set of units and benches.")]


@app.command("fit", epilog="Example: python -m dampkit.studies fit reports/fit_study.md --runs 300 --jobs 2")
def fit_command(
    out: Annotated[Path, typer.Argument(metavar="OUT.md", help="Where to write the table.")],
    runs: Annotated[int, typer.Option("--runs", min=5, help="Made-up runs of each kind of damper.")] = 300,
    seed: Seed = 1,
    jobs: Jobs = 1,
) -> None:
    """Fit made-up runs, and hold values and intervals against what went in."""
    from dampkit.studies.fit import write_fit_study

    typer.echo(f"written: {write_fit_study(runs, seed, jobs, out)}")


@app.command("faults", epilog="Example: python -m dampkit.studies faults reports/fault_study.html --jobs 2")
def faults_command(
    out: Page,
    sound: Annotated[int, typer.Option("--sound", min=1, help="Sound units in all.")] = 1600,
    each: Annotated[int, typer.Option("--each", min=1, help="Units of each kind, fault and severity.")] = 10,
    pairs: Annotated[int, typer.Option("--pairs", min=0, help="Units of each kind and pair of faults.")] = 30,
    seed: Seed = 1,
    jobs: Jobs = 1,
) -> None:
    """Put faults into a made-up fleet, analyse every run, and count what was found, missed and falsely called.

    A table goes beside the page, as JSON.
    """
    from dampkit.studies.faults import Sizes, fault_study

    fault_study(Sizes(sound, each, pairs, seed), jobs, out)


@app.command("mix", epilog="Example: python -m dampkit.studies mix reports/mix_study.md --jobs 2")
def mix_command(
    out: Annotated[
        Path, typer.Argument(metavar="OUT.md", help="Where to write the report; OUT.jsonl alone keeps runs.")
    ],
    sound: Annotated[int, typer.Option("--sound", min=0, help="Sound units.")] = 3000,
    faulty: Annotated[int, typer.Option("--faulty", min=0, help="Faulty units.")] = 3000,
    seed: Seed = 1,
    jobs: Jobs = 1,
) -> None:
    """Sound and faulty units over programmes, drives, valves and benches, to see what is claimed and what is passed.

    Runs are kept beside the report, one JSON line each; started again, the study goes on where it stopped.
    """
    from dampkit.studies.mix import mix_study

    typer.echo(f"written: {mix_study(sound, faulty, seed, jobs, out)}")


@app.command("advice", epilog="Example: python -m dampkit.studies advice reports/advice_study.html --jobs 2")
def advice_command(
    out: Page,
    units: Annotated[int, typer.Option("--units", min=1, help="How many made-up units.")] = 200,
    jobs: Jobs = 1,
) -> None:
    """Change made-up units as advised, run them again, and count how many come into their band."""
    from dampkit.studies.advice_page import write_advice_study

    write_advice_study(out, units, jobs)


@app.command("samples", epilog="Example: python -m dampkit.studies samples sample_runs")
def samples_command(
    out: Annotated[Path, typer.Argument(metavar="DIR", help="Where to write.")] = Path("sample_runs"),
) -> None:
    """Simulate the sample runs again, byte for byte: what `dampkit samples` copies."""
    from dampkit.virtual.samples import POINT_SAMPLES, SAMPLES, write_samples

    for path in write_samples(out, SAMPLES, POINT_SAMPLES):
        typer.echo(f"written: {path}")


@app.command("low-oil", epilog="Example: python -m dampkit.studies low-oil reports/low_oil_study.md")
def low_oil_command(
    out: Annotated[Path, typer.Argument(metavar="OUT.md", help="Where to write the report.")],
    units: Annotated[int, typer.Option("--units", min=20, help="Made-up twin tubes, most of them low on oil.")] = 120,
    seed: Seed = 1,
) -> None:
    """Low oil over sizes, charge and carried gas: how often it is named, and whether the oil to add is right."""
    from dampkit.studies.low_oil import write_low_oil_study

    typer.echo(f"written: {write_low_oil_study(units, seed, out)}")


@app.command("sample-pages", epilog="Example: python -m dampkit.studies sample-pages sample_runs reports/samples")
def sample_pages_command(
    samples: Annotated[Path, typer.Argument(metavar="SAMPLES", help="Folder of `dampkit samples`.")] = Path(
        "sample_runs"
    ),
    out: Annotated[Path, typer.Argument(metavar="DIR", help="Where to write.")] = Path("reports/samples"),
) -> None:
    """Make the pages of the sample runs again: a batch of all, a pair, before and after, a sweep of settings."""
    from dampkit.studies.sample_pages import write_sample_pages

    for path in write_sample_pages(samples, out):
        typer.echo(f"written: {path}")


def main(arguments: list[str] | None = None) -> int:
    """Exit status of a command line; errors as in `dampkit`."""
    from dampkit.app.main import run_app

    return run_app(app, list(sys.argv[1:] if arguments is None else arguments), "python -m dampkit.studies")


if __name__ == "__main__":
    sys.exit(main())
