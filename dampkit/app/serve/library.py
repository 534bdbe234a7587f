"""The library in the browser: unit types, vehicles, benches and stock, each with its versions and drawings."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.responses import Response

from dampkit.app.serve.asked import Asked, download
from dampkit.app.serve.frame import shown
from dampkit.bench.template import Blank, template
from dampkit.outcome.published import keys
from dampkit.store.content import pack
from dampkit.store.library import DECLARES, CardKind, NewCard, add_card, cards, drawings_of, history_of

SHELVES: dict[CardKind, str] = {
    "unit-type": "Unit types", "vehicle": "Vehicles", "bench": "Benches", "stock": "Drills, springs, shims and oils",
}  # fmt: skip
TITLES: dict[CardKind, str] = {
    "unit-type": "A new unit type", "vehicle": "A new vehicle", "bench": "A new bench", "stock": "A new list of stock",
}  # fmt: skip


def library_page(asked: Asked) -> Response:
    """Every card's latest version, and a form for a new one."""
    held = asked.house.looked_up(lambda book: {kind: cards(book, kind) for kind in SHELVES}, {})
    shelves = [(kind, title, held.get(kind, ())) for kind, title in SHELVES.items()]
    return shown(asked, "library.html", title="The library", shelves=shelves)


def card_page(asked: Asked) -> Response:
    """A card, its latest version to be changed, and all versions."""
    kind, name = _kind(asked.query.get("kind", "")), asked.query.get("name", "")
    with asked.house.the_book() as book:
        versions = history_of(book, kind, name)[::-1]
        drawings = {card.version: drawings_of(book, card) for card in versions}
    return _card(asked, kind, name, title=name, versions=versions, drawings=drawings, text=versions[0].text)


def new_card(asked: Asked) -> Response:
    """An empty card of a kind, to be filled in as the text of its file."""
    kind = _kind(asked.query.get("kind", ""))
    text = template(Blank(DECLARES[kind], keys(DECLARES[kind])), for_editors=False)
    return _card(asked, kind, "", title=TITLES[kind], versions=(), drawings={}, text=text)


def _card(asked: Asked, kind: CardKind, name: str, **view: Any) -> Response:
    return shown(asked, "card.html", view, kind=kind, name=name)


def keep_card(asked: Asked) -> Response:
    """A version of a card, from a text or a file. Raises BadSettings where it is unusable; nothing is kept then."""
    kind, name, file, who = _kind(asked.text("kind")), asked.short("name"), asked.upload("file"), asked.who()
    text = asked.sent.get("text", "").replace("\r\n", "\n") if file is None else file.toml()
    drawings = tuple((one.name, pack(one.data("a drawing"))) for one in asked.files.get("drawings", ()))
    with asked.house.the_book(create=True) as book:
        add_card(book, NewCard(kind, name, text, who, asked.short("why"), drawings))
    return asked.done("book", f"/card?{query(kind=kind, name=name)}")


def card_file(asked: Asked) -> Response:
    """The text of a version, as the file that the commands read."""
    kind, version = _kind(asked.query.get("kind", "")), asked.query.get("version", "")
    with asked.house.the_book() as book:
        versions = history_of(book, kind, asked.query.get("name", ""))
    chosen = next((card for card in versions if str(card.version) == version), versions[-1])
    return download(chosen.text, f"{DECLARES[kind]}.toml", "application/toml")


def drawing_file(asked: Asked) -> Response:
    """A drawing as it came, to be opened outside of the browser."""
    kind, name = _kind(asked.query.get("kind", "")), asked.query.get("name", "")
    with asked.house.the_book() as book:
        held = [one for card in history_of(book, kind, name) for one in drawings_of(book, card)]
        found = next((one for one in held if one[1] == asked.query.get("sha256")), None)
        if found is None:
            raise HTTPException(404, "There is no such drawing.")
        return download(book.content(found[1]), found[0])


def _kind(text: str) -> CardKind:
    found = next((kind for kind in SHELVES if kind == text), None)
    if found is None:
        raise HTTPException(404, "There is no such shelf in the library.")
    return found


def query(**words: str) -> str:
    return urlencode(words)
