"""How records are understood, worked out in a worker: plain data for the page, an error as its lines, and the questions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from dampkit.app.look import held, sections_of
from dampkit.app.look_page import pictures_of
from dampkit.app.serve.told import error_of
from dampkit.bench.declared import BenchSpec
from dampkit.bench.gate import A_LOG, GZIP, file_bytes
from dampkit.bench.given import given
from dampkit.bench.points import Points
from dampkit.bench.record import Reading, open_record
from dampkit.bench.test import open_test
from dampkit.bench.toml_file import from_text
from dampkit.bench.units import UNITS
from dampkit.errors import CannotAnalyse, DampkitError
from dampkit.quantities import DIRECTIONS, number
from dampkit.report.picture import Axis, Layer, Line, Picture
from dampkit.report.picture import Points as Marks
from dampkit.report.svg import FLAT, SMALL, svg

Records = Sequence[tuple[str, str]]  # label, place
DRAWN = 4000  # points of a question's loop
HEAD_LINES, HEAD_LETTERS = 12, 160
# every answer and every question has all its parts, empty where there is nothing to say
NOTHING: dict[str, Any] = {"error": None, "head": [], "answer": "", "pictures": [], "questions": [], "sections": []}
A_QUESTION: dict[str, Any] = {"options": [], "selects": [], "number": None, "svg": ""}


def understand(records: Records, bench: str) -> dict[str, Any]:
    """`sections`, `pictures`, `questions`, or `error` with the first lines of the record."""
    try:
        spec = from_text(bench, "what is said of the bench", BenchSpec)
        found = open_test([read(place) for _, place in records], spec, [label for label, _ in records])
        parts = [part for one in found for part in one]
        readings = [part for part in parts if isinstance(part, Reading)]
        points = [part for part in parts if isinstance(part, Points)]
        return {
            **NOTHING,
            "answer": _answer(readings, points),
            "form": readings[0].run.form if readings else points[0].form,
            "sections": [asdict(section) for section in sections_of(readings, points)],
            "pictures": _pictures(readings, points),
            "questions": _questions(readings[0], spec) if readings else [],
        }
    except DampkitError as error:
        return {
            **NOTHING,
            "error": error_of(error),
            "head": _head(records),
            "questions": _asked_instead(records, bench, error),
        }


def _asked_instead(records: Records, bench: str, error: DampkitError) -> list[dict[str, Any]]:
    """What would make a record readable that is not: its units, or which of its columns is which."""
    if "says the unit" in error.found:
        return [_units_asked("The headings do not say it. See the bench's settings or its manual.", {})]
    if "column" not in error.found or "recognised" not in error.found:
        return []
    spec = from_text(bench, "what is said of the bench", BenchSpec)
    layout = open_record(given(read(records[0][1]), records[0][0]), spec).layout
    names = [f"column {n}" for n in range(1, len(layout.headings) + 1)]
    texts = [
        f"{name}: {heading}" if heading.strip() else name for name, heading in zip(names, layout.headings, strict=True)
    ]
    said = "No heading is a word that dampkit knows. Choose time, place and force of a record of strokes, or speed and force of a table."
    selects = [
        {"field": f"columns.{kind}", "label": f"Column of the {kind}", "choices": list(zip(names, texts, strict=True)),
         "now": getattr(spec.columns, kind) or "", "none": "none of them"}
        for kind in UNITS
    ]  # fmt: skip
    return [{**A_QUESTION, "key": "columns", "ask": "Which column is which?", "help": said, "selects": selects}]


def _answer(readings: Sequence[Reading], points: Sequence[Points]) -> str:
    """Whether an analysis can begin."""
    try:
        return f"Ready: {held(readings, points)} found."
    except CannotAnalyse as error:
        return f"Not ready: {error.found}. {error.do[:1].upper()}{error.do[1:]}".strip()


def read(place: str) -> bytes:
    return file_bytes(Path(place), A_LOG)


def _head(records: Records) -> list[str]:
    """The first lines of the first record where it is text, for a person to see which column is which."""
    data = read(records[0][1])[: HEAD_LINES * 4096] if records else b""
    if data.startswith(GZIP) or b"\0" in data:
        return []
    return [line[:HEAD_LETTERS] for line in data.decode("utf-8", "replace").splitlines()[:HEAD_LINES]]


def _pictures(readings: Sequence[Reading], points: Sequence[Points]) -> list[dict[str, str]]:
    drawn = pictures_of(readings) if readings else [_of_points(points)]
    return [{"title": picture.title, "svg": str(svg(picture, FLAT))} for picture in drawn]


def _of_points(points: Sequence[Points]) -> Picture:
    layers: list[Layer] = []
    for way, sign, ink in zip(DIRECTIONS, (1.0, -1.0), ("curve", "reference"), strict=True):
        sides = [side for one in points if (side := one.points(way)) is not None]
        if sides:
            x, y = (np.concatenate([getattr(s, name) for s in sides]) for name in ("velocity_m_s", "force_n"))
            layers.append(Marks(way, x, sign * y, ink, "circle" if sign > 0 else "square", size=4.0))
    return Picture(
        "points",
        "Force against speed",
        "Every point of the record: force in newtons over speed, rebound above zero, compression below.",
        Axis("Speed", "m/s"),
        Axis("Force", "N", ": rebound above zero"),
        tuple(layers),
    )


def _questions(reading: Reading, spec: BenchSpec) -> list[dict[str, Any]]:
    """What only a person can say, with a picture for each answer; at most three."""
    asked = []
    if not reading.run.direction_known:
        asked.append(_which_way(reading))
    if any("unit" in remark.code and remark.clears == "declare" for remark in reading.run.quality):
        asked.append(_which_units(reading))
    if spec.zero.force_n is None:
        asked.append(_what_zero(reading))
    return asked


def _loop(reading: Reading, name: str, way: float, words: str) -> str:
    run = reading.run
    step = max(1, run.rows_used // DRAWN)
    x, y = way * 1000.0 * run.displacement_m[::step], way * run.force_n[::step]
    out, into = float(y.max()), float(-y.min())
    alt = f"{words}: up to {number(out)} N pulling, up to {number(into)} N pushing."
    return str(
        svg(
            Picture(name, words, alt, Axis("place", "mm", ", out to the right"), Axis("force", "N", ", pull up"),
                    (Line("force", x, y, "curve"),)), SMALL)
    )  # fmt: skip


def _which_way(reading: Reading) -> dict[str, Any]:
    """Both ways drawn; the answer is the two signs that belong to the chosen one."""
    seen = reading.orientation
    moved = "velocity" if "displacement" not in reading.channels else "displacement"
    force = reading.run.force_n
    tops = (float(force.max()), float(-force.min()))
    options = []
    for name, way, (rebound, compression) in (("as drawn", 1.0, tops), ("the other way", -1.0, tops[::-1])):
        options.append(
            {
                "value": name,
                "text": f"Rebound makes up to {number(rebound)} N, compression up to {number(compression)} N",
                "svg": _loop(reading, f"way-{'a' if way > 0 else 'b'}", way, name.capitalize()),
                "fills": {
                    "signs.force_positive": "tension" if way * seen.force > 0 else "compression",
                    f"signs.{moved}_positive": "extension" if way * seen.motion > 0 else "compression",
                },
            }
        )
    return {
        **A_QUESTION,
        "key": "way",
        "ask": "Which way is out?",
        "help": "Pull the rod out by hand with the bench switched on and see which way both readings go, or choose the "
        "loop that is right: rebound is the pull while the rod comes out. Most car dampers pull harder than they push, "
        "but not all, so do not guess.",
        "options": options,
    }


def _which_units(reading: Reading) -> dict[str, Any]:
    run = reading.run
    stroke, top = 1000.0 * float(np.ptp(run.displacement_m)), float(np.abs(run.force_n).max())
    said = f"Not every heading says one. As read now, the stroke is {number(stroke)} mm and the highest force {number(top)} N."
    now = {str(kind): channel.unit or "" for kind, channel in reading.channels.items()}
    return {**_units_asked(said, now), "svg": _loop(reading, "units-loop", 1.0, "As read now")}


def _units_asked(said: str, now: Mapping[str, str]) -> dict[str, Any]:
    selects = [
        {
            "field": f"units.{kind}",
            "label": f"Unit of the {kind}",
            "choices": [(unit, unit) for unit in units],
            "now": now.get(kind, ""),
            "none": "as the heading says",
        }
        for kind, units in UNITS.items()
        if kind in ("time", "displacement", "force")
    ]
    return {**A_QUESTION, "key": "units", "ask": "In which units are the columns?", "help": said, "selects": selects}


def _what_zero(reading: Reading) -> dict[str, Any]:
    run = reading.run
    return {
        **A_QUESTION,
        "key": "zero",
        "ask": "What does the cell read with nothing fitted?",
        "help": "Take the damper out, log for a few seconds, and give the mean force in N, as the bench shows it. Without it, gas "
        f"force and the cell's zero cannot be told apart. The mean of this record is {number(float(run.force_n.mean()))} N. "
        "Leave it empty where nobody knows.",
        "svg": _loop(reading, "zero-loop", 1.0, "The whole record"),
        "number": {"field": "zero.force_n", "label": "Reading with nothing fitted, N"},
    }
