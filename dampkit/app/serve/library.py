"""The library in the browser: unit types, vehicles, benches and stock, each with its versions and drawings; the workshop
itself, whose name, address and mark stand at the head of every printed sheet."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.responses import Response

from dampkit.app.serve.asked import Asked, download
from dampkit.app.serve.forms import Form, blank, sent_form, without
from dampkit.app.serve.frame import shown
from dampkit.errors import BadSettings
from dampkit.outcome.workshop import A_MARK
from dampkit.store.book import Book
from dampkit.store.content import pack
from dampkit.store.library import (
    DECLARES,
    WORKSHOP,
    Card,
    CardKind,
    NewCard,
    add_card,
    add_workshop,
    cards,
    drawings_of,
    history_of,
    workshop_of,
)

Version = tuple[Card, tuple[tuple[str, str], ...]]  # with its drawings, each a name and a hash
FILE, MARK = "workshop", "workshop.mark"
OF_ONE_UNIT = "damper.serial"  # no part of what holds for all units of a type
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
    versions = _versions(asked, kind, name)
    return _card(asked, kind, name, versions, blank(DECLARES[kind], versions[0][0].text))


def new_card(asked: Asked) -> Response:
    """An empty card of a kind."""
    kind = _kind(asked.query.get("kind", ""))
    return _card(asked, kind, "", [], blank(DECLARES[kind], ""))


def _versions(asked: Asked, kind: CardKind, name: str) -> list[Version]:
    """Latest first. Raises BadSettings where there is no such card."""
    with asked.house.the_book() as book:
        return [(card, drawings_of(book, card)) for card in history_of(book, kind, name)[::-1]]


def _card(asked: Asked, kind: CardKind, name: str, versions: list[Version], form: Form) -> Response:
    title, form = name if versions else TITLES[kind], without(form, OF_ONE_UNIT)
    view = {"title": title, "kind": kind, "name": name, "versions": versions, "form": form}
    return shown(asked, "card.html", view, status=422 if form.wrong else 200)


def keep_card(asked: Asked) -> Response:
    """A version of a card: its fields, or a text or file instead. Raises BadSettings where it is unusable."""
    kind, name, file, who = _kind(asked.text("kind")), asked.short("name"), asked.upload("file"), asked.who()
    text = asked.sent.get("text", "").replace("\r\n", "\n") if file is None else file.toml()
    if not text.strip():
        versions = _versions(asked, kind, name) if asked.text("of") else []
        form = sent_form(asked, DECLARES[kind], versions[0][0].text if versions else "")
        if form.wrong or asked.text("go") == "stay":
            return _card(asked, kind, name, versions, form)
        text = form.text
    if not text.strip():
        raise BadSettings(name or "the card", "nothing is filled in", "what stands on it", "fill it in")
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


def workshop_page(asked: Asked, form: Form | None = None) -> Response:
    card, head = asked.house.looked_up(lambda book: (_own_card(book), workshop_of(book)), (None, None))
    form = form or blank(FILE, card.text if card else "")
    view = {"title": "The workshop", "head": head, "card": card, "form": without(form, MARK)}
    return shown(asked, "workshop.html", view, status=422 if form.wrong else 200)


def keep_workshop(asked: Asked) -> Response:
    """A new version. Raises BadSettings for a mark that is no picture."""
    who, upload = asked.who(), asked.upload("mark")
    mark: tuple[str, bytes] | None = None
    with asked.house.the_book(create=True) as book:
        before = _own_card(book)
        typed = {}
        if asked.text("no_mark"):
            typed[MARK] = ""
        elif upload is not None:
            mark = upload.name, upload.file.read(A_MARK.limit.most + 1)
        elif before is not None and (held := drawings_of(book, before)):
            mark = held[-1][0], book.content(held[-1][1])
        typed |= {MARK: mark[0]} if mark else {}
        form = sent_form(asked, FILE, before.text if before else "", typed)
        if form.wrong or not form.text:
            return workshop_page(asked, replace(form, wrong=True))
        add_workshop(book, form.text, mark, (asked.short("why"), who))
    return asked.done("book", "/workshop")


def _own_card(book: Book) -> Card | None:
    return next(iter(cards(book, WORKSHOP)), None)
