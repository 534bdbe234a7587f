"""Several tests side by side: two units, one before and after, or the settings of one adjuster; of files or of entries."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from starlette.responses import Response

from dampkit.app.serve.asked import Asked, to
from dampkit.app.serve.drafts import Draft, Drafts
from dampkit.app.serve.forms import toml_of
from dampkit.app.serve.frame import shown
from dampkit.app.serve.judged import LIBRARY, parts_of
from dampkit.app.serve.steps import waiting
from dampkit.app.serve.told import error_of
from dampkit.app.serve.understood import Records, read
from dampkit.app.settings import shown as shown_settings
from dampkit.bench.test import read_test
from dampkit.bench.told import last_number
from dampkit.errors import BadSettings, DampkitError
from dampkit.frozen import frozen
from dampkit.job import MODELS
from dampkit.outcome.choice import choose
from dampkit.outcome.side_by_side import Fitted, compare, fitted
from dampkit.report.document import Look
from dampkit.report.pair_page import Runs, render_pair
from dampkit.store.book import Book
from dampkit.store.settings import Settings

SIDE, TEST = "side-by-side", "test"
KINDS = {
    "pair": "units of one kind: left and right, or more",
    "before-after": "one unit before and after work on it",
    "settings": "one unit at several settings of its adjuster",
}
MOST_ENTRIES = 20
STEP = "step"


@frozen
class One:
    """One of the tests: the hash of its first record, how it is called, its records, what is declared for it, its setting as typed."""

    key: str
    name: str
    records: Records
    texts: Mapping[str, str]
    setting: str


def side_page(asked: Asked) -> Response:
    """Which they are and how they belong together; and, once that is said, what holding them side by side says."""
    draft = asked.draft()
    said = draft.filled.get(SIDE, {})
    tests, kind, step, found = tests_of(asked, draft), said.get("kind", ""), said.get(STEP, ""), None
    if kind in KINDS and len(tests) > 1:
        of, begin = (kind, tests, step or "1"), asked.house.workers.begin
        found = asked.house.worked_out(draft, SIDE, of, lambda: begin(held, *of))
        if found is None:
            return waiting(asked, draft, SIDE, (SIDE, held))
    page = found if found and not found["error"] else None
    view = {"title": "Side by side", "tests": tests, "kinds": KINDS, "kind": kind, "step_of": said.get(STEP, "1")}
    return shown(asked, "side.html", view, draft=draft, step=SIDE, page=page, found=found)


def say_how(asked: Asked) -> Response:
    """What is typed is kept with the work, whatever it is."""
    typed = {name: text[:200] for name, text in asked.sent.items() if name in ("kind", STEP) or name.startswith("at-")}
    draft = asked.changed(lambda d: d.with_filled(SIDE, typed))
    return asked.done(f"work/{draft.id}", f"/draft/{draft.id}/{SIDE}")


def of_entries(asked: Asked) -> Response:
    """Entries of the book as a piece of work: their records, each with what was declared for it then."""
    numbers = dict.fromkeys(int(word) for word in asked.text("entries").replace(",", " ").split() if word.isdecimal())
    if not 2 <= len(numbers) <= MOST_ENTRIES:
        expected = f"numbers of 2 to {MOST_ENTRIES}"
        raise BadSettings("side by side", f"found {len(numbers)} entries", expected, "name them")
    drafts = asked.house.drafts
    with drafts.begun() as draft, asked.house.the_book() as book:
        made = draft.with_filled(SIDE, {"kind": asked.text("kind")})
        for number in numbers:
            made = _with_entry(drafts, made, book, number)
        drafts.change(draft.id, lambda _: made)
    return to(f"/draft/{draft.id}/{SIDE}")


def _with_entry(drafts: Drafts, draft: Draft, book: Book, number: int) -> Draft:
    """Raises BadSettings where there is no such entry, or its record is there already."""
    entry, texts = book.entry(number), book.settings(number).written
    kept = [drafts.take(draft, name, io.BytesIO(data)) for name, data in book.records(number)]
    if {one.sha256 for one in kept} & {one.sha256 for one in draft.records}:
        found = f"entry {number} is of a record that another of them is of, too"
        raise BadSettings("side by side", found, "a test each", "leave one of them out")
    base = {f"{one.sha256}/{kind}": text for one in kept for kind, text in texts.items() if text is not None}
    base |= {f"{one.sha256}/{TEST}": f"entry {number}, {entry.serial or entry.file}" for one in kept}
    return replace(draft, records=(*draft.records, *kept), base={**draft.base, **base})


def tests_of(asked: Asked, draft: Draft) -> list[One]:
    """Each record a test of its own, but for those of one entry."""
    groups: dict[str, list[Any]] = {}
    for record in draft.records:
        groups.setdefault(draft.base.get(f"{record.sha256}/{TEST}", record.sha256), []).append(record)
    typed, found = draft.filled.get(SIDE, {}), []
    for place, records in enumerate(groups.values(), start=1):
        sha256, label = records[0].sha256, records[0].label
        own = {k: draft.base[f"{sha256}/{k}"] for k in MODELS if f"{sha256}/{k}" in draft.base}
        same = {} if f"{sha256}/{TEST}" in draft.base else {k: text for k in MODELS if (text := toml_of(draft, k))}
        number = last_number(Path(label).stem) if not own else float(place)
        setting = typed.get(f"at-{sha256}", "" if number is None else f"{number:g}")
        name = draft.base.get(f"{sha256}/{TEST}", label)
        places = [(record.label, str(asked.house.drafts.place(draft, record))) for record in records]
        found.append(One(sha256, name, places, own or same, setting))
    return found


def held(kind: str, tests: Sequence[One], step: str) -> dict[str, Any]:
    """In a worker: the page of it in its parts, or `error`."""
    try:
        if kind == "before-after" and all(test.setting for test in tests):
            tests = sorted(tests, key=lambda test: _number(test.setting, test.name))
        runs = [run for test in tests for run in _fitted(test)]
        whole = _settings(runs, tests, step) if kind == "settings" else _compared(runs, kind)
    except DampkitError as error:
        return {"error": error_of(error)}
    return parts_of(whole)


def _fitted(test: One) -> tuple[Fitted, ...]:
    job = Settings(**test.texts).load()
    read_as_one = read_test([read(place) for _, place in test.records], job.bench, names=[n for n, _ in test.records])
    return fitted([read_as_one], job, at_least=1, names=[test.name])


def _compared(runs: Sequence[Fitted], kind: str) -> str:
    found = compare(runs, before_after=kind == "before-after")
    return render_pair(
        Runs(found.kind, found.names, found.results, found.found, found.advice, found.percent), Look(library=LIBRARY)
    )


def _settings(runs: Sequence[Fitted], tests: Sequence[One], step: str) -> str:
    given = None if len(runs) > len(tests) else [_number(test.setting, test.name) for test in tests]
    found = choose(runs, given, _number(step, "the smallest step"))
    return shown_settings(found, [run.name for run in runs], Look(library=LIBRARY))


def _number(text: str, where: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        found, do = f"found {text!r}" if text.strip() else "its setting is empty", "type it, or drag it onto its click"
        raise BadSettings(where, found, "its setting, a number of clicks or turns", do) from None
