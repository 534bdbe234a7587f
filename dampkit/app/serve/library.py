"""The library in the browser: unit types, vehicles and benches, each with its versions; and the record of a bench."""

from __future__ import annotations

from datetime import date
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, Response

from dampkit.app.book_work import person
from dampkit.app.serve.asked import Asked, to
from dampkit.app.serve.entry import last_person
from dampkit.app.serve.frame import in_frame, shown
from dampkit.bench.gate import TOML
from dampkit.bench.template import Blank, template
from dampkit.errors import BadSettings
from dampkit.outcome.about import day_of_test
from dampkit.outcome.published import keys
from dampkit.store.bench_page import render_bench
from dampkit.store.benches import add_calibration, bench_state, checks_of
from dampkit.store.book import book_at
from dampkit.store.library import DECLARES, CardKind, NewCard, add_card, cards, history_of

KINDS: dict[str, tuple[CardKind, str]] = {
    "unit-type": ("unit-type", "Unit types"),
    "vehicle": ("vehicle", "Vehicles"),
    "bench": ("bench", "Benches"),
}


def library_page(asked: Asked) -> Response:
    """Every card's latest version, and a form for a new one."""
    found: list[tuple[str, str, Any]] = [(kind, title, ()) for kind, (_, title) in KINDS.items()]
    if asked.house.book.exists():
        with book_at(asked.house.book) as book:
            found = [(kind, title, cards(book, name)) for kind, (name, title) in KINDS.items()]
    return shown(asked, "library.html", {"title": "The library", "shelves": found, "who": last_person(asked)})


def card_page(asked: Asked) -> Response:
    """A card, its latest version to be changed, and all versions."""
    kind, name = _kind(asked.query.get("kind", "")), asked.query.get("name", "")
    with book_at(asked.house.book) as book:
        versions = history_of(book, kind, name)
    view = {
        "title": f"{name}",
        "kind": kind,
        "versions": versions[::-1],
        "who": last_person(asked),
        "text": versions[-1].text,
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
        "name": "",
        "who": last_person(asked),
    }
    return shown(asked, "card.html", {**view, "text": template(Blank(file, keys(file)))})


def keep_card(asked: Asked) -> Response:
    """A version of a card, from a text or a file. Raises BadSettings where it is unusable; nothing is kept then."""
    kind, name, text = _kind(asked.text("kind")), asked.text("name")[:200], _text(asked)
    asked.house.last_person = asked.text("who")[:200]
    with book_at(asked.house.book, create=True) as book:
        add_card(book, NewCard(kind, name, text, person(asked.text("who")), asked.text("why")[:200]))
    asked.house.feed.tell("book")
    return to(f"/card?{_query(kind=kind, name=name)}")


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


def benches_page(asked: Asked) -> Response:
    """Each bench, and whether it may be believed today."""
    states: list[Any] = []
    if asked.house.book.exists():
        with book_at(asked.house.book) as book:
            today = date.today().isoformat()
            states = [bench_state(book, card.name, today) for card in cards(book, "bench")]
    return shown(asked, "benches.html", {"title": "Benches", "states": states})


def bench_page(asked: Asked) -> Response:
    """The record of a bench up to a day, and a form for a calibration."""
    name = asked.query.get("name", "")
    day = day_of_test(asked.query.get("day") or None) or date.today().isoformat()
    with book_at(asked.house.book) as book:
        history_of(book, "bench", name)
        body = in_frame(render_bench(bench_state(book, name, day), checks_of(book, name, day)))
    view = {"title": name, "name": name, "body": body, "who": last_person(asked), "day": day}
    return shown(asked, "bench.html", view)


def calibrate(asked: Asked) -> Response:
    """A calibration sheet as it was written. Raises BadSettings where it is no usable one."""
    name = asked.text("name")
    asked.house.last_person = asked.text("who")[:200]
    with book_at(asked.house.book) as book:
        history_of(book, "bench", name)
        add_calibration(book, name, _text(asked), person(asked.text("who")))
    asked.house.feed.tell("book")
    return to(f"/bench?{_query(name=name)}")


def _kind(text: str) -> CardKind:
    if text not in KINDS:
        raise HTTPException(404, "There is no such shelf in the library.")
    return KINDS[text][0]


def _text(asked: Asked) -> str:
    """What was typed, or the file that was chosen instead."""
    uploads = asked.files.get("file", ())
    if not uploads:
        return asked.sent.get("text", "").replace("\r\n", "\n")
    if uploads[0].size_bytes > TOML.most:
        raise BadSettings(uploads[0].label, f"more than {TOML.most} {TOML.what}", "a TOML file", TOML.do())
    try:
        return uploads[0].file.read(TOML.most).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found = f"byte {error.start} is not UTF-8 text"
        raise BadSettings(uploads[0].label, found, "a TOML file", "save it as UTF-8") from None


def _query(**words: str) -> str:
    from urllib.parse import urlencode

    return urlencode(words)
