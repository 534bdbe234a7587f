"""The book in the browser: today, finding, a unit's years, the shop's figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from starlette.responses import Response

from dampkit.app.serve.asked import MOST_LETTERS, Asked
from dampkit.app.serve.frame import below, in_frame, shown
from dampkit.outcome.about import day
from dampkit.store.book import Book
from dampkit.store.history_page import render_history
from dampkit.store.library import workshop_of
from dampkit.store.look_up import count, find, history, near
from dampkit.store.question import Question, Which
from dampkit.store.record import Entry
from dampkit.store.statistics import shop, unit_types
from dampkit.store.statistics_page import ACTIONS, render_statistics

LATELY = 500  # entries among which open jobs are looked for
ASKABLE = ("words", "serial", "job", "customer", "unit_type", "action", "since", "until")


def book_page(asked: Asked) -> Response:
    """Today's entries, or those that are looked for."""
    said = {name: asked.query.get(name, "").strip()[:MOST_LETTERS] for name in ASKABLE}
    today, given = date.today().isoformat(), question(said)

    def looked_up(book: Book) -> dict[str, Any]:
        entries = find(book, Question(**given) if given else Question(since=today))
        latest = () if given or entries else find(book, Question(limit=20))
        close = near(book, said["words"]) if given and not entries and said["words"] else ()
        waiting = () if given else open_jobs(find(book, Question(limit=LATELY)))
        view = {"open_jobs": waiting, "entries": entries or latest, "close": close, "today": not latest}
        return {**view, "total": count(book), "types": unit_types(book)}

    nothing = {"entries": (), "total": 0, "types": (), "close": (), "open_jobs": (), "today": True}
    view = {"title": "The book", "said": said, "given": bool(given), "actions": ACTIONS}
    return shown(asked, "book.html", view, **asked.house.looked_up(looked_up, nothing))


def question(said: Mapping[str, str]) -> dict[str, Any]:
    """What was filled in, days as days. Raises BadSettings for one that is none."""
    return {name: day(text) if name in ("since", "until") else text for name, text in said.items() if text}


def open_jobs(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Of the entries, latest first, each unit's last test within its job, where it says that there is something to do."""
    last: dict[tuple[str | None, str | None], Entry] = {}
    for entry in entries:
        last.setdefault((entry.job, entry.serial), entry)
    return tuple(entry for entry in last.values() if entry.job and entry.action != "fit")


def unit_page(asked: Asked) -> Response:
    """A unit's years, with every test of it to open."""
    serial = asked.query.get("serial", "")
    with asked.house.the_book() as book:
        past, head = history(book, serial), workshop_of(book)
    body, entries = in_frame(render_history(serial, past, head)), [one.entry for one in past]
    return shown(asked, "stored.html", title=f"Unit {serial}", body=body, entries=entries, form="")


def figures_page(asked: Asked) -> Response:
    """The shop over time, all of it or one type."""
    given = {name: asked.query.get(name, "").strip() or None for name in ("unit_type", "since", "until")}
    which = Which(given["unit_type"], day(given["since"]), day(given["until"]))
    body, types = asked.house.looked_up(
        lambda book: (below(in_frame(render_statistics(shop(book, which), workshop_of(book)))), unit_types(book)),
        ("", ()),
    )
    view = {"title": "The shop's figures", "entries": (), "form": "figures", "given": given}
    return shown(asked, "stored.html", view, body=body, types=types)
