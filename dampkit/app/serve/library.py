"""The library in the browser: unit types, vehicles and benches, each with its versions and drawings."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, Response

from dampkit.app.book_work import person
from dampkit.app.serve.asked import Asked, Upload, download, to
from dampkit.app.serve.drafts import PHOTO
from dampkit.app.serve.entry import last_person
from dampkit.app.serve.frame import shown
from dampkit.bench.gate import TOML
from dampkit.bench.template import Blank, template
from dampkit.errors import BadSettings
from dampkit.outcome.published import keys
from dampkit.store.book import book_at
from dampkit.store.content import pack
from dampkit.store.library import DECLARES, CardKind, NewCard, add_card, cards, drawings_of, history_of

SHELVES: dict[CardKind, str] = {"unit-type": "Unit types", "vehicle": "Vehicles", "bench": "Benches"}


def library_page(asked: Asked) -> Response:
    """Every card's latest version, and a form for a new one."""
    found: list[tuple[str, str, Any]] = [(kind, title, ()) for kind, title in SHELVES.items()]
    if asked.house.book.exists():
        with book_at(asked.house.book) as book:
            found = [(kind, title, cards(book, kind)) for kind, title in SHELVES.items()]
    return shown(asked, "library.html", {"title": "The library", "shelves": found, "who": last_person(asked)})


def card_page(asked: Asked) -> Response:
    """A card, its latest version to be changed, and all versions."""
    kind, name = _kind(asked.query.get("kind", "")), asked.query.get("name", "")
    with book_at(asked.house.book) as book:
        versions = history_of(book, kind, name)[::-1]
        drawings = {card.version: drawings_of(book, card) for card in versions}
    view = {
        "title": f"{name}",
        "kind": kind,
        "versions": versions,
        "drawings": drawings,
        "who": last_person(asked),
        "text": versions[0].text,
    }
    return shown(asked, "card.html", {**view, "name": name})


def new_card(asked: Asked) -> Response:
    """An empty card of a kind, to be filled in as the text of its file."""
    kind = _kind(asked.query.get("kind", ""))
    file = DECLARES[kind]
    view = {
        "title": f"A new {kind.replace('-', ' ')}",
        "kind": kind,
        "versions": (),
        "drawings": {},
        "name": "",
        "who": last_person(asked),
    }
    return shown(asked, "card.html", {**view, "text": template(Blank(file, keys(file)))})


def keep_card(asked: Asked) -> Response:
    """A version of a card, from a text or a file. Raises BadSettings where it is unusable; nothing is kept then."""
    kind, name, text = _kind(asked.text("kind")), asked.text("name")[:200], uploaded(asked)
    asked.house.last_person = asked.text("who")[:200]
    text = asked.sent.get("text", "").replace("\r\n", "\n") if text is None else text
    drawings = tuple((one.name, pack(_drawing(one))) for one in asked.files.get("drawings", ()))
    with book_at(asked.house.book, create=True) as book:
        add_card(book, NewCard(kind, name, text, person(asked.text("who")), asked.text("why")[:200], drawings))
    asked.house.feed.tell("book")
    return to(f"/card?{query(kind=kind, name=name)}")


def card_file(asked: Asked) -> Response:
    """The text of a version, as the file that the commands read."""
    kind, name, version = (
        _kind(asked.query.get("kind", "")),
        asked.query.get("name", ""),
        asked.query.get("version", ""),
    )
    with book_at(asked.house.book) as book:
        versions = history_of(book, kind, name)
    chosen = [card for card in versions if str(card.version) == version] or [versions[-1]]
    headers = {"content-disposition": f'attachment; filename="{DECLARES[kind]}.toml"'}
    return PlainTextResponse(chosen[0].text, media_type="application/toml", headers=headers)


def drawing_file(asked: Asked) -> Response:
    """A drawing as it came, to be opened outside of the browser."""
    kind, name = _kind(asked.query.get("kind", "")), asked.query.get("name", "")
    with book_at(asked.house.book) as book:
        held = [one for card in history_of(book, kind, name) for one in drawings_of(book, card)]
        found = next((one for one in held if one[1] == asked.query.get("sha256")), None)
        if found is None:
            raise HTTPException(404, "There is no such drawing.")
        return download(book.content(found[1]), found[0])


def _drawing(upload: Upload) -> bytes:
    data = upload.file.read(PHOTO.most + 1)
    if len(data) > PHOTO.most:
        raise BadSettings(upload.label, f"more than {PHOTO.most} {PHOTO.what}", "a drawing", PHOTO.do())
    return data


def _kind(text: str) -> CardKind:
    found = next((kind for kind in SHELVES if kind == text), None)
    if found is None:
        raise HTTPException(404, "There is no such shelf in the library.")
    return found


def uploaded(asked: Asked) -> str | None:
    """The text of the file that was chosen; None where none was. Raises BadSettings where it is no text."""
    uploads = asked.files.get("file", ())
    if not uploads:
        return None
    if uploads[0].size_bytes > TOML.most:
        raise BadSettings(uploads[0].label, f"more than {TOML.most} {TOML.what}", "a TOML file", TOML.do())
    try:
        return uploads[0].file.read(TOML.most).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found = f"byte {error.start} is not UTF-8 text"
        raise BadSettings(uploads[0].label, found, "a TOML file", "save it as UTF-8") from None


def query(**words: str) -> str:
    return urlencode(words)
