"""A bench's own record in the browser: whether it may be believed, its calibrations, its checks with the master damper."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from starlette.responses import Response

from dampkit.app.serve.asked import Asked, to
from dampkit.app.serve.drafts import Draft
from dampkit.app.serve.forms import Form, blank, sent_form
from dampkit.app.serve.frame import in_frame, shown
from dampkit.app.serve.library import query
from dampkit.app.serve.start import begun_with
from dampkit.app.serve.steps import card_text
from dampkit.app.serve.verdict import Judged, judged
from dampkit.bench.written import toml_value
from dampkit.errors import BadSettings
from dampkit.outcome.about import day_of_test, today
from dampkit.store.bench_page import BELIEVED, render_bench
from dampkit.store.benches import add_calibration, add_check, bench_state, check_of, checks_of
from dampkit.store.library import cards, history_of, workshop_of
from dampkit.store.settings import Settings

CALIBRATION = "calibration"
A_YEAR = timedelta(days=365)  # until the next calibration, to begin with; common practice, no source


def benches_page(asked: Asked) -> Response:
    """Each bench, and whether it may be believed today."""
    states = asked.house.looked_up(
        lambda book: [bench_state(book, card.name, today()) for card in cards(book, "bench")], []
    )
    return shown(asked, "benches.html", title="Benches", states=states, believed=BELIEVED)


def bench_page(asked: Asked) -> Response:
    """The record of a bench up to a day, a form for a calibration and one for a check."""
    said = {"on": today(), "due": (date.today() + A_YEAR).isoformat(), "by": asked.house.last_person}
    begun = "[calibration]\n" + "".join(f"{name} = {toml_value(text)}\n" for name, text in said.items() if text)
    day = day_of_test(asked.query.get("day") or None) or today()
    return _page(asked, asked.query.get("name", ""), day, blank(CALIBRATION, begun))


def _page(asked: Asked, name: str, day: str, form: Form) -> Response:
    with asked.house.the_book() as book:
        history_of(book, "bench", name)
        body = in_frame(render_bench(bench_state(book, name, day), checks_of(book, name, day), workshop_of(book)))
        types = [card.name for card in cards(book, "unit-type")]
    form = replace(form, sections=tuple(replace(section, open=True) for section in form.sections))
    view = {"title": name, "name": name, "body": body, "types": types, "form": form}
    return shown(asked, "bench.html", view, status=422 if form.wrong else 200)


def calibrate(asked: Asked) -> Response:
    """A calibration as it was filled in, or its file as it was written. Raises BadSettings for one that is unusable."""
    name, who, file = asked.text("name"), asked.who(), asked.upload("file")
    form = sent_form(asked, CALIBRATION)
    if file is None and form.wrong:
        return _page(asked, name, today(), form)
    with asked.house.the_book() as book:
        history_of(book, "bench", name)
        add_calibration(book, name, form.text if file is None else file.toml(), who)
    return asked.done("book", f"/bench?{query(name=name)}")


def begin_check(asked: Asked) -> Response:
    """The master damper's test as a piece of work like any other, with its bench and its type."""
    bench, unit_type = asked.text("name"), asked.text("unit_type")
    if not unit_type:
        raise BadSettings("the check", "no unit type is chosen", "the master damper's type", "choose it")
    if not asked.files.get("records"):
        raise BadSettings("the check", "no record is chosen", "the master damper's test", "choose its record")
    texts = card_text(asked, "bench", bench), card_text(asked, "unit-type", unit_type)

    def with_both(draft: Draft) -> Draft:
        draft = draft.with_base("bench", texts[0], ("bench", bench))
        return draft.with_base("damper", texts[1], ("unit-type", unit_type))

    return begun_with(asked, asked.files["records"], with_both)


def keep_check(asked: Asked) -> Response:
    """The test as a check of its bench, and no entry of the book: what the master damper reads off its record."""
    house, draft = asked.house, asked.draft()
    bench, serial, who = draft.cards.get("bench", ""), asked.short("serial"), asked.who("technician")
    day = day_of_test(asked.text("tested_on") or None) or today()
    found = judged(house, draft)
    if found is None or "error" in found.found:
        return to(f"/draft/{draft.id}/verdict")
    if not bench or not serial:
        missing = "serial of the master damper" if bench else "bench"
        do = "choose the bench under Record, and say which damper it was"
        raise BadSettings("the check", f"no {missing} is given", "both of them", do)
    made = check_of(found.found["result"], _reference(found), (serial, day, who))
    with house.keeping, house.the_book() as book:
        if made not in checks_of(book, bench, day):  # sent twice, or stopped before it was said
            add_check(book, bench, made)
    house.drafts.remove(draft.id)
    return asked.done("book", f"/bench?{query(name=bench)}")


def _reference(found: Judged) -> dict[str, Any]:
    damper = Settings(**found.texts).load().damper
    if damper is None or damper.reference is None:
        do = "add a reference to the card of its type: what it read when it was known to be good"
        raise BadSettings("the check", "the master damper's type has no reference", "its own forces", do)
    return damper.reference.model_dump()
