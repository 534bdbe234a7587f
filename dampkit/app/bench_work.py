"""What the commands of a bench's record do; the record itself is in `dampkit.store.benches`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import dampkit
from dampkit.analyse import analyse_job
from dampkit.app.at_book import person, place_of, the_book
from dampkit.app.say import say
from dampkit.bench.toml_file import toml_text
from dampkit.errors import BadSettings
from dampkit.files import write_text
from dampkit.job import JobFiles
from dampkit.outcome.about import day_of_test
from dampkit.store.bench_page import drift_sentence, render_bench
from dampkit.store.benches import BenchState, add_calibration, add_check, bench_state, check_of, checks_of
from dampkit.store.calibration import Calibrated, Channel
from dampkit.store.from_library import Named, from_library
from dampkit.store.library import card_of
from dampkit.store.workshop import workshop_of


@dataclass(frozen=True)
class Master:
    """The workshop's master damper: a unit that is kept for checking the bench."""

    unit_type: str
    serial: str


def calibrate(bench: str, file: Path, who: str | None, book: Path | None) -> None:
    text = toml_text(file)
    with the_book(book, create=True) as opened:
        card_of(opened, "bench", bench)
        found = add_calibration(opened, bench, text, person(who))
    say(f"{bench}: calibration {'passed' if found.passed else 'FAILED'}")
    say("\n".join(f"  {line}" for line in channel_lines(found)))


def channel_lines(found: Calibrated) -> Iterator[str]:
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


def check(
    bench: str, logs: Sequence[Path], master: Master, said: tuple[str | None, str | None], book: Path | None
) -> None:
    """Analyse the master damper's test and keep what it reads off its type's reference."""
    day = day_of_test(said[0]) or date.today().isoformat()
    with from_library(place_of(book), Named(master.unit_type, None, bench, day), JobFiles()) as (files, _):
        job = files.load()
    if job.damper is None or job.damper.reference is None:
        found = f"the unit type {master.unit_type!r} has no reference"
        raise BadSettings("--type", found, "the master damper's own forces", "add a [reference] to its card")
    result = analyse_job(dampkit.read_test(logs, job.bench), job).to_dict()
    reference = job.damper.reference.model_dump()
    made = check_of(result, reference, (master.serial, day, person(said[1])))
    with the_book(book) as opened:
        add_check(opened, bench, made)
    word = "passed" if made.passed else "FAILED: find out why before anything else is tested"
    say(f"{bench}: check of {day} {word}")
    say(
        f"  the master damper {made.master} reads {made.mean_percent:+.1f} % off its record, at most {made.worst_percent:.1f} %"
    )


def record(bench: str, day: str | None, page: Path | None, book: Path | None) -> None:
    with the_book(book) as opened:
        card_of(opened, "bench", bench)
        state = bench_state(opened, bench, day_of_test(day) or date.today().isoformat())
        checks, head = checks_of(opened, bench), workshop_of(opened)
    say("\n".join(state_lines(state)))
    say(f"  {drift_sentence(checks)}")
    if page is not None:
        write_text(page, render_bench(state, checks, head), make_folder=True)
        say(f"written: {page}")


def state_lines(state: BenchState) -> Iterator[str]:
    """Whether the bench may be believed, and on what that rests."""
    yield f"{state.bench} on {state.day}: {'may be believed' if state.believed else 'is NOT to be believed'}"
    if state.calibration is not None and state.calibrated is not None:
        yield f"  calibrated on {state.calibration.on} by {state.calibration.by}, due {state.calibration.due}"
        yield from (f"  {line}" for line in channel_lines(state.calibrated))
    if state.check is not None:
        yield f"  checked on {state.check.done_on} with {state.check.master}: {state.check.worst_percent:.1f} % at most"
    yield from (f"  {remark.severity}: {remark.message}" for remark in state.quality())
