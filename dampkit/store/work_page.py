"""One page of a unit's work: what the test said, what was done, what the next test says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from dampkit.files import write_text
from dampkit.quantities import with_interval
from dampkit.store.build_record import OilWork, Work
from dampkit.store.measures import MEASURES
from dampkit.store.pages import rendered
from dampkit.store.works import BeforeAfter, build_lines


def write_work(place: Path, shown: BeforeAfter) -> None:
    """Raises BadSettings where the place cannot be written to."""
    write_text(place, render_work(shown), make_folder=True)


def render_work(shown: BeforeAfter) -> str:
    names = [name for name in MEASURES if name in shown.before_measures or name in shown.after_measures]
    rows = [
        (
            f"{MEASURES[name].title} ({MEASURES[name].unit})",
            with_interval(shown.before_measures.get(name), ""),
            with_interval(shown.after_measures.get(name), ""),
        )
        for name in names
    ]
    lines = [] if shown.worked is None else list(work_lines(shown.worked.work))
    return rendered("work.html", {"shown": shown, "rows": rows, "lines": lines})


def work_lines(work: Work) -> Iterator[str]:
    """What was found and done, a line each; what was not written down is left out."""
    if work.rod_runout_mm is not None:
        yield f"Rod run-out: {work.rod_runout_mm:g} mm"
    for title, text in (("Rod surface", work.rod_surface), ("Bushes", work.bushes)):
        if text:
            yield f"{title}: {text}"
    if work.bore_mm is not None:
        yield f"Bore: {work.bore_mm:g} mm"
    yield from _oil(work.oil)
    if work.gas_bar is not None:
        yield f"Gas charge: {work.gas_bar:g} bar"
    yield from (line[0].upper() + line[1:] for line in build_lines(work))
    if work.parts:
        yield f"Parts: {', '.join(work.parts)}"
    if work.notes:
        yield f"Notes: {work.notes}"


def _oil(oil: OilWork) -> Iterator[str]:
    for word, ml, g, more in (("out", oil.out_ml, oil.out_g, oil.look), ("in", oil.in_ml, oil.in_g, oil.grade)):
        sizes = [f"{size:g} {unit}" for size, unit in ((ml, "ml"), (g, "g")) if size is not None]
        if sizes or more:
            yield f"Oil {word}: {', '.join([*sizes, *([more] if more else [])])}"
