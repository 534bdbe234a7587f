"""The book in the browser: today, finding, a unit's years, the shop's figures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from starlette.responses import Response

from dampkit.app.serve.asked import Asked
from dampkit.app.serve.frame import in_frame, shown
from dampkit.outcome.about import day
from dampkit.store.book import book_at
from dampkit.store.history_page import render_history
from dampkit.store.look_up import Question, count, find, history, near
from dampkit.store.record import Entry
from dampkit.store.statistics import Which, shop, unit_types
from dampkit.store.statistics_page import ACTIONS, render_statistics
from dampkit.store.workshop import workshop_of

LATELY = 500  # entries among which open jobs are looked for
ASKABLE = ("words", "serial", "job", "customer", "unit_type", "action", "since", "until")


def book_page(asked: Asked) -> Response:
    """Today's entries, or those that are looked for."""
    said = {name: asked.query.get(name, "").strip()[:200] for name in ASKABLE}
    today = date.today().isoformat()
    given: dict[str, Any] = {name: text for name, text in said.items() if text}
    for name in ("since", "until"):
        if name in given:
            given[name] = day(given[name])
    view = {
        "title": "The book",
        "said": said,
        "given": bool(given),
        "actions": ACTIONS,
        "today": today,
    }
    if not asked.house.book.exists():
        return shown(asked, "book.html", {**view, "entries": (), "total": 0, "types": (), "close": (), "open_jobs": ()})
    with book_at(asked.house.book) as book:
        entries = find(book, Question(**given)) if given else find(book, Question(since=today))
        latest = () if given or entries else find(book, Question(limit=20))
        close = near(book, said["words"]) if given and not entries and said["words"] else ()
        waiting = () if given else open_jobs(find(book, Question(limit=LATELY)))
        more = {
            "open_jobs": waiting,
            "entries": entries or latest,
            "total": count(book),
            "types": unit_types(book),
            "close": close,
        }
    return shown(asked, "book.html", {**view, "today": "" if latest else today, **more})


def open_jobs(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Of the entries, latest first, each unit's last test within its job, where it says that there is something to do."""
    last: dict[tuple[str | None, str | None], Entry] = {}
    for entry in entries:
        last.setdefault((entry.job, entry.serial), entry)
    return tuple(entry for entry in last.values() if entry.job and entry.action != "fit")


def unit_page(asked: Asked) -> Response:
    """A unit's years, with every test of it to open."""
    serial = asked.query.get("serial", "")
    with book_at(asked.house.book) as book:
        past, head = history(book, serial), workshop_of(book)
    view = {
        "title": f"Unit {serial}",
        "body": in_frame(render_history(serial, past, head)),
        "entries": [one.entry for one in past],
    }
    return shown(asked, "stored.html", {**view, "form": ""})


def figures_page(asked: Asked) -> Response:
    """The shop over time, all of it or one type."""
    given = {name: asked.query.get(name, "").strip() or None for name in ("unit_type", "since", "until")}
    which = Which(given["unit_type"], day(given["since"]), day(given["until"]))
    view = {"title": "The shop's figures", "entries": (), "form": "figures", "given": given}
    if not asked.house.book.exists():
        return shown(asked, "stored.html", {**view, "body": "", "types": ()})
    with book_at(asked.house.book) as book:
        body, types = in_frame(render_statistics(shop(book, which), workshop_of(book))), unit_types(book)
    return shown(asked, "stored.html", {**view, "body": body, "types": types})
