"""The workshop's own card: name, address and mark, at the head of every printed sheet."""

from __future__ import annotations

from dataclasses import replace

from starlette.responses import Response

from dampkit.app.book_work import person
from dampkit.app.serve.asked import Asked, to
from dampkit.app.serve.entry import last_person
from dampkit.app.serve.forms import Form, form_of, sheet, toml_of, typed_in
from dampkit.app.serve.frame import shown
from dampkit.outcome.workshop import A_MARK, Letterhead
from dampkit.store.book import Book, book_at
from dampkit.store.library import Card, cards, drawings_of
from dampkit.store.workshop import KIND, add_workshop, workshop_of

FILE, MARK = "workshop", "workshop.mark"


def workshop_page(asked: Asked, form: Form | None = None) -> Response:
    head: Letterhead | None = None
    card: Card | None = None
    if asked.house.book.exists():
        with book_at(asked.house.book) as book:
            card, head = _card(book), workshop_of(book)
    form = form or replace(form_of(sheet(FILE, card.text if card else ""), FILE), wrong=False)
    view = {
        "title": "The workshop",
        "head": head,
        "card": card,
        "form": replace(form, sections=tuple(replace(s, fields=tuple(f for f in s.fields if f.name != MARK)) for s in form.sections)),
        "who": last_person(asked),
    }  # fmt: skip
    return shown(asked, "workshop.html", view, 422 if form.wrong else 200)


def keep_workshop(asked: Asked) -> Response:
    """A new version. Raises BadSettings for a mark that is no picture."""
    asked.house.last_person = asked.text("who")[:200]
    typed = typed_in(asked.sent, FILE)
    mark: tuple[str, bytes] | None = None
    with book_at(asked.house.book, create=True) as book:
        before = _card(book)
        if asked.text("no_mark"):
            typed[MARK] = ""
        elif uploads := asked.files.get("mark", ()):
            mark = uploads[0].name, uploads[0].file.read(A_MARK.limit.most + 1)
            typed[MARK] = mark[0]
        elif before is not None and (held := drawings_of(book, before)):
            mark = held[-1][0], book.content(held[-1][1])
        filled = sheet(FILE, before.text if before else "", typed)
        form = form_of(filled, FILE)
        if form.wrong or not form.text:
            return workshop_page(asked, replace(form, wrong=True))
        add_workshop(book, toml_of(filled, FILE), mark, (asked.text("why")[:200], person(asked.text("who"))))
    asked.house.feed.tell("book")
    return to("/workshop")


def _card(book: Book) -> Card | None:
    return next(iter(cards(book, KIND)), None)
