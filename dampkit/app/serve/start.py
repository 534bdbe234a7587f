"""The start: new work from records or a pasted table, what is not finished, and what the bench has just written."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import replace

from starlette.responses import Response

from dampkit.app.samples import kept_samples
from dampkit.app.serve.asked import Asked, Upload, to
from dampkit.app.serve.drafts import MOST_RECORDS, Draft
from dampkit.app.serve.frame import shown
from dampkit.bench.toml_file import from_text
from dampkit.errors import BadSettings
from dampkit.job import MODELS, model_of

PASTED = "pasted.txt"
MADE_UP = "low_oil"  # the sample to try it with


def start_page(asked: Asked) -> Response:
    house, watched = asked.house, asked.house.watched
    files = () if watched is None else watched.files()
    files = tuple(file if house.drafts.get(file.draft) else replace(file, draft="") for file in files)
    folder = None if watched is None else watched.folder.name
    view = {"title": "At the bench", "drafts": house.drafts.all(), "files": files, "folder": folder}
    return shown(asked, "start.html", view, house=house)


def begun_with(
    asked: Asked, uploads: Sequence[Upload], how: Callable[[Draft], Draft] = lambda draft: draft
) -> Response:
    """New work of these files, as `how` changes it. Raises BadSettings; then there is none."""
    with asked.house.drafts.begun() as draft:
        with_records(asked, draft, uploads)
        asked.house.drafts.change(draft.id, how)
    return asked.done("work", f"/draft/{draft.id}/record")


def begin(asked: Asked) -> Response:
    """A new piece of work from what was chosen, dropped or pasted."""
    uploads = asked.files.get("records", ())
    if not uploads and not asked.text("pasted"):
        raise BadSettings("the start page", "neither a record nor a pasted table", "one of them", "choose or paste one")
    return begun_with(asked, uploads)


def try_it(asked: Asked) -> Response:
    """A made-up test of the package, with all that is declared for it."""
    files = [path for path in kept_samples() if path.name.startswith(f"{MADE_UP}.")]
    with ExitStack() as open_ones:
        opened = [(path, open_ones.enter_context(path.open("rb"))) for path in files]
        return begun_with(asked, [Upload(path.name, file, path.stat().st_size) for path, file in opened])


def with_records(asked: Asked, draft: Draft, uploads: Sequence[Upload]) -> Draft:
    """The draft with more records, and with the texts of declared files among them. Raises BadSettings."""
    drafts = asked.house.drafts
    declared = [one for one in uploads if one.label.lower().endswith(".toml")]
    texts = dict(map(_declared, declared))
    kept = [drafts.take(draft, one.label, one.file) for one in uploads if one not in declared]
    if pasted := asked.text("pasted"):
        kept.append(drafts.take(draft, PASTED, io.BytesIO(pasted.encode())))

    def changed(now: Draft) -> Draft:
        records = tuple(dict.fromkeys((*now.records, *kept)))
        if len(records) > MOST_RECORDS:
            found, expected = f"{len(records)} records", f"at most {MOST_RECORDS} of one test"
            raise BadSettings("records", found, expected, "leave some out")
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
    text = upload.toml()
    from_text(text, f"the file {upload.label}", model_of(kind))
    return kind, text


def take_up(asked: Asked) -> Response:
    """A file of the watched folder that was there before, or is wanted again."""
    watched = asked.house.watched
    number = "" if watched is None else watched.take(asked.text("name"))
    if not number:
        found, do = "there is no such record in it", "load the page again"
        raise BadSettings("the watched folder", found, "a name in the list", do)
    return to(f"/draft/{number}/record")


def remove(asked: Asked) -> Response:
    asked.house.drafts.remove(asked.draft().id)
    return asked.done("work", "/")
