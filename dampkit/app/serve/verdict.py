"""The verdict on one piece of work, and keeping it in the book."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from starlette.responses import Response

from dampkit.app.at_book import person
from dampkit.app.serve.asked import Asked, download, to
from dampkit.app.serve.drafts import MOST_PHOTOS, PHOTO, Draft, Kept
from dampkit.app.serve.forms import LONGEST, toml_of
from dampkit.app.serve.frame import shown
from dampkit.app.serve.house import House
from dampkit.app.serve.judged import judge
from dampkit.app.serve.photos import picture_kind
from dampkit.app.serve.steps import waiting
from dampkit.app.serve.told import without_commands
from dampkit.bench.gate import A_LOG, Wanted, file_bytes
from dampkit.bench.run import Quality
from dampkit.errors import BadSettings, DampkitError
from dampkit.frozen import frozen
from dampkit.job import MODELS
from dampkit.outcome.about import day_of_test, time_of_day, today
from dampkit.outcome.result import Result
from dampkit.report.next_test import next_test_rows, next_test_text
from dampkit.store.benches import bench_state
from dampkit.store.book import Book
from dampkit.store.content import pack
from dampkit.store.facts import NAMES
from dampkit.store.look_up import of_another_unit
from dampkit.store.record import Added, Beside, Circumstances, Entry, NewEntry, Note, Photo, now
from dampkit.store.settings import Settings

SAID = ("serial", "job", "customer", "technician", "tested_on", "tested_at", "note")
A_PHOTO = Wanted("a photo", PHOTO)


@frozen
class Judged:
    """What the worker gave, and the texts that it was given."""

    found: dict[str, Any]
    texts: dict[str, str]


def judged(house: House, draft: Draft) -> Judged | None:
    """The verdict as it stands with everything declared; None while it is worked out."""
    texts = {kind: text for kind in MODELS if (text := toml_of(draft, kind))}
    remarks = _of_bench(house, draft)
    records = house.records(draft)
    of = (draft.records, texts, remarks)
    found = house.worked_out(draft, "verdict", of, lambda: house.workers.begin(judge, records, texts, remarks))
    return None if found is None else Judged(found, texts)


def _of_bench(house: House, draft: Draft) -> tuple[Quality, ...]:
    """What the record of the chosen bench says of the day of the test."""
    bench = draft.cards.get("bench")
    if not bench:
        return ()
    with house.the_book() as book:
        return bench_state(book, bench, draft.said.get("tested_on") or today()).quality()


def verdict_page(asked: Asked) -> Response:
    draft = asked.draft()
    if not draft.records:
        return to(f"/draft/{draft.id}/record")
    found = judged(asked.house, draft)
    if found is None:
        return waiting(asked, draft, "verdict", ("verdict", judge))
    view = {"error": None, "next_test": False, "page": None, **found.found}
    return shown(asked, "verdict.html", view, draft=draft, step="verdict", title="Verdict")


def next_test(asked: Asked) -> Response:
    """The next test as a file to follow, or as rows for the bench."""
    found = judged(asked.house, asked.draft())
    if found is None or not found.found.get("next_test"):
        return to(f"/draft/{asked.path['id']}/verdict")
    result = Result.read(found.found["result"])
    if asked.path["form"] == "csv":
        return download(next_test_rows(result), "next_test.csv", "text/csv")
    return download(without_commands(next_test_text(result)), "next_test.txt", "text/plain")


def keep_page(asked: Asked, errors: dict[str, str] | None = None, same: Entry | None = None) -> Response:
    draft = asked.draft()
    if draft.entry is not None:
        return to(f"/book/{draft.entry}")
    found = judged(asked.house, draft) if draft.records else None
    if found is None or "error" in found.found:
        return to(f"/draft/{draft.id}/verdict")
    serial = found.found["result"]["damper"]["serial"] or ""
    usual = {"serial": serial, "tested_on": today(), "technician": asked.house.last_person}
    view = {
        "title": "Keep it in the book",
        "said": {name: draft.said.get(name, usual.get(name, "")) for name in SAID},
        "errors": errors or {},
        "same": same,
        "action": found.found["action"],
        "most_photos": MOST_PHOTOS,
        "bench": draft.cards.get("bench", ""),
    }
    return shown(asked, "keep.html", view, status=422 if errors or same else 200, draft=draft, step="keep")


def keep(asked: Asked) -> Response:
    """What is said is kept with the work first; then, where it is right, everything goes into the book at once."""
    house = asked.house
    said = {name: asked.text(name)[:LONGEST] for name in SAID if name in asked.sent}
    asked.changed(lambda d: replace(d, said={**d.said, **said}))
    house.last_person = said.get("technician") or house.last_person
    photos = [_photo(asked, upload) for upload in asked.files.get("photos", ())]
    draft = asked.changed(lambda d: replace(d, photos=_added(d.photos, photos)))
    if asked.text("go") != "keep":
        return to(f"/draft/{draft.id}/keep")
    found = judged(house, draft)
    if draft.entry is not None or found is None or "error" in found.found:
        return keep_page(asked)
    errors = _wrong(draft.said, found.found["result"]["damper"]["serial"])
    if errors:
        return keep_page(asked, errors)
    with house.keeping, house.the_book(create=True) as book:
        if (kept := house.drafts.get(draft.id)) is not None and kept.entry is not None:
            return to(f"/book/{kept.entry}")  # sent twice
        serial = draft.said.get("serial") or found.found["result"]["damper"]["serial"] or ""
        same = of_another_unit(book, found.found["sha256"][0], serial)
        if same is not None and not asked.text("even_so"):
            return keep_page(asked, same=same)
        added = _into_book(asked, draft, found, book)
        house.drafts.change(draft.id, lambda d: replace(d, entry=added.entry))
    house.drafts.drop_kept()
    return asked.done("book", f"/book/{added.entry}{'' if added.fresh else '?already=1'}")


def _into_book(asked: Asked, draft: Draft, found: Judged, book: Book) -> Added:
    """Records, settings, result, what was said, notes and photos in one transaction."""
    drafts, said = asked.house.drafts, draft.said
    data = [pack(file_bytes(drafts.place(draft, record), A_LOG)) for record in draft.records]
    cards = {kind.replace("-", "_"): name for kind, name in draft.cards.items()}
    facts = {name: said.get(name, "") for name in ("customer", "technician", "tested_at")} | cards
    who = person(said.get("technician"))
    circumstances = Circumstances(
        who=who, serial=said.get("serial") or found.found["result"]["damper"]["serial"], job=said.get("job") or None,
        tested_on=said.get("tested_on", ""), facts={n: value for n, value in facts.items() if value and n in NAMES},
    )  # fmt: skip
    new = NewEntry(found.found["result"], data[0], Settings(**found.texts), circumstances, tuple(data[1:]))
    photos = tuple(
        (Photo(kept.label, kept.sha256, None, who, now()), pack(file_bytes(drafts.place(draft, kept), A_PHOTO)))
        for kept in draft.photos
    )
    notes: tuple[Note, ...] = (Note(said["note"], who, now()),) if said.get("note") else ()
    there = book.number_of(new.uid(None))
    if there is not None:  # kept before, and stopped before that was said
        held, told = {photo.sha256 for photo in book.photos(there)}, {note.text for note in book.notes(there)}
        photos = tuple(one for one in photos if one[0].sha256 not in held)
        notes = tuple(note for note in notes if note.text not in told)
    return book.add(new, Beside(notes, photos))


def _wrong(said: Any, declared: str | None) -> dict[str, str]:
    errors: dict[str, str] = {}
    for name, check in (("tested_on", day_of_test), ("tested_at", time_of_day)):
        try:
            if said.get(name):
                check(said[name])
        except DampkitError as error:
            errors[name] = f"{error.found.capitalize()}; expected {error.expected}."
    if declared and said.get("serial") and said["serial"] != declared:
        errors["serial"] = f"Under Unit it is {declared!r}; one of the two is wrong. Correct it here or there."
    for name in ("serial", "job", "customer", "technician"):
        if len(said.get(name, "")) > 200:
            errors[name] = f"Found {len(said[name])} letters; expected at most 200."
    return errors


def _photo(asked: Asked, upload: Any) -> Kept:
    """Raises BadSettings for what is no picture that a browser shows."""
    draft = asked.draft()
    kept = asked.house.drafts.take(draft, upload.label, upload.file, PHOTO)
    picture_kind(file_bytes(asked.house.drafts.place(draft, kept), A_PHOTO), kept.label)
    return kept


def _added(photos: tuple[Kept, ...], more: list[Kept]) -> tuple[Kept, ...]:
    found = tuple({kept.sha256: kept for kept in (*photos, *more)}.values())
    if len(found) > MOST_PHOTOS:
        raise BadSettings("photos", f"{len(found)} photos", f"at most {MOST_PHOTOS}", "leave some out")
    return found
