"""The steps of one piece of work: how the record was understood, the unit, the car."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import Response

from dampkit.app.at_book import person
from dampkit.app.new import AS_THE_UNIT
from dampkit.app.serve.asked import Asked, download
from dampkit.app.serve.drafts import CARD_OF, Draft
from dampkit.app.serve.forms import form_of, toml_of, typed_in
from dampkit.app.serve.frame import shown
from dampkit.app.serve.start import with_records
from dampkit.app.serve.understood import NOTHING, understand
from dampkit.bench.written import written_into
from dampkit.errors import BadSettings, UnusableBook
from dampkit.job import JobFiles
from dampkit.store.from_library import Named, from_library
from dampkit.store.library import DECLARES, Card, CardKind, NewCard, add_card, card_of, cards

# what each step declares, and two more that the verdict asks for
FILES = {
    "record": "bench", "unit": "damper", "car": "vehicle", "inspection": "inspection", "costs": "costs", "stock": "stock",
}  # fmt: skip
AFTER = {"record": "unit", "unit": "car", "car": "inspection"}  # then the verdict
TITLES = {
    "unit": "Which unit it is", "car": "Which car it is for", "inspection": "What eyes and hands found",
    "costs": "What work costs here", "stock": "What can be fitted to this unit",
}  # fmt: skip
WAITS = {
    "look": "The record is being read",
    "verdict": "The test is being analysed",
    "side-by-side": "The tests are being held side by side",
}


def record_page(asked: Asked) -> Response:
    """How the record was understood, or that this is being worked out."""
    draft = asked.draft()
    found = asked.house.understood(draft, toml_of(draft, "bench")) if draft.records else NOTHING
    if found is None:
        return waiting(asked, draft, "record", ("look", understand))
    form = form_of(draft, "bench", (found["form"],) if "form" in found else ())
    found = {**NOTHING, **found}
    title = "The record cannot be read" if found["error"] else "How the record was understood"
    view = {"found": found, "title": title, "form": form}
    return shown(asked, "record.html", view, draft=draft, step="record", **_card_view(asked, draft, "bench"))


def more_records(asked: Asked) -> Response:
    with_records(asked, asked.draft(), asked.files.get("records", ()))
    return _changed(asked, "record")


def leave_out(what: str, page: str, asked: Asked) -> Response:
    """One record or photo less; the others stay in their order."""
    chosen = asked.text("sha256")

    def without(draft: Draft) -> Draft:
        kept: Any = tuple(one for one in getattr(draft, what) if one.sha256 != chosen)
        return replace(draft, **{what: kept})

    asked.changed(without)
    return _changed(asked, page)


def answers(asked: Asked) -> Response:
    """The answers to the questions about the bench: of the way its two signs, the others field by field."""
    draft = asked.draft()
    found = asked.house.understood(draft, toml_of(draft, "bench")) or {}
    filled = typed_in(asked.sent, "bench")
    for question in found.get("questions", ()):
        for option in question.get("options", ()):
            if asked.text(question["key"]) == option["value"]:
                filled |= option["fills"]
    asked.changed(lambda d: d.with_filled("bench", filled))
    return _changed(asked, "record")


def form_page(step: str, asked: Asked) -> Response:
    draft, file = asked.draft(), FILES[step]
    view = {"title": TITLES[step], "form": form_of(draft, file, _unit_kind(draft, file))}
    return shown(asked, "form.html", view, draft=draft, step=step, **_card_view(asked, draft, file))


def _unit_kind(draft: Draft, file: str) -> tuple[str, ...]:
    """What eyes and hands look for hangs on the kind of unit, which is said under Unit."""
    if file not in AS_THE_UNIT:
        return ()
    kind = tomllib.loads(toml_of(draft, AS_THE_UNIT[file])).get("damper", {}).get("kind")
    return (kind,) if isinstance(kind, str) else ()


def fill(step: str, asked: Asked) -> Response:
    """What was typed is kept whatever it is; only a form without errors leads on."""
    file = FILES[step]
    filled = typed_in(asked.sent, file)
    draft = asked.changed(lambda d: d.with_filled(file, filled))
    wrong = form_of(draft, file, _unit_kind(draft, file)).wrong
    if step == "costs" and not wrong:
        asked.house.drafts.keep_usual(file, toml_of(draft, file))
    if asked.text("go") == "on" and not wrong:
        return _changed(asked, AFTER.get(step, "verdict"))
    return _changed(asked, f"{step}#{'wrong' if wrong else 'form'}")


def choose_card(asked: Asked) -> Response:
    """A card of the library in the place of what was filled in; an empty name goes back to an empty form."""
    step, file, kind = _step(asked)
    name = asked.text("card")
    text, card = (card_text(asked, kind, name), (kind, name)) if name else ("", None)
    asked.changed(lambda d: d.with_base(file, text, card))
    return _changed(asked, step)


def add_to_library(asked: Asked) -> Response:
    """What is filled in, as a new card or a new version of one. Raises BadSettings where it is not usable."""
    draft, (step, file, kind), name = asked.draft(), _step(asked), asked.text("name")
    text = toml_of(draft, file)
    if not name:
        raise BadSettings("the library", "the name is empty", "the workshop's own number or name", "give one")
    if not text:
        raise BadSettings(name, "nothing is filled in yet", "a form with something in it", "fill it in first")
    if file == "damper":  # what holds for all units of a type: without the serial of one
        text = written_into(text, {}, drop=[("damper", "serial")])
    with asked.house.the_book(create=True) as book:
        add_card(book, NewCard(kind, name, text, person(draft.said.get("technician")), asked.text("why")))
    asked.changed(lambda d: replace(d, cards={**d.cards, kind: name}))
    asked.house.feed.tell("book")
    return _changed(asked, step)


def toml_text(asked: Asked) -> Response:
    """What is declared, as the file that the commands read too. Raises 404 for a step that declares none."""
    file = FILES.get(asked.path["step"])
    if file is None:
        raise HTTPException(404, "There is no such page.")
    return download(toml_of(asked.draft(), file), f"{file}.toml", "application/toml")


def waiting(asked: Asked, draft: Draft, step: str, of: tuple[str, Callable[..., Any]]) -> Response:
    """`of` is what is worked out, and the work that does it."""
    view = {"title": WAITS[of[0]], "progress": asked.house.progress(draft, *of)}
    return shown(asked, "waiting.html", view, draft=draft, step=step)


def _step(asked: Asked) -> tuple[str, str, CardKind]:
    """The step that the address names, the file that it declares and the card that holds one. Raises 404 without."""
    file = FILES.get(asked.path["step"], "")
    if file not in CARD_OF:
        raise HTTPException(404, "There is no such page.")
    return asked.path["step"], file, CARD_OF[file]


def _changed(asked: Asked, place: str) -> Response:
    return asked.done(f"work/{asked.path['id']}", f"/draft/{asked.path['id']}/{place}")


def card_text(asked: Asked, kind: CardKind, name: str) -> str:
    """The text of a card; of a bench with what its calibration leaves uncertain."""
    if kind != "bench":
        with asked.house.the_book() as book:
            return card_of(book, kind, name).text.replace("\r\n", "\n")
    with from_library(asked.house.book, Named(bench=name), JobFiles()) as (files, _):
        place = files.by_kind[DECLARES[kind]]
        return "" if place is None else place.read_text(encoding="utf-8")


def _card_view(asked: Asked, draft: Draft, file: str) -> Mapping[str, Any]:
    """The cards that can stand in the place of a form; a book that cannot be used says so where it is shown."""
    kind, found = CARD_OF.get(file), tuple[Card, ...]()
    if kind is not None:
        with suppress(UnusableBook):
            found = asked.house.looked_up(lambda book: cards(book, kind), ())
    card = draft.cards.get(kind, "") if kind else ""
    return {"shelf": kind, "cards": found, "card": card, "card_changed": bool(card and draft.filled.get(file))}
