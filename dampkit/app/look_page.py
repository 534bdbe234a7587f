"""The look at a log as one page that opens offline."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dampkit.bench.join import joined
from dampkit.bench.record import Reading
from dampkit.quantities import Array
from dampkit.report.document import TEMPLATES as REPORT
from dampkit.report.document import environment
from dampkit.report.picture import Axis, Line, Picture
from dampkit.report.svg import svg

if TYPE_CHECKING:
    from dampkit.app.look import Section

DRAWN = 20_000  # points of a line at most
TEMPLATES = Path(__file__).parent / "templates"


def look_page(reading: Reading, sections: list[Section]) -> str:
    """HTML text; foreign text is escaped, nothing is fetched."""
    return (
        environment(TEMPLATES, REPORT, finalize=None)
        .get_template("look.html")
        .render(
            title=f"A look at {reading.run.file}",
            pictures=[(picture.title, svg(picture)) for picture in pictures_of([reading])],
            sections=sections,
        )
    )


def pictures_of(readings: Sequence[Reading]) -> list[Picture]:
    """Loops, motion and force of a whole test."""
    run = joined([reading.run for reading in readings])
    step = max(1, run.rows_used // DRAWN)
    millimetres = 1000 * run.displacement_m
    return [
        Picture(
            "loops",
            "Force against displacement",
            "The whole log: force in newtons over displacement in millimetres, all cycles over one another.",
            Axis("displacement", "mm", ", extension to the right"),
            Axis("force", "N", ", tension up"),
            (Line("force", millimetres[::step], run.force_n[::step], "curve"),),
        ),
        *(
            _in_time(run.time_s, y, axis)
            for axis, y in ((Axis("displacement", "mm"), millimetres), (Axis("force", "N"), run.force_n))
        ),
    ]


def _in_time(time_s: Array, y: Array, axis: Axis) -> Picture:
    """Lowest and highest reading of each short stretch, so that no peak is lost in thinning."""
    block = max(1, 2 * y.size // DRAWN)
    n = y.size // block * block
    pairs = np.stack([y[:n].reshape(-1, block).min(axis=1), y[:n].reshape(-1, block).max(axis=1)], axis=1).ravel()
    t = np.repeat(time_s[:n:block], 2)
    what = axis.name
    return Picture(
        what,
        f"{what} in time",
        f"The whole log: {axis.text} over time in seconds.",
        Axis("time", "s"),
        axis,
        (Line(what, t, pairs, "curve"),),
    )
