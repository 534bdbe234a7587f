"""The start: new work from records or a pasted table, what is not finished, and what the bench has just written."""

from __future__ import annotations

import io
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import replace

from starlette.responses import Response

from dampkit.app.samples import kept_samples
from dampkit.app.serve.asked import Asked, Upload, to
from dampkit.app.serve.drafts import MOST_RECORDS, Draft
from dampkit.app.serve.frame import shown
from dampkit.bench.gate import TOML
from dampkit.bench.toml_file import from_text
from dampkit.errors import BadSettings
from dampkit.job import MODELS, model_of

PASTED = "pasted.txt"
MADE_UP = "low_oil"  # the sample to try it with


def start_page(asked: Asked) -> Response:
    watched = asked.house.watched
    files = () if watched is None else watched.files()
    gone = [file.draft for file in files if asked.house.drafts.get(file.draft) is None]
    files = tuple(replace(file, draft="") if file.draft in gone else file for file in files)
    return shown(asked, "start.html", {"house": asked.house, "title": "At the bench", "drafts": asked.house.drafts.all(), "files": files,
                                       "folder": "" if watched is None else watched.folder.name})  # fmt: skip


def begin(asked: Asked) -> Response:
    """A new piece of work from what was chosen, dropped or pasted."""
    house = asked.house
    uploads = list(asked.files.get("records", ()))
    if not uploads and not asked.text("pasted"):
        raise BadSettings("the start page", "neither a record nor a pasted table", "one of them", "choose or paste one")
    draft = house.drafts.new()
    try:
        draft = with_records(asked, draft, uploads)
    except BadSettings:
        house.drafts.remove(draft.id)
        raise
    house.feed.tell("work")
    return to(f"/draft/{draft.id}/record")


def try_it(asked: Asked) -> Response:
    """A made-up test of the package, with all that is declared for it."""
    files = [path for path in kept_samples() if path.name.startswith(f"{MADE_UP}.")]
    draft = asked.house.drafts.new()
    with ExitStack() as open_ones:
        uploads = [Upload(path.name, open_ones.enter_context(path.open("rb")), path.stat().st_size) for path in files]
        with_records(asked, draft, uploads)
    asked.house.feed.tell("work")
    return to(f"/draft/{draft.id}/record")


def with_records(asked: Asked, draft: Draft, uploads: Sequence[Upload]) -> Draft:
    """The draft with more records, and with the texts of declared files among them. Raises BadSettings."""
    drafts = asked.house.drafts
    texts = {kind: text for one in uploads if one.label.lower().endswith(".toml") for kind, text in [_declared(one)]}
    logs = [one for one in uploads if not one.label.lower().endswith(".toml")]
    kept = [drafts.take(draft, one.label, one.file) for one in logs]
    if pasted := asked.text("pasted"):
        kept.append(drafts.take(draft, PASTED, io.BytesIO(pasted.encode())))

    def changed(now: Draft) -> Draft:
        records = tuple(dict.fromkeys((*now.records, *kept)))
        if len(records) > MOST_RECORDS:
            raise BadSettings(
                "records", f"{len(records)} records", f"at most {MOST_RECORDS} of one test", "leave some out"
            )
        for kind, text in texts.items():
            now = now.with_base(kind, text)
        return replace(now, records=records)

    return drafts.change(draft.id, changed) or draft


def _declared(upload: Upload) -> tuple[str, str]:
    """Which kind of declared file this is, by the end of its name, and its text. Raises BadSettings."""
    stem = upload.label.lower().removesuffix(".toml")
    kind = next((kind for kind in MODELS if stem.endswith(kind)), None)
    if kind is None:
        expected = f"a name that ends in {', '.join(f'{k}.toml' for k in MODELS)}"
        raise BadSettings(upload.label, "which kind of file it is, its name does not say", expected, "rename it")
    if upload.size_bytes > TOML.most:
        raise BadSettings(upload.label, f"more than {TOML.most} {TOML.what}", "a TOML file", TOML.do())
    try:
        text = upload.file.read(TOML.most).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadSettings(
            upload.label, f"byte {error.start} is not UTF-8 text", "a TOML file", "save it as UTF-8"
        ) from None
    from_text(text, upload.label, model_of(kind))
    return kind, text


def take_up(asked: Asked) -> Response:
    """A file of the watched folder that was there before, or is wanted again."""
    watched = asked.house.watched
    number = "" if watched is None else watched.take(asked.text("name"))
    if not number:
        raise BadSettings(
            "the watched folder", "there is no such record in it", "a name in the list", "load the page again"
        )
    return to(f"/draft/{number}/record")


def remove(asked: Asked) -> Response:
    asked.house.drafts.remove(asked.draft().id)
    asked.house.feed.tell("work")
    return to("/")
