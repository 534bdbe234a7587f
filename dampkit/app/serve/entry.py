"""An entry of the book: what is said of it, its verdict, records, photos, and what may be added or put right."""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from dampkit.app.book_work import person
from dampkit.app.serve.asked import Asked, Upload, download, to
from dampkit.app.serve.drafts import MOST_PHOTOS, PHOTO
from dampkit.app.serve.forms import LONGEST
from dampkit.app.serve.frame import shown
from dampkit.app.serve.judged import kept_page
from dampkit.app.serve.photos import picture_kind
from dampkit.errors import BadSettings
from dampkit.store.book import book_at
from dampkit.store.content import pack
from dampkit.store.entry_sheets import write_entry_sheets
from dampkit.store.facts import NAMES
from dampkit.store.record import Beside, Note, Photo, now
from dampkit.store.second_check import as_it_stands, check_of_entry, sign

PRINTED = "default-src 'none'; style-src 'sha256-{style}'; img-src data:; base-uri 'none'; form-action 'none'; sandbox allow-modals"


def entry_page(asked: Asked) -> Response:
    """All about an entry, its page among it."""
    number = _number(asked)
    with book_at(asked.house.book) as book:
        entry, standing = book.entry(number), book.standing(number)
        result = as_it_stands(book, number).to_dict()
        view = {
            "entry": entry,
            "facts": [(NAMES[name], standing.get(name, "")) for name in NAMES],
            "standing": standing,
            "amended": [fact for fact in book.facts(number) if fact.why],
            "names": NAMES,
            "check": check_of_entry(book, number),
            "notes": book.notes(number),
            "photos": book.photos(number),
            "records": [one["file"] for one in result["run"].get("files") or [{"file": entry.file}]],
        }
    page = kept_page(json.dumps(result))
    title = f"Entry {number}: unit {standing.get('serial') or 'without a serial'}"
    already = "already" in asked.query
    return shown(
        asked, "entry.html", {"title": title, "page": page, "already": already, "who": last_person(asked), **view}
    )


def printed(asked: Asked) -> Response:
    """To print: a side for the customer, one for the mechanic, the page as the evidence; a document without scripts."""
    with TemporaryDirectory(prefix="dampkit-") as folder, book_at(asked.house.book) as book:
        text = write_entry_sheets(book, _number(asked), Path(folder) / "sheets.html").read_text(encoding="utf-8")
    style = hashlib.sha256(text.partition("<style>")[2].partition("</style>")[0].encode()).digest()
    policy = PRINTED.format(style=base64.b64encode(style).decode())
    return Response(text, media_type="text/html", headers={"content-security-policy": policy})


def second_check(asked: Asked) -> Response:
    """A second person signs the entry as it stands. Raises BadSettings for the one who tested it."""
    with book_at(asked.house.book) as book:
        sign(book, _number(asked), asked.text("who")[:200], asked.text("note")[:LONGEST])
    return _back(asked, _number(asked))


def record_file(asked: Asked) -> Response:
    """A record of the test, byte for byte."""
    with book_at(asked.house.book) as book:
        records, at = book.records(_number(asked)), asked.path["place"]
    if not at.isdecimal() or int(at) >= len(records):
        raise HTTPException(404, "There is no such record.")
    name, data = records[int(at)]
    return download(data, name)


def result_file(asked: Asked) -> Response:
    """The result with what stands now of whose unit it is, as `dampkit book show --json` gives it."""
    with book_at(asked.house.book) as book:
        result = as_it_stands(book, _number(asked)).to_dict()
    return download(json.dumps(result, indent=1, allow_nan=False).encode(), f"entry-{asked.path['number']}.json")


def add_beside(asked: Asked) -> Response:
    """A note and photos, all or nothing."""
    number, who = _number(asked), person(asked.text("who"))
    text = asked.text("note")[:LONGEST]
    photos = tuple(_photo(upload, who) for upload in asked.files.get("photos", ()))
    if not text and not photos:
        raise BadSettings(f"entry {number}", "neither a note nor a photo", "one of them", "write or choose one")
    if len(photos) > MOST_PHOTOS:
        raise BadSettings(
            f"entry {number}", f"{len(photos)} photos", f"at most {MOST_PHOTOS} at once", "leave some out"
        )
    with book_at(asked.house.book) as book:
        book.attach(number, Beside((Note(text, who, now()),) if text else (), photos))
    return _back(asked, number)


def put_right(asked: Asked) -> Response:
    """What was said is corrected; what was said before stays on record."""
    number = _number(asked)
    facts = {name: asked.text(name)[:200] for name in NAMES if name in asked.sent}
    why = asked.text("why")
    if not why:
        raise BadSettings(f"entry {number}", "no reason is given", "why it is put right", "say why")
    with book_at(asked.house.book) as book:
        book.put_right(number, facts, why=why[:LONGEST], who=person(asked.text("who")))
    return _back(asked, number)


def last_person(asked: Asked) -> str:
    """Whoever wrote last on this page, so that the name need not be typed again."""
    return asked.house.last_person


def _back(asked: Asked, number: int) -> Response:
    asked.house.last_person = asked.text("who")[:200]
    asked.house.feed.tell("book")
    return to(f"/book/{number}")


def _number(asked: Asked) -> int:
    return int(asked.path["number"])


def _photo(upload: Upload, who: str) -> tuple[Photo, Any]:
    data = upload.file.read(PHOTO.most + 1)
    if len(data) > PHOTO.most:
        raise BadSettings(upload.label, f"more than {PHOTO.most} {PHOTO.what}", "a photo", PHOTO.do())
    picture_kind(data, upload.label)
    packed = pack(data)
    return Photo(upload.name, packed.sha256, None, who, now()), packed
