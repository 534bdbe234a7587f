"""The steps of one piece of work: how the record was understood, the unit, the car."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, Response

from dampkit.app.book_work import person
from dampkit.app.new import AS_THE_UNIT
from dampkit.app.serve.asked import Asked, to
from dampkit.app.serve.drafts import CARD_OF, Draft
from dampkit.app.serve.forms import form_of, toml_of, typed_in
from dampkit.app.serve.frame import shown
from dampkit.app.serve.start import with_records
from dampkit.app.serve.understood import NOTHING, understand
from dampkit.bench.written import written_into
from dampkit.errors import BadSettings, UnusableBook
from dampkit.job import JobFiles
from dampkit.store.book import book_at
from dampkit.store.from_library import Named, from_library
from dampkit.store.library import DECLARES, Card, CardKind, NewCard, add_card, cards

STEPS = (
    ("record", "Record"),
    ("unit", "Unit"),
    ("car", "Car"),
    ("inspection", "Eyes and hands"),
    ("verdict", "Verdict"),
    ("keep", "Keep"),
)
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
    if "again" in asked.query:
        asked.house.forget_failed(draft)
        return to(f"/draft/{draft.id}/record")
    found = asked.house.understood(draft, toml_of(draft, "bench")) if draft.records else NOTHING
    if found is None:
        return waiting(asked, draft, "record", ("look", understand))
    view = {
        "found": {**NOTHING, **found},
        "title": "How the record was understood",
        **_card_view(asked, draft, "bench"),
    }
    return shown(
        asked, "record.html", {**frame_of(draft, "record"), **view, "form": form_of(draft, "bench", _form(found))}
    )


def _form(found: Mapping[str, Any]) -> tuple[str, ...]:
    return (found["form"],) if "form" in found else ()


def more_records(asked: Asked) -> Response:
    draft = with_records(asked, asked.draft(), asked.files.get("records", ()))
    return _changed(asked, draft, "record")


def leave_out(asked: Asked) -> Response:
    """One record less; the others stay in their order."""
    chosen = asked.text("sha256")
    draft = asked.house.drafts.change(
        asked.draft().id, lambda d: replace(d, records=tuple(r for r in d.records if r.sha256 != chosen))
    )
    return _changed(asked, draft, "record")


def answers(asked: Asked) -> Response:
    """The answers to the questions about the bench: of the way its two signs, the others field by field."""
    draft = asked.draft()
    found = asked.house.understood(draft, toml_of(draft, "bench")) or {}
    filled = typed_in(asked.sent, "bench")
    for question in found.get("questions", ()):
        for option in question.get("options", ()):
            if asked.text(question["key"]) == option["value"]:
                filled |= option["fills"]
    draft = asked.house.drafts.change(draft.id, lambda d: d.with_filled("bench", filled)) or draft
    return _changed(asked, draft, "record")


def form_page(step: str, asked: Asked) -> Response:
    draft, file = asked.draft(), FILES[step]
    view = {
        "title": TITLES[step],
        "form": form_of(draft, file, _unit_kind(draft, file)),
        "file": file,
        **_card_view(asked, draft, file),
    }
    return shown(asked, "form.html", {**frame_of(draft, step), **view})


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
    draft = asked.house.drafts.change(asked.draft().id, lambda d: d.with_filled(file, filled)) or asked.draft()
    wrong = form_of(draft, file, _unit_kind(draft, file)).wrong
    on = asked.text("go") == "on" and not wrong
    if step == "costs" and not wrong:
        asked.house.drafts.keep_usual(file, toml_of(draft, file))
    return _changed(
        asked, draft, AFTER.get(step, "verdict") if on else step, "" if on else "#form" if not wrong else "#wrong"
    )


def choose_card(asked: Asked) -> Response:
    """A card of the library in the place of what was filled in; an empty name goes back to an empty form."""
    draft, (step, file) = asked.draft(), _step(asked)
    name = asked.text("card")
    kind: CardKind = CARD_OF[file]  # type: ignore[assignment]
    text = card_text(asked, kind, name) if name else ""
    card = (kind, name) if name else None
    return _changed(asked, asked.house.drafts.change(draft.id, lambda d: d.with_base(file, text, card)), step)


def add_to_library(asked: Asked) -> Response:
    """What is filled in, as a new card or a new version of one. Raises BadSettings where it is not usable."""
    draft, (step, file) = asked.draft(), _step(asked)
    name = asked.text("name")
    kind: CardKind = CARD_OF[file]  # type: ignore[assignment]
    text = toml_of(draft, file)
    if not name:
        raise BadSettings("the library", "the name is empty", "the workshop's own number or name", "give one")
    if not text:
        raise BadSettings(name, "nothing is filled in yet", "a form with something in it", "fill it in first")
    with book_at(asked.house.book, create=True) as book:
        add_card(
            book,
            NewCard(
                kind,
                name,
                for_type(text) if file == "damper" else text,
                person(draft.said.get("technician")),
                asked.text("why"),
            ),
        )
    draft = asked.house.drafts.change(draft.id, lambda d: replace(d, cards={**d.cards, kind: name})) or draft
    asked.house.feed.tell("book")
    return _changed(asked, draft, step)


def for_type(text: str) -> str:
    """What holds for all units of a type: without the serial of one."""
    return written_into(text, {}, drop=[("damper", "serial")])


def toml_text(asked: Asked) -> Response:
    """What is declared, as the file that the commands read too."""
    draft, (_, file) = asked.draft(), _step(asked)
    headers = {"content-disposition": f'attachment; filename="{file}.toml"'}
    return PlainTextResponse(toml_of(draft, file), headers=headers, media_type="application/toml")


def frame_of(draft: Draft, step: str) -> dict[str, Any]:
    return {"draft": draft, "step": step, "steps": STEPS}


def waiting(asked: Asked, draft: Draft, step: str, of: tuple[str, Callable[..., Any]]) -> Response:
    """`of` is what is worked out, and the work that does it."""
    view = {"title": WAITS[of[0]], "refresh": 2, "progress": asked.house.progress(draft, *of)}
    return shown(asked, "waiting.html", {**frame_of(draft, step), **view})


def _step(asked: Asked) -> tuple[str, str]:
    """The step that the address names and the file that it declares. Raises 404 for another one."""
    step = asked.path["step"]
    if step not in FILES or (FILES[step] not in CARD_OF and not asked.where.endswith("/file")):
        raise HTTPException(404, "There is no such page.")
    return step, FILES[step]


def _changed(asked: Asked, draft: Draft | None, step: str, at: str = "") -> Response:
    draft = draft or asked.draft()
    asked.house.feed.tell(f"work/{draft.id}")
    return to(f"/draft/{draft.id}/{step}{at}")


def card_text(asked: Asked, kind: CardKind, name: str) -> str:
    """The text of a card; of a bench with what its calibration leaves uncertain."""
    chosen = {kind.replace("-", "_"): name}
    with from_library(asked.house.book, Named(**chosen), JobFiles()) as (files, _):
        place = files.by_kind[DECLARES[kind]]
        return "" if place is None else place.read_text(encoding="utf-8")


def _card_view(asked: Asked, draft: Draft, file: str) -> dict[str, Any]:
    found: tuple[Card, ...] = ()
    if file not in CARD_OF:
        return {"cards": found, "card": "", "card_changed": False, "shelf": False}
    kind: CardKind = CARD_OF[file]  # type: ignore[assignment]
    if asked.house.book.exists():
        try:
            with book_at(asked.house.book) as book:
                found = cards(book, kind)
        except UnusableBook:
            found = ()  # said where the book is shown
    chosen = draft.cards.get(kind, "")
    return {"cards": found, "card": chosen, "card_changed": bool(chosen and draft.filled.get(file)), "shelf": True}
