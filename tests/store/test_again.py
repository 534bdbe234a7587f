"""An imported verdict is held against what its own records give here, and a forged one cannot pass as an own test."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

import dampkit
from dampkit.store.again import REFUSED, analysed_again, differing
from dampkit.store.archive import export, import_archive
from dampkit.store.content import plain_json
from dampkit.store.look_up import find
from dampkit.store.question import Question
from dampkit.store.record import Circumstances, NewEntry, new_entry
from dampkit.store.settings import Settings
from tests.store.made import made, new_book

SAMPLES = Path(__file__).parents[2] / "sample_runs"
RUN = SAMPLES / "low_oil.csv"


def own_entry() -> NewEntry:
    """A sample run (made up) with the files beside it, as `book add` does it."""
    damper = SAMPLES / "low_oil.damper.toml"
    bench = SAMPLES / "low_oil.bench.toml"
    files = {"bench": bench if bench.exists() else None, "damper": damper if damper.exists() else None}
    run = dampkit.read_run(RUN, bench=files["bench"])
    settings = Settings(**{kind: path.read_text() for kind, path in files.items() if path})
    result = dampkit.analyse(run, damper=files["damper"])
    return new_entry(result, RUN.read_bytes(), settings, Circumstances("made-up fitter", "A-1"))


def forged(archive: Path, action: str) -> None:
    """The same archive with another verdict and every hash made to fit."""
    with zipfile.ZipFile(archive) as old:
        members = {name: old.read(name) for name in old.namelist()}
    line: dict[str, Any] = json.loads(members.pop("entries.jsonl"))
    result = json.loads(members.pop(f"results/{line['uid']}.json"))
    result["verdict"]["action"], result["faults"] = action, []
    made = NewEntry(result, own_entry().log, Settings(**line["settings"]), Circumstances("", line["said"]["serial"]))
    line["uid"] = made.uid(None)
    with zipfile.ZipFile(archive, "w") as new:
        new.writestr("entries.jsonl", plain_json(line))
        new.writestr(f"results/{line['uid']}.json", plain_json(result))
        for name, data in members.items():
            new.writestr(name, data)


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    with new_book(tmp_path / "first") as book:
        book.add(own_entry())
        export(book, find(book, Question()), tmp_path / "x.zip")
    return tmp_path / "x.zip"


def test_an_honest_archive_is_marked_and_agrees(archive: Path, tmp_path: Path) -> None:
    with new_book(tmp_path / "second") as book:
        import_archive(book, archive, "made-up fitter")
        (entry,) = find(book, Question())
        assert (entry.archive, entry.action_again, entry.differs) == ("x.zip", entry.action, False)
        assert list(differing(book)) == []


def test_a_forged_fit_is_shown_beside_what_its_log_gives(archive: Path, tmp_path: Path) -> None:
    forged(archive, "fit")
    with new_book(tmp_path / "second") as book:
        import_archive(book, archive)
        (entry,) = find(book, Question())
        assert entry.action == "fit"
        assert entry.differs
        assert entry.action_again != "fit"
        ((found, again),) = differing(book)
        assert (found.id, again.action) == (entry.id, entry.action_again)


def test_an_own_entry_has_no_archive_and_stays_own(archive: Path, tmp_path: Path) -> None:
    with new_book(tmp_path / "third") as book:
        book.add(own_entry())
        import_archive(book, archive)
        (entry,) = find(book, Question())
        assert (entry.archive, entry.action_again) == (None, None)


def test_records_that_hold_no_test_give_no_verdict() -> None:
    again = analysed_again([("../../x.csv", made().log.packed)], Settings())
    assert again.action == REFUSED
    assert again.why
    broken = analysed_again([("x.csv", RUN.read_bytes())], Settings(damper="[damper"))
    assert broken.action == REFUSED
    assert "TOML" in broken.why
