"""The book as files: a part of it for another book or a table, a copy of the whole, and what another book gave."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import FileResponse, Response

from dampkit.app.book_read import exported
from dampkit.app.serve.asked import Asked, plain, to
from dampkit.app.serve.copies import Copy, keep_progress
from dampkit.app.serve.frame import shown
from dampkit.app.serve.house import answer_of
from dampkit.app.serve.the_book import question
from dampkit.errors import BadSettings
from dampkit.outcome.about import today
from dampkit.store.archive import import_archive
from dampkit.store.book import book_at
from dampkit.store.check import backup, complaints
from dampkit.store.look_up import count
from dampkit.store.question import EVERY, Question

ASKABLE = ("serial", "job", "customer", "since", "until")
KINDS = {"zip": "archive", "csv": "table", "sqlite": "copy"}
NOTHING: dict[str, Any] = {"error": None, "file": None, "lines": None}
WHOLE = "Every byte of the book is as it was added."


def exchange_page(asked: Asked) -> Response:
    return shown(asked, "exchange.html", title="Copies of the book", total=asked.house.looked_up(count, 0))


def copy_page(asked: Asked) -> Response:
    """How far it is; then what it gave, with its file to be taken."""
    copy = _copy(asked)
    found = {**NOTHING, **answer_of(copy.work, 0.0)} if copy.work.done() else None
    title = "It is being worked on" if found is None else "That did not work" if found["error"] else "Done"
    return shown(asked, "copy.html", title=title, copy=copy, found=found, progress=copy.progress())


def copy_file(asked: Asked) -> Response:
    place = _copy(asked).file()
    if place is None:
        raise HTTPException(404, "This copy gave no file.")
    return FileResponse(place, filename=place.name, media_type="application/octet-stream")


def _copy(asked: Asked) -> Copy:
    copy = asked.house.copies.held.get(asked.path["id"])
    if copy is None:
        raise HTTPException(404, "This copy is not there any more. Make a new one.")
    return copy


def give_out(asked: Asked) -> Response:
    """A part of the book or all of it as a file."""
    kind = asked.text("as")
    if kind not in KINDS:
        raise BadSettings("the copy", f"found the kind {kind!r}", ", ".join(KINDS), "choose one of them")
    said = question({name: asked.short(name) for name in ASKABLE})
    name = f"{KINDS[kind]}-{today()}.{kind}"
    return to(f"/exchange/{asked.house.copies.begin(write_out, str(asked.house.book), name, said).id}")


def write_out(folder: str, book: str, name: str, said: Mapping[str, Any]) -> dict[str, Any]:
    """In a worker. Raises BadSettings and UnusableBook."""
    to, tell = Path(folder) / name, partial(keep_progress, folder)
    if name.endswith(".sqlite"):
        with book_at(Path(book)) as opened:
            backup(opened, to)
            entries = count(opened)
    else:
        entries = exported(Path(book), to, Question(**said, limit=EVERY), tell)
    return {"file": name, "entries": entries, "bytes": to.stat().st_size}


def take_in(asked: Asked) -> Response:
    """What another book gave, all of it or nothing. Raises BadSettings where it is no such archive."""
    upload, who = asked.upload("archive"), asked.who()
    if upload is None:
        raise BadSettings("the archive", "no file is chosen", "an archive of another book", "choose one")
    folder, name = asked.house.drafts.aside(), plain(upload.name)
    try:
        with (folder / name).open("xb") as file:
            shutil.copyfileobj(upload.file, file)
        copy = asked.house.copies.begin(read_in, str(asked.house.book), name, who, folder=folder)
    except (OSError, BadSettings):
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return to(f"/exchange/{copy.id}")


def read_in(folder: str, book: str, name: str, who: str) -> dict[str, Any]:
    """In a worker, as every test in it is analysed again here. Raises BadSettings and UnusableBook."""
    place = Path(folder) / name
    try:
        with book_at(Path(book), create=True) as opened:
            added = import_archive(opened, place, who, partial(keep_progress, folder))
            fresh = [opened.entry(one.entry) for one in added if one.fresh]
    finally:
        place.unlink(missing_ok=True)
    differing = [(e.id, e.action, e.action_again or "") for e in fresh if e.differs]
    return {"fresh": [e.id for e in fresh], "known": len(added) - len(fresh), "differing": differing}


def begin_check(asked: Asked) -> Response:
    """Whether every byte of the book is as it was added."""
    return to(f"/exchange/{asked.house.copies.begin(check, str(asked.house.book)).id}")


def check(_: str, book: str) -> dict[str, Any]:
    """In a worker."""
    with book_at(Path(book)) as opened:
        found = list(complaints(opened))
    do = ["Keep this file as it is, and go back to the last copy."]
    return {"whole": not found, "lines": [*found, *do] if found else [WHOLE]}
