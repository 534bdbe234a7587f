"""A bench's own record in the browser: whether it may be believed, its calibrations, its checks with the master damper."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from starlette.responses import Response

from dampkit.app.book_work import person
from dampkit.app.serve.asked import Asked, to
from dampkit.app.serve.entry import last_person
from dampkit.app.serve.forms import Form, form_of, sheet, toml_of, typed_in
from dampkit.app.serve.frame import in_frame, shown
from dampkit.app.serve.library import query, uploaded
from dampkit.app.serve.start import with_records
from dampkit.app.serve.steps import card_text
from dampkit.app.serve.verdict import Judged, judged
from dampkit.bench.written import toml_value
from dampkit.errors import BadSettings
from dampkit.outcome.about import day_of_test
from dampkit.store.bench_page import render_bench
from dampkit.store.benches import add_calibration, add_check, bench_state, check_of, checks_of
from dampkit.store.book import book_at
from dampkit.store.library import cards, history_of
from dampkit.store.settings import Settings
from dampkit.store.workshop import workshop_of

CALIBRATION = "calibration"
A_YEAR = timedelta(days=365)  # until the next calibration, to begin with; common practice, no source


def benches_page(asked: Asked) -> Response:
    """Each bench, and whether it may be believed today."""
    states: list[Any] = []
    if asked.house.book.exists():
        with book_at(asked.house.book) as book:
            today = date.today().isoformat()
            states = [bench_state(book, card.name, today) for card in cards(book, "bench")]
    return shown(asked, "benches.html", {"title": "Benches", "states": states})


def bench_page(asked: Asked) -> Response:
    """The record of a bench up to a day, a form for a calibration and one for a check."""
    name = asked.query.get("name", "")
    day = day_of_test(asked.query.get("day") or None) or date.today().isoformat()
    return _page(asked, name, day, form_of(sheet(CALIBRATION, _begun(asked)), CALIBRATION))


def _page(asked: Asked, name: str, day: str, form: Form) -> Response:
    with book_at(asked.house.book) as book:
        history_of(book, "bench", name)
        body = in_frame(render_bench(bench_state(book, name, day), checks_of(book, name, day), workshop_of(book)))
        types = [card.name for card in cards(book, "unit-type")]
    sent = form.wrong and bool(asked.sent)
    form = form if sent else replace(form, wrong=False, sections=tuple(map(_calm, form.sections)))
    view = {"title": name, "name": name, "body": body, "who": last_person(asked), "types": types, "form": form}
    return shown(asked, "bench.html", view, 422 if sent else 200)


def _calm(section: Any) -> Any:
    """What is not filled in yet is not wrong yet."""
    return replace(section, fields=tuple(replace(field, error="") for field in section.fields), open=True)


def _begun(asked: Asked) -> str:
    today = date.today()
    said = {"on": today.isoformat(), "due": (today + A_YEAR).isoformat(), "by": last_person(asked)}
    return "[calibration]\n" + "".join(f"{name} = {toml_value(text)}\n" for name, text in said.items() if text)


def calibrate(asked: Asked) -> Response:
    """A calibration as it was filled in, or its file as it was written. Raises BadSettings for one that is unusable."""
    name = asked.text("name")
    asked.house.last_person = asked.text("who")[:200]
    text = uploaded(asked)
    if text is None:
        filled = sheet(CALIBRATION, "", typed_in(asked.sent, CALIBRATION))
        form, text = form_of(filled, CALIBRATION), toml_of(filled, CALIBRATION)
        if form.wrong:
            return _page(asked, name, date.today().isoformat(), form)
    with book_at(asked.house.book) as book:
        history_of(book, "bench", name)
        add_calibration(book, name, text, person(asked.text("who")))
    asked.house.feed.tell("book")
    return to(f"/bench?{query(name=name)}")


def begin_check(asked: Asked) -> Response:
    """The master damper's test as a piece of work like any other, with its bench and its type."""
    bench, unit_type = asked.text("name"), asked.text("unit_type")
    if not unit_type:
        raise BadSettings("the check", "no unit type is chosen", "the master damper's type", "choose it")
    if not asked.files.get("records"):
        raise BadSettings("the check", "no record is chosen", "the master damper's test", "choose its record")
    texts = {"bench": card_text(asked, "bench", bench), "damper": card_text(asked, "unit-type", unit_type)}
    drafts = asked.house.drafts
    draft = drafts.new()
    try:
        draft = with_records(asked, draft, asked.files["records"])
    except BadSettings:
        drafts.remove(draft.id)
        raise
    drafts.change(
        draft.id,
        lambda d: d.with_base("bench", texts["bench"], ("bench", bench)).with_base(
            "damper", texts["damper"], ("unit-type", unit_type)
        ),
    )
    asked.house.feed.tell("work")
    return to(f"/draft/{draft.id}/record")


def keep_check(asked: Asked) -> Response:
    """The test as a check of its bench, and no entry of the book: what the master damper reads off its record."""
    house, draft = asked.house, asked.draft()
    bench, serial, who = draft.cards.get("bench"), asked.text("serial")[:200], person(asked.text("technician"))
    day = day_of_test(asked.text("tested_on") or None) or date.today().isoformat()
    found = judged(house, draft)
    if found is None or "error" in found.found:
        return to(f"/draft/{draft.id}/verdict")
    if bench is None or not serial:
        missing = "no bench" if bench is None else "no serial of the master damper"
        raise BadSettings(
            "the check",
            f"{missing} is given",
            "both of them",
            "choose the bench under Record, and say which damper it was",
        )
    made = check_of(found.found["result"], _reference(found), (serial, day, who))
    with house.keeping, book_at(house.book) as book:
        if made not in checks_of(book, bench, day):  # sent twice, or stopped before it was said
            add_check(book, bench, made)
    house.last_person = asked.text("technician")[:200]
    house.drafts.remove(draft.id)
    house.feed.tell("book")
    return to(f"/bench?{query(name=bench)}")


def _reference(found: Judged) -> dict[str, Any]:
    damper = Settings(**found.texts).load().damper
    if damper is None or damper.reference is None:
        do = "add a [reference] to the card of its type: what it read when it was known to be good"
        raise BadSettings("the check", "the master damper's type has no reference", "its own forces", do)
    return damper.reference.model_dump()
