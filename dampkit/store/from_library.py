"""A test that names unit type, vehicle and bench instead of files: the library's cards as the files of the job."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from dampkit.bench.run import Quality
from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.job import JobFiles
from dampkit.outcome.about import today
from dampkit.store.benches import BenchState, bench_state
from dampkit.store.book import Book, book_at
from dampkit.store.library import DECLARES, NAMED, CardKind, card_of

OPTIONS: dict[CardKind, str] = {"unit-type": "--type", "vehicle": "--car", "bench": "--on"}


@frozen
class Named:
    """Names of cards, None where none is named; `day` is that of the test, on which the bench must be believed."""

    unit_type: str | None = None
    vehicle: str | None = None
    bench: str | None = None
    day: str = ""

    @property
    def by_kind(self) -> dict[CardKind, str]:
        return {kind: name for fact, kind in NAMED.items() if (name := getattr(self, fact)) is not None}

    @property
    def facts(self) -> dict[str, str]:
        """As they are kept with an entry."""
        return {fact: getattr(self, fact) or "" for fact in NAMED}


@contextmanager
def from_library(place: Path, named: Named, files: JobFiles) -> Iterator[tuple[JobFiles, tuple[Quality, ...]]]:
    """The files, those of the named cards among them, and what the bench's record says of that day.

    The files are there for as long as the block lasts, the owner's alone.
    Raises BadSettings where a card is not there or a file of its kind is named as well, UnusableBook where there is no
    book to look in.
    """
    if not named.by_kind:
        yield files, ()
        return
    with book_at(place) as book, TemporaryDirectory(prefix="dampkit-") as folder:
        written = {}
        for kind, name in named.by_kind.items():
            declares = DECLARES[kind]
            if getattr(files, declares) is not None:
                found = f"{OPTIONS[kind]} {name!r} and --{declares} {getattr(files, declares)}"
                raise BadSettings(OPTIONS[kind], found, "one of the two", "leave one out")
            written[declares] = _file(Path(folder), book, kind, name)
        quality: tuple[Quality, ...] = ()
        if named.bench is not None:
            state = bench_state(book, named.bench, named.day or today())
            quality = state.quality()
            _with_uncertainty(written["bench"], state)
        yield replace(files, **written), quality


def _file(folder: Path, book: Book, kind: CardKind, name: str) -> Path:
    """Named as a person would look for it in an error: the card with its version."""
    card = card_of(book, kind, name)
    plain = "".join(c if c.isalnum() or c in " ,-_" else "_" for c in card.title)
    path = folder / f"{kind} {plain}.toml"
    path.write_text(card.text, encoding="utf-8", newline="")
    return path


def _with_uncertainty(path: Path, state: BenchState) -> None:
    """How far the bench may be off follows from its calibration, where its card does not say."""
    text, found = path.read_text(encoding="utf-8"), state.calibrated
    if found is None or state.calibration is None or "uncertainty" in tomllib.loads(text):
        return
    lines = [
        f"# from the calibration of {state.calibration.on}",
        "[uncertainty]",
        f"force_percent = {found.force.uncertainty:.4g}",
        f"force_n = {found.force_uncertainty_n:.4g}",
    ]
    if found.travel is not None:
        lines.append(f"displacement_mm = {found.travel.uncertainty:.4g}")
    path.write_text("\n".join([text.rstrip("\n"), "", *lines, ""]), encoding="utf-8", newline="")
