"""An entry of the book: what is said of it, its verdict, records, photos, and what may be added or put right; the work that
followed its test."""

from __future__ import annotations

import base64
import hashlib
import json
from pathlib import Path
from tempfile import TemporaryDirectory

from starlette.exceptions import HTTPException
from starlette.responses import Response

from dampkit.app.serve.asked import Asked, Upload, download
from dampkit.app.serve.drafts import MOST_PHOTOS
from dampkit.app.serve.forms import LONGEST, Form, blank, sent_form
from dampkit.app.serve.frame import in_frame, shown
from dampkit.app.serve.judged import kept_page
from dampkit.app.serve.photos import picture_kind
from dampkit.errors import BadSettings
from dampkit.outcome.about import day_of_test, today
from dampkit.store.content import Packed, pack
from dampkit.store.entry_sheets import write_entry_sheets
from dampkit.store.facts import NAMES
from dampkit.store.papers import Paper
from dampkit.store.record import Beside, Note, Photo, now
from dampkit.store.second_check import as_it_stands, check_of_entry, sign
from dampkit.store.work_page import render_work, work_lines
from dampkit.store.works import STRIP_DOWN, add_work, before_after, passed_build, work_on

WORK = "work"
PRINTED = "default-src 'none'; style-src 'sha256-{style}'; img-src data:; base-uri 'none'; form-action 'none'; sandbox allow-modals"


def entry_page(asked: Asked) -> Response:
    """All about an entry, its page among it."""
    number = asked.number
    with asked.house.the_book() as book:
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
    page, already = kept_page(json.dumps(result)), "already" in asked.query
    title = f"Entry {number}: unit {standing.get('serial') or 'without a serial'}"
    return shown(asked, "entry.html", view, title=title, page=page, already=already)


def printed(asked: Asked) -> Response:
    """To print: a side for the customer, one for the mechanic, the page as the evidence; a document without scripts."""
    with TemporaryDirectory(prefix="dampkit-") as folder, asked.house.the_book() as book:
        text = write_entry_sheets(book, asked.number, Path(folder) / "sheets.html").read_text(encoding="utf-8")
    style = hashlib.sha256(text.partition("<style>")[2].partition("</style>")[0].encode()).digest()
    policy = PRINTED.format(style=base64.b64encode(style).decode())
    return Response(text, media_type="text/html", headers={"content-security-policy": policy})


def second_check(asked: Asked) -> Response:
    """A second person signs the entry as it stands. Raises BadSettings for the one who tested it."""
    with asked.house.the_book() as book:
        sign(book, asked.number, asked.short("who"), asked.text("note")[:LONGEST])
    return _back(asked)


def record_file(asked: Asked) -> Response:
    """A record of the test, byte for byte."""
    with asked.house.the_book() as book:
        records, at = book.records(asked.number), asked.path["place"]
    if not at.isdecimal() or int(at) >= len(records):
        raise HTTPException(404, "There is no such record.")
    name, data = records[int(at)]
    return download(data, name)


def result_file(asked: Asked) -> Response:
    """The result with what stands now of whose unit it is, as `dampkit book show --json` gives it."""
    with asked.house.the_book() as book:
        result = as_it_stands(book, asked.number).to_dict()
    return download(json.dumps(result, indent=1, allow_nan=False), f"entry-{asked.number}.json")


def add_beside(asked: Asked) -> Response:
    """A note and photos, all or nothing."""
    who, text = asked.who(), asked.text("note")[:LONGEST]
    photos = tuple(_photo(upload, who) for upload in asked.files.get("photos", ()))
    where = f"entry {asked.number}"
    if not text and not photos:
        raise BadSettings(where, "neither a note nor a photo", "one of them", "write or choose one")
    if len(photos) > MOST_PHOTOS:
        raise BadSettings(where, f"{len(photos)} photos", f"at most {MOST_PHOTOS} at once", "leave some out")
    with asked.house.the_book() as book:
        book.attach(asked.number, Beside((Note(text, who, now()),) if text else (), photos))
    return _back(asked)


def put_right(asked: Asked) -> Response:
    """What was said is corrected; what was said before stays on record."""
    facts, why = {name: asked.short(name) for name in NAMES if name in asked.sent}, asked.text("why")
    if not why:
        raise BadSettings(f"entry {asked.number}", "no reason is given", "why it is put right", "say why")
    with asked.house.the_book() as book:
        book.put_right(asked.number, facts, why=why[:LONGEST], who=asked.who())
    return _back(asked)


def _back(asked: Asked) -> Response:
    asked.who()
    return asked.done("book", f"/book/{asked.number}")


def _photo(upload: Upload, who: str) -> tuple[Photo, Packed]:
    data = upload.data("a photo")
    picture_kind(data, upload.label)
    packed = pack(data)
    return Photo(upload.name, packed.sha256, None, who, now()), packed


def work_page(asked: Asked, form: Form | None = None) -> Response:
    """The sheet of an entry as it stands, to go on with: a later one corrects it, and the earlier stays."""
    with asked.house.the_book() as book:
        both, worked = before_after(book, asked.number), work_on(book, asked.number)
        passed = passed_build(book, both.before.unit_type) if both.before.unit_type else None
    view = {
        "title": f"Work on unit {both.before.serial or 'without a serial'}",
        "number": asked.number,
        "body": in_frame(render_work(both)),
        "passed": None if passed is None else (passed[0], list(work_lines(passed[1].work))),
        "form": form or blank(WORK, worked.sheet.text if worked else ""),
        "today": today(),
    }
    return shown(asked, "work.html", view, status=422 if form else 200)


def keep_work(asked: Asked) -> Response:
    """Raises BadSettings where nothing is filled in."""
    who, number = asked.who(), asked.number
    with asked.house.the_book() as book:
        worked = work_on(book, number)
    form = sent_form(asked, WORK, worked.sheet.text if worked else "")
    if not form.text:
        raise BadSettings(f"work on entry {number}", "nothing is filled in", "what was found or done", "fill it in")
    if form.wrong:
        return work_page(asked, form)
    day = day_of_test(asked.text("done_on") or None) or today()
    with asked.house.the_book() as book:
        if worked is None or (worked.sheet.text, worked.done_on) != (form.text, day):
            add_work(book, number, Paper(STRIP_DOWN, form.text, day, who))
    return asked.done("book", f"/book/{number}/work")
