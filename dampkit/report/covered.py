"""What the test covered: a strip for the first screen, a table of speeds, and what was not looked for."""

from __future__ import annotations

from dampkit.frozen import frozen
from dampkit.outcome.decision_record import CoverageRecord
from dampkit.outcome.result import Result
from dampkit.report import words
from dampkit.report.numbers import Writer
from dampkit.report.sentences import name_of, needs_words, sentence
from dampkit.report.tables import Table
from dampkit.report.ways import is_dry, way_of

PIECES = ("slow pass", "below the knee", "knee", "above the knee", "top")
WITHOUT_KNEE = {"below the knee": "slow", "knee": "middle", "above the knee": "fast"}  # of a friction damper
SIDES = ("rebound", "compression")


@frozen
class Strip:
    """Pieces of the speeds from standstill to the top; by direction, the answer of each, None where there is no such piece."""

    caption: str
    pieces: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str | None, ...]], ...]


def strip(result: Result) -> Strip | None:
    """None for a result that was stored without coverage."""
    if not result.coverage:
        return None
    answers: dict[tuple[str, str], str] = {(c.direction, c.piece): c.answer for c in result.coverage}
    pieces = tuple(piece for piece in PIECES if any(c.piece == piece for c in result.coverage))
    rows = tuple(
        (way_of(result, side).capitalize(), tuple(answers.get((side, piece)) for piece in pieces)) for side in SIDES
    )
    return Strip(
        f"Shown by this test, from slow to fast{_against(result)}",
        tuple(_piece(result, piece) for piece in pieces),
        rows,
    )


def coverage_table(result: Result, writer: Writer) -> Table | None:
    if not result.coverage:
        return None
    rows = tuple(
        (
            f"{way_of(result, c.direction).capitalize()}, {_piece(result, c.piece)}",
            " to ".join(writer.given(v, "m/s", 2) for v in (c.from_velocity_m_s, c.to_velocity_m_s)),
            c.answer,
            _meaning(c),
        )
        for c in result.coverage
    )
    return Table(
        "Speeds, from standstill to the top", ("Direction and part", "Piston speed", "Answer", "Meaning"), rows
    )


def not_looked_for(result: Result) -> str:
    """The names alone, for a line under the strip; empty where all was looked for."""
    return ", ".join(name_of(n.code) for n in result.not_looked_for)


def lacking(result: Result) -> list[str]:
    """Faults that were not looked for and what that needs; those that need the same in one line."""
    names: dict[str, list[str]] = {}
    for n in result.not_looked_for:
        names.setdefault(needs_words(n.lacks), []).append(name_of(n.code))
    return [sentence(f"{', '.join(codes)}: needs {needs}") for needs, codes in names.items()]


def _piece(result: Result, piece: str) -> str:
    return WITHOUT_KNEE.get(piece, piece) if is_dry(result) else piece


def _against(result: Result) -> str:
    held = [against for against in words.AGAINST if any(c.against == against for c in result.coverage)]
    return (
        ", against the " + " and the ".join(words.AGAINST[against] for against in held)
        if held
        else "; nothing was given that it could be held against at these speeds"
    )


def _meaning(c: CoverageRecord) -> str:
    said = words.COVERED[c.answer]
    return f"{said} ({words.AGAINST[c.against]})" if c.against else said
