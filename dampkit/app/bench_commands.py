"""`dampkit book bench calibrate|check|record`: the bench's own record, beside the four commands of its card."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.at_book import person, place_of, the_book
from dampkit.app.options import Book, Day, Who
from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import write_text
from dampkit.job import JobFiles
from dampkit.outcome.about import day_of_test, today

if TYPE_CHECKING:
    from dampkit.store.benches import BenchState
    from dampkit.store.calibration import Calibrated, Channel

Name = Annotated[str, typer.Argument(metavar="NAME", help="The bench's name in the library.", show_default=False)]


def with_records(app: typer.Typer) -> typer.Typer:
    """The commands of a bench's card and of its record."""
    app.command("calibrate", epilog="Example: dampkit book bench calibrate 'bench 1' CALIBRATION.toml")(_calibrate)
    app.command("check", epilog="Example: dampkit book bench check 'bench 1' MASTER.csv --type master --serial M-1")(
        _check
    )
    app.command("record", epilog="Example: dampkit book bench record 'bench 1' --page BENCH1.html")(_record)
    return app


def _calibrate(
    name: Name,
    file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="Readings against weights and gauges.")],
    who: Who = None,
    book: Book = None,
) -> None:
    """Keep a calibration: what the bench read against known weights, places and temperatures.

    What it leaves uncertain follows every test that names the bench with --on.
    """
    from dampkit.bench.toml_file import toml_text
    from dampkit.store.benches import add_calibration
    from dampkit.store.library import card_of

    text = toml_text(file)
    with the_book(book, create=True) as opened:
        card_of(opened, "bench", name)
        found = add_calibration(opened, name, text, person(who))
    say(f"{name}: calibration {'passed' if found.passed else 'FAILED'}")
    say("\n".join(f"  {line}" for line in _channel_lines(found)))


def _check(
    name: Name,
    runs: Annotated[list[Path], typer.Argument(metavar="RUN...", help="The master damper's test.")],
    unit_type: Annotated[str, typer.Option("--type", metavar="NAME", help="The master damper's type.")],
    serial: Annotated[str, typer.Option(metavar="SERIAL", help="The master damper's serial.")],
    date: Day = None,
    who: Who = None,
    book: Book = None,
) -> None:
    """Keep a daily check: the workshop's master damper, held against the reference of its type."""
    from dampkit.store.benches import add_check, check_of
    from dampkit.store.from_library import Named, from_library

    day = day_of_test(date) or today()
    with from_library(place_of(book), Named(unit_type, None, name, day), JobFiles()) as (files, _):
        job = files.load()
    if job.damper is None or job.damper.reference is None:
        found = f"the unit type {unit_type!r} has no reference"
        raise BadSettings("--type", found, "the master damper's own forces", "add a [reference] to its card")
    result = analyse_job(dampkit.read_test(runs, job.bench), job).to_dict()
    made = check_of(result, job.damper.reference.model_dump(), (serial, day, person(who)))
    with the_book(book) as opened:
        add_check(opened, name, made)
    word = "passed" if made.passed else "FAILED: find out why before anything else is tested"
    off = f"{made.mean_percent:+.1f} % off its record, at most {made.worst_percent:.1f} %"
    say(f"{name}: check of {day} {word}\n  the master damper {made.master} reads {off}")


def _record(
    name: Name,
    date: Day = None,
    page: Annotated[Path | None, typer.Option(metavar="OUT.html", help="The same as a page, with the drift.")] = None,
    book: Book = None,
) -> None:
    """Say whether a bench may be believed on a day, and how it has drifted."""
    from dampkit.store.bench_page import drift_sentence, render_bench
    from dampkit.store.benches import bench_state, checks_of
    from dampkit.store.library import card_of, workshop_of

    with the_book(book) as opened:
        card_of(opened, "bench", name)
        state = bench_state(opened, name, day_of_test(date) or today())
        checks, head = checks_of(opened, name), workshop_of(opened)
    say("\n".join(_state_lines(state)))
    say(f"  {drift_sentence(checks)}")
    if page is not None:
        write_text(page, render_bench(state, checks, head), make_folder=True)
        say(f"written: {page}")


def _channel_lines(found: Calibrated) -> Iterator[str]:
    """A line a channel, with its largest error, limit and what it leaves uncertain."""
    for what, channel in found.channels.items():
        yield f"{what}: {_channel(channel)}"
    yield f"force class by ISO 7500-1: {found.force_class or 'none'}; a weight hung twice repeats within {found.repeatability_percent:.2g} %"
    yield f"empty cell: {found.zero_n:.2g} N"
    stiff = found.stiffness_n_mm
    yield f"bench and link: {'no rigid link was pulled' if stiff is None else f'{stiff:.4g} N/mm'}"


def _channel(channel: Channel | None) -> str:
    if channel is None:
        return "not held against anything"
    limit = f"limit {channel.limit:g} {channel.unit}, {'in' if channel.passed else 'OUT'}"
    return f"off by up to {channel.error:.2g} {channel.unit} ({limit}); a reading is sure to {channel.uncertainty:.2g} {channel.unit}"


def _state_lines(state: BenchState) -> Iterator[str]:
    """Whether the bench may be believed, and on what that rests."""
    from dampkit.store.bench_page import BELIEVED

    yield f"{state.bench} on {state.day}: {BELIEVED[state.believed].replace('is not', 'is NOT')}"
    if state.calibration is not None and state.calibrated is not None:
        yield f"  calibrated on {state.calibration.on} by {state.calibration.by}, due {state.calibration.due}"
        yield from (f"  {line}" for line in _channel_lines(state.calibrated))
    if state.check is not None:
        yield f"  checked on {state.check.done_on} with {state.check.master}: {state.check.worst_percent:.1f} % at most"
    yield from (f"  {remark.severity}: {remark.message}" for remark in state.quality())
