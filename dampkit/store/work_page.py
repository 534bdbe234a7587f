"""One page of a unit's work: what the test said, what was done with its photos, what the next test says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from dampkit.frozen import frozen
from dampkit.outcome.workshop import picture_address
from dampkit.quantities import with_interval
from dampkit.report.about import lines as said_of
from dampkit.store.book import Book
from dampkit.store.build_record import OilWork, Work
from dampkit.store.measures import MEASURES
from dampkit.store.pages import rendered
from dampkit.store.record import Photo
from dampkit.store.works import BeforeAfter, build_lines

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead

IN_HEADING = ("Job", "Tested on")
MOST_BYTES = 20_000_000  # of the photos of one page together; own choice, about six of a telephone


@frozen
class Shown:
    """A photo as a page has it: `address` is the picture itself, None where the page only names it."""

    photo: Photo
    of: str
    address: str | None


def render_work(shown: BeforeAfter, photos: Sequence[Shown] = (), head: Letterhead | None = None) -> str:
    names = [name for name in MEASURES if name in shown.before_measures or name in shown.after_measures]
    rows = [
        (
            f"{MEASURES[name].title} ({MEASURES[name].unit})",
            with_interval(shown.before_measures.get(name), ""),
            with_interval(shown.after_measures.get(name), "") if shown.after else "-",
        )
        for name in names
    ]
    said = [
        (what, before or "-", after or "-")
        for (what, before), (_, after) in zip(said_of(shown.before_said), said_of(shown.after_said), strict=True)
        if (before or after) and what not in IN_HEADING
    ]
    lines = [] if shown.worked is None else list(work_lines(shown.worked.work))
    view = {"shown": shown, "rows": rows, "said": said, "lines": lines, "photos": photos}
    return rendered("work.html", view, head)


def photos_of(book: Book, shown: BeforeAfter) -> tuple[Shown, ...]:
    """Those of the test before, with the work, and those of the test after; as many as a page can carry."""
    room, found = MOST_BYTES, []
    for of, entry in (("before, with the work", shown.before), ("after", shown.after)):
        for photo in () if entry is None else book.photos(entry.id):
            data = b"" if photo.path is not None else book.content(photo.sha256)
            address = picture_address(data) if len(data) <= room else None
            room -= len(data) if address is not None else 0
            found.append(Shown(photo, of, address))
    return tuple(found)


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
