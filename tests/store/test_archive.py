"""Archives: all of it comes back in another book, and a bad one adds nothing and writes nowhere."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from dampkit.errors import BadSettings
from dampkit.store.archive import export, import_archive
from dampkit.store.book import Book, book_at
from dampkit.store.check import complaints
from dampkit.store.content import pack, sha256_of
from dampkit.store.look_up import Question, count, find
from dampkit.store.record import Beside, Note, Photo
from dampkit.store.settings import Settings
from tests.report.made_up import low_oil
from tests.store.made import made, new_book

NOTE = Note("new seal", "made-up fitter", "2024-06-01T10:00:00")
PHOTO = Photo("seal.jpg", sha256_of(b"\xff\xd8"), None, "made-up fitter", "2024-06-01T10:00:00")
Members = dict[str, bytes]


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    with new_book(tmp_path / "first") as book:
        book.add(made(serial="A-1043", job="blue"))
        book.add(made(corrects=1, result=low_oil()))
        book.put_right(2, {"customer": "Ø. Made-Up", "job": "green"}, why="wrong job", who="made-up fitter")
        book.attach(2, Beside((NOTE,)))
        book.attach(2, Beside(photos=((PHOTO, pack(b"\xff\xd8")),)))
        assert export(book, find(book, Question(serial="A-1042")), tmp_path / "x.zip") == 2
    return tmp_path / "x.zip"


def everything(book: Book) -> list[object]:
    return [
        (
            replace(entry, archive=None, action_again=None),  # where it came from is each book's own
            book.facts(entry.id),
            book.result(entry.id),
            book.log(entry.id),
            book.settings(entry.id),
            book.notes(entry.id),
            book.photos(entry.id),
        )
        for entry in find(book, Question(corrected=True))
    ]


def test_an_archive_brings_everything_into_another_book(archive: Path, tmp_path: Path) -> None:
    with new_book(tmp_path / "second") as second, book_at(tmp_path / "first" / "book.sqlite") as first:
        assert [each.fresh for each in import_archive(second, archive)] == [True, True]
        assert everything(second) == everything(first)
        assert second.content(PHOTO.sha256) == b"\xff\xd8"
        assert complaints(second) == ()


def test_every_declared_file_travels(tmp_path: Path) -> None:
    settings = Settings("# b\n", "# d\n", "# v\n", "# i\n", "# c\n", "# s\n")
    with new_book(tmp_path / "first") as first, new_book(tmp_path / "second") as second:
        first.add(made(settings=settings))
        export(first, find(first, Question()), tmp_path / "x.zip")
        import_archive(second, tmp_path / "x.zip")
        assert second.settings(1) == settings
        assert complaints(second) == ()


def test_an_archive_of_the_first_form_names_three_files_and_is_taken(tmp_path: Path, archive: Path) -> None:
    with zipfile.ZipFile(archive) as whole:
        lines = [json.loads(line) for line in whole.read("entries.jsonl").splitlines()]
    assert all(list(line["settings"]) == ["bench", "damper", "vehicle"] for line in lines)
    with new_book(tmp_path / "second") as second:
        assert all(added.fresh for added in import_archive(second, archive))


def test_what_is_there_already_is_left_as_it_is(archive: Path, tmp_path: Path) -> None:
    with book_at(tmp_path / "first" / "book.sqlite") as book:
        before = everything(book)
        assert [each.fresh for each in import_archive(book, archive)] == [False, False]
        assert everything(book) == before


def test_the_same_entries_give_the_same_archive(archive: Path, tmp_path: Path) -> None:
    with book_at(tmp_path / "first" / "book.sqlite") as book:
        export(book, find(book, Question()), tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == archive.read_bytes()


def changed(archive: Path, change: Callable[[Members], object]) -> Path:
    with zipfile.ZipFile(archive) as old:
        members = {name: old.read(name) for name in old.namelist()}
    change(members)
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as new:
        for name, content in members.items():
            new.writestr(name, content)
    archive.write_bytes(data.getvalue())
    return archive


def nothing_added(tmp_path: Path, archive: Path, match: str) -> None:
    outside = sorted(tmp_path.rglob("*"))
    with new_book(tmp_path / "second") as book:
        book.add(made(b"own"))
        with pytest.raises(BadSettings, match=match):
            import_archive(book, archive)
        assert (count(book), complaints(book)) == (1, ())
    written = {path for path in tmp_path.rglob("*") if path not in outside}
    assert written <= {tmp_path / "second", tmp_path / "second" / "book.sqlite"}


@pytest.mark.parametrize(
    "name",
    ["../out.txt", "/tmp/out.txt", "content/../../out", "C:\\out.txt", "..\\out.txt", "content/", "results/x.json"],
)
def test_a_member_that_would_leave_the_folder_is_refused(tmp_path: Path, archive: Path, name: str) -> None:
    """The names of the `path traversal` family, CWE-22 of the public weakness list (from memory)."""
    bad = changed(archive, lambda members: members.update({name: b"x"}))
    nothing_added(tmp_path, bad, "no archive of a job book holds")


def spoil_log(members: Members) -> None:
    name = next(name for name in members if name.startswith("content/"))
    members[name] += b"!"


def spoil_result(members: Members) -> None:
    name = next(name for name in members if name.startswith("results/"))
    members[name] = members[name].replace(b'"fit"', b'"adjust"').replace(b'"rebuild"', b'"fit"')


def foreign_result(members: Members) -> None:
    name = next(name for name in members if name.startswith("results/"))
    members[name] = b'{"format": "something else"}'


def drop_corrected(members: Members) -> None:
    members["entries.jsonl"] = members["entries.jsonl"].splitlines()[1]


def other_serial(members: Members) -> None:
    lines = [json.loads(line) for line in members["entries.jsonl"].splitlines()]
    lines[-1]["said"]["serial"] = "stolen"
    members["entries.jsonl"] = b"\n".join(json.dumps(line).encode() for line in lines)


WRONG: list[Any] = [None, [], {}, 1.5, True, 10**30, "2024-13-45", "zzz"]
PLACES = [
    ("uid",), ("corrects",), ("log",), ("said",), ("said", "who"), ("said", "tested_on"), ("said", "added_at"),
    ("said", "serial"), ("settings",), ("notes",), ("notes", 0), ("notes", 0, "text"), ("notes", 0, "added_at"),
    ("photos", 0, "name"), ("photos", 0, "sha256"), ("photos", 0, "path"), ("photos", 0, "who"),
]  # fmt: skip
FINE = {"who": "zzz", "text": "zzz", "name": "zzz", "path": "zzz"}  # any text will do, also one that looks like a date


@pytest.mark.parametrize("place", PLACES, ids=lambda place: " ".join(map(str, place)))
def test_a_line_of_another_form_adds_nothing_and_never_crashes(
    tmp_path: Path, archive: Path, place: tuple[Any, ...]
) -> None:
    """The hashes do not cover who, when, notes and photos, so their form is checked."""
    whole = archive.read_bytes()
    for wrong in WRONG:
        if isinstance(wrong, str) and place[-1] in FINE:
            continue
        if place in (("notes",), ("corrects",), ("photos", 0, "path")) and wrong in (None, []):
            continue  # no notes, no correction, kept in the book: other archives, as good as this one

        def spoil(members: Members, wrong: Any = wrong) -> None:
            lines = [json.loads(line) for line in members["entries.jsonl"].splitlines()]
            inside = lines[-1]
            for part in place[:-1]:
                inside = inside[part]
            inside[place[-1]] = wrong
            members["entries.jsonl"] = b"\n".join(json.dumps(line).encode() for line in lines)

        archive.write_bytes(whole)
        with new_book(tmp_path / f"second-{WRONG.index(wrong)}") as book:
            with pytest.raises(BadSettings, match="not a whole archive") as caught:
                import_archive(book, changed(archive, spoil))
            assert count(book) == 0
        assert all("\n" not in line for line in caught.value.lines())


@pytest.mark.parametrize(
    "spoil",
    [spoil_log, spoil_result, foreign_result, drop_corrected, other_serial, Members.clear],
    ids=lambda f: f.__name__,
)
def test_an_archive_that_does_not_fit_its_hashes_adds_nothing(
    tmp_path: Path, archive: Path, spoil: Callable[[Members], object]
) -> None:
    nothing_added(tmp_path, changed(archive, spoil), "not a whole archive")


def test_an_archive_cut_short_or_foreign_adds_nothing(tmp_path: Path, archive: Path) -> None:
    whole = archive.read_bytes()
    for content in (whole[: len(whole) // 2], b"t;x;F\n", b""):
        archive.write_bytes(content)
        nothing_added(tmp_path, archive, "not a whole archive")


def test_a_member_that_would_fill_the_disk_is_refused(
    tmp_path: Path, archive: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DAMPKIT_MOST_UNPACKED_BYTES", "1000")
    nothing_added(tmp_path, archive, "would unpack to")


def test_an_archive_that_lists_nothing_is_refused(tmp_path: Path) -> None:
    place = tmp_path / "empty.zip"
    with zipfile.ZipFile(place, "w") as archive:
        archive.writestr("entries.jsonl", b"")
    with new_book(tmp_path / "book") as book, pytest.raises(BadSettings, match="lists no entry"):
        import_archive(book, place)
