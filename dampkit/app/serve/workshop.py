"""The workshop's own card: name, address and mark, at the head of every printed sheet."""

from __future__ import annotations

from dataclasses import replace

from starlette.responses import Response

from dampkit.app.serve.asked import Asked
from dampkit.app.serve.forms import Form, blank, sent_form, without
from dampkit.app.serve.frame import shown
from dampkit.outcome.workshop import A_MARK
from dampkit.store.book import Book
from dampkit.store.library import WORKSHOP, Card, add_workshop, cards, drawings_of, workshop_of

FILE, MARK = "workshop", "workshop.mark"


def workshop_page(asked: Asked, form: Form | None = None) -> Response:
    card, head = asked.house.looked_up(lambda book: (_card(book), workshop_of(book)), (None, None))
    form = form or blank(FILE, card.text if card else "")
    view = {"title": "The workshop", "head": head, "card": card, "form": without(form, MARK)}
    return shown(asked, "workshop.html", view, status=422 if form.wrong else 200)


def keep_workshop(asked: Asked) -> Response:
    """A new version. Raises BadSettings for a mark that is no picture."""
    who, upload = asked.who(), asked.upload("mark")
    mark: tuple[str, bytes] | None = None
    with asked.house.the_book(create=True) as book:
        before = _card(book)
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


def _card(book: Book) -> Card | None:
    return next(iter(cards(book, WORKSHOP)), None)
