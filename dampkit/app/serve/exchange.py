"""The book as files: a part of it for another book or a table, a copy of the whole, and what another book gave."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from dampkit.app.book_work import exported, person
from dampkit.app.serve.asked import Asked
from dampkit.app.serve.entry import last_person
from dampkit.app.serve.frame import shown
from dampkit.errors import BadSettings, DampkitError
from dampkit.outcome.about import day
from dampkit.store.archive import import_archive
from dampkit.store.book import book_at
from dampkit.store.check import backup, complaints
from dampkit.store.look_up import Question, count

ASKABLE = ("serial", "job", "customer", "since", "until")
KINDS = {"zip": "archive", "csv": "table", "sqlite": "copy"}


@dataclass(frozen=True)
class Taken:
    """What an archive gave: entries that are new here, how many were here already, and those of another verdict here."""

    fresh: tuple[int, ...]
    known: int
    differing: tuple[tuple[int, str, str], ...]


def exchange_page(asked: Asked, taken: Taken | None = None) -> Response:
    total = 0
    if asked.house.book.exists():
        with book_at(asked.house.book) as book:
            total = count(book)
    view = {"title": "Copies of the book", "total": total, "taken": taken, "who": last_person(asked)}
    return shown(asked, "exchange.html", view)


def give_out(asked: Asked) -> Response:
    """A file that is written in a process of its own, handed over and removed."""
    kind = asked.text("as")
    if kind not in KINDS:
        raise BadSettings("the copy", f"found the kind {kind!r}", ", ".join(KINDS), "choose one of them")
    said = {name: text for name in ASKABLE if (text := asked.text(name)[:200])}
    folder = asked.house.drafts.aside()
    place = folder / f"{KINDS[kind]}-{date.today().isoformat()}.{kind}"
    try:
        asked.house.workers.begin(write_out, str(asked.house.book), str(place), said).result()
    except DampkitError:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    gone = BackgroundTask(shutil.rmtree, folder, ignore_errors=True)
    return FileResponse(place, filename=place.name, media_type="application/octet-stream", background=gone)


def write_out(book: str, to: str, said: Mapping[str, str]) -> int:
    """In a worker. Raises BadSettings and UnusableBook."""
    given: dict[str, Any] = dict(said)
    for name in ("since", "until"):
        if name in given:
            given[name] = day(given[name])
    if to.endswith(".sqlite"):
        with book_at(Path(book)) as opened:
            backup(opened, Path(to))
            return count(opened)
    return exported(Path(book), Path(to), Question(**given, limit=2**62))


def take_in(asked: Asked) -> Response:
    """What another book gave, all of it or nothing. Raises BadSettings where it is no such archive."""
    uploads = asked.files.get("archive", ())
    if not uploads:
        raise BadSettings("the archive", "no file is chosen", "an archive of another book", "choose one")
    asked.house.last_person = asked.text("who")[:200]
    folder = asked.house.drafts.aside()
    try:
        place = folder / uploads[0].plain_name
        with place.open("xb") as file:
            shutil.copyfileobj(uploads[0].file, file)
        who = person(asked.text("who"))
        taken = asked.house.workers.begin(read_in, str(asked.house.book), str(place), who).result()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    asked.house.feed.tell("book")
    return exchange_page(asked, taken)


def read_in(book: str, place: str, who: str) -> Taken:
    """In a worker, as every test in it is analysed again here. Raises BadSettings and UnusableBook."""
    with book_at(Path(book), create=True) as opened:
        added = import_archive(opened, Path(place), who)
        fresh = [opened.entry(one.entry) for one in added if one.fresh]
    differing = tuple((e.id, e.action, e.action_again or "") for e in fresh if e.differs)
    return Taken(tuple(e.id for e in fresh), len(added) - len(fresh), differing)


def check_page(asked: Asked) -> Response:
    """Whether every byte of the book is as it was added."""
    found = asked.house.workers.begin(check, str(asked.house.book)).result()
    lines = found or ["Every byte of the book is as it was added."]
    do = "Keep this file as it is, and go back to the last copy." if found else ""
    view = {"title": "The book is not whole" if found else "The book is whole", "error": None, "lines": [*lines, do]}
    return shown(asked, "told.html", {**view, "back": "/exchange"})


def check(book: str) -> list[str]:
    """In a worker."""
    with book_at(Path(book)) as opened:
        return list(complaints(opened))
