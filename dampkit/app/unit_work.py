"""What `dampkit book work` does; the sheets themselves are in `dampkit.store.works`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from dampkit.app.at_book import person, the_book
from dampkit.app.book_work import Beside, annotate, attached
from dampkit.app.say import say
from dampkit.bench.toml_file import toml_text
from dampkit.files import write_text
from dampkit.outcome.about import day_of_test
from dampkit.report.plain import visible
from dampkit.store.papers import Paper
from dampkit.store.work_page import photos_of, render_work, work_lines
from dampkit.store.works import STRIP_DOWN, add_work, before_after
from dampkit.store.workshop import workshop_of


@dataclass(frozen=True)
class Sheet:
    """What a person wrote down; nothing but the question where there is no file."""

    file: Path | None
    photos: Sequence[Path]
    done_on: str | None
    who: str | None


def work(number: int, sheet: Sheet, page: Path | None, book: Path | None) -> None:
    """Keep the sheet and its photos where there are any, then show before and after."""
    who = person(sheet.who)
    if sheet.file is not None:
        day = day_of_test(sheet.done_on) or date.today().isoformat()
        paper = Paper(STRIP_DOWN, toml_text(sheet.file), day, who)
        with the_book(book) as opened:
            add_work(opened, number, paper, attached(Beside(photos=sheet.photos), who))
    elif sheet.photos:
        annotate(book, number, Beside(photos=sheet.photos), who)
    with the_book(book) as opened:
        shown = before_after(opened, number)
        photos, head = photos_of(opened, shown) if page is not None else (), workshop_of(opened)
    say(
        f"before: entry {shown.before.id}, {shown.before.tested_on}: {shown.before.action} {shown.before.faults}".rstrip()
    )
    if shown.worked is None:
        say("  no work is written down")
    else:
        say(f"  work of {shown.worked.done_on} by {visible(shown.worked.who)}")
        for line in work_lines(shown.worked.work):
            say(f"    {visible(line)}")
    after = shown.after
    told = "not tested yet" if after is None else f"entry {after.id}, {after.tested_on}: {after.action} {after.faults}"
    say(f"after: {told}".rstrip())
    if page is not None:
        write_text(page, render_work(shown, photos, head), make_folder=True)
        say(f"written: {page}")
