"""The work on a unit after its test: what was found when it was opened, what was built, and before and after."""

from __future__ import annotations

from starlette.responses import Response

from dampkit.app.serve.asked import Asked
from dampkit.app.serve.forms import Form, blank, sent_form
from dampkit.app.serve.frame import in_frame, shown
from dampkit.errors import BadSettings
from dampkit.outcome.about import day_of_test, today
from dampkit.store.papers import Paper
from dampkit.store.work_page import render_work, work_lines
from dampkit.store.works import STRIP_DOWN, add_work, before_after, passed_build, work_on

WORK = "work"


def work_page(asked: Asked, form: Form | None = None) -> Response:
    """The sheet of an entry as it stands, to go on with: a later one corrects it, and the earlier stays."""
    with asked.house.the_book() as book:
        both, worked = before_after(book, asked.number), work_on(book, asked.number)
        passed = passed_build(book, both.before.unit_type) if both.before.unit_type else None
    view = {
        "title": f"Work on unit {both.before.serial or 'without a serial'}",
        "number": asked.number,
        "body": in_frame(render_work(both)),
        "passed": None if passed is None else (passed[0], list(work_lines(passed[1].work))),
        "form": form or blank(WORK, worked.sheet.text if worked else ""),
        "today": today(),
    }
    return shown(asked, "work.html", view, status=422 if form else 200)


def keep_work(asked: Asked) -> Response:
    """Raises BadSettings where nothing is filled in."""
    who, number = asked.who(), asked.number
    with asked.house.the_book() as book:
        worked = work_on(book, number)
    form = sent_form(asked, WORK, worked.sheet.text if worked else "")
    if not form.text:
        raise BadSettings(f"work on entry {number}", "nothing is filled in", "what was found or done", "fill it in")
    if form.wrong:
        return work_page(asked, form)
    day = day_of_test(asked.text("done_on") or None) or today()
    with asked.house.the_book() as book:
        if worked is None or (worked.sheet.text, worked.done_on) != (form.text, day):
            add_work(book, number, Paper(STRIP_DOWN, form.text, day, who))
    return asked.done("book", f"/book/{number}/work")
