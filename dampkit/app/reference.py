"""`dampkit reference`: several known-good runs become the reference of a damper file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, get_args

import typer

from dampkit.app.folder import fitted_shown
from dampkit.app.json_out import JsonOption, json_file, tell
from dampkit.app.options import Book, Options, UnitFiles
from dampkit.app.say import aligned, on_terminal
from dampkit.errors import BadSettings
from dampkit.files import check_outputs, text_output
from dampkit.frozen import frozen

if TYPE_CHECKING:
    from dampkit.expected.known_good import KnownGood

HEADS = ("direction", "m/s", "mean, N", "+/-, N", "s, N")
FEW = 10  # below this the band is wide because few units say little about all of them; own choice


@frozen
class Limits:
    """Of all such units the share that the limits hold, and how surely."""

    share: float = 0.95
    confidence: float = 0.95


OF_LIMITS = Options(
    share=Annotated[float, typer.Option(help="Share of good units that the band is to hold.")],
    confidence=Annotated[float, typer.Option(help="Confidence that it does.")],
)


def reference_command(
    files: UnitFiles,
    limits: Annotated[Limits, OF_LIMITS],
    runs: Annotated[
        list[Path] | None, typer.Argument(metavar="RUN.csv...", help="The logs.", show_default=False)
    ] = None,
    save: Annotated[
        Path | None, typer.Option("--save", metavar="DAMPER.toml", help="Write it as a damper file.")
    ] = None,
    json_to: JsonOption = None,
    unit_type: Annotated[
        str | None,
        typer.Option("--type", metavar="NAME", help="Instead of logs: the type's units in the book that passed."),
    ] = None,
    accept: Annotated[
        str | None,
        typer.Option("--accept", metavar="NAME", help="With --type: keep it on the type's card; who says so."),
    ] = None,
    book: Book = None,
) -> None:
    from dampkit.bench.toml_file import toml_text
    from dampkit.outcome.side_by_side import reference as made_of
    from dampkit.outcome.side_by_side_record import reference_record

    if (unit_type is None) == (not runs):
        raise BadSettings(
            "reference", "logs and --type, or neither", "one of the two", "name logs, or a type with --type"
        )
    if unit_type is not None:
        of_type(unit_type, limits, accept, json_to=json_to, book=book)
        return
    check_outputs([*json_file(json_to), *([save] if save else [])], [*(runs or ()), files.bench, files.damper])
    found = made_of(fitted_shown(runs or (), files.load()), limits.share, limits.confidence)
    outputs = []
    if save is not None:
        kept = "" if files.damper is None else toml_text(files.damper)
        outputs.append(text_output(save, found.to_toml(kept)))
    tell(json_to, lambda: reference_record(found).model_dump(mode="json"), _lines(found), outputs)


def _lines(found: KnownGood) -> list[str]:
    lines = [
        f"{found.units} units: limits that hold {100 * found.share:g} % of such units with {100 * found.confidence:g} % "
        f"confidence, mean +/- {found.k:.3f} times their standard deviation s"
    ]
    if on_terminal():
        lines += aligned([HEADS, *_rows(found)])
    else:
        lines += ["  {} at {} m/s: {} N +/- {} N (s {} N)".format(*row) for row in _rows(found)]
    if found.units < FEW:
        lines.append(
            f"  so few units say little about all: with {FEW} the factor would be smaller. Make sure each is good."
        )
    return lines


def of_type(unit_type: str, limits: Limits, accept: str | None, *, json_to: str | None, book: Path | None) -> None:
    """The reference of a type from its units that passed; `accept` is who takes it on as the type's own."""
    from dampkit.app.at_book import the_book
    from dampkit.outcome.side_by_side_record import reference_record
    from dampkit.store.grown import accepted, grown

    with the_book(book) as opened:
        made = grown(opened, unit_type, limits.share, limits.confidence)
        lines = [f"unit type {unit_type}: {made.why}", *_lines(made.found)]
        if accept is not None:
            card, fresh = accepted(opened, unit_type, made, accept)
            lines.append(f"{card.title} has it, accepted by {card.who}" if fresh else f"{card.title} has it already")
    tell(json_to, lambda: reference_record(made.found).model_dump(mode="json"), lines, [])


def _rows(found: KnownGood) -> Iterator[tuple[str, ...]]:
    from dampkit.quantities import Direction

    for way in get_args(Direction):
        columns = (found.velocity_m_s, found.mean_n[way], found.tolerance_n(way), found.deviation_n[way])
        for v, mean, room, s in zip(*columns, strict=True):
            yield way, f"{v:g}", f"{mean:.0f}", f"{room:.0f}", f"{s:.1f}"
