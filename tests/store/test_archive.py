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
from dampkit.report.page import render
from dampkit.store.archive import export, import_archive
from dampkit.store.benches import add_calibration, add_check, bench_state
from dampkit.store.book import Book, book_at
from dampkit.store.check import complaints
from dampkit.store.content import pack, sha256_of
from dampkit.store.entry_sheets import write_entry_sheets
from dampkit.store.grown import passed_of
from dampkit.store.history_page import render_history
from dampkit.store.library import NewCard, add_card, card_of, cards, drawings_of, history_of
from dampkit.store.look_up import count, find, history
from dampkit.store.papers import Paper, papers_of
from dampkit.store.question import Question, Which
from dampkit.store.record import Beside, Note, Photo
from dampkit.store.second_check import as_it_stands, check_of_entry, sign
from dampkit.store.settings import Settings
from dampkit.store.statistics import shop
from dampkit.store.works import STRIP_DOWN, add_work
from tests.report.made_up import low_oil
from tests.store.made import made, new_book
from tests.store.test_benches import check, sheet

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
        sign(book, 2, "made-up foreman")
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


WORK = Paper(STRIP_DOWN, '[work]\nparts = ["rod seal"]\n', "2024-06-02", "made-up fitter")
TYPE = '[damper]\nkind = "twin-tube"\nrod_diameter_mm = 12.4\n'


@pytest.fixture
def standing(tmp_path: Path) -> Path:
    """An archive of one entry that stands on cards, a calibrated bench, a work sheet and a second check."""
    with new_book(tmp_path / "first") as book:
        add_card(book, NewCard("unit-type", "12-34", TYPE, "made-up fitter"))
        add_card(book, NewCard("unit-type", "12-34", f"# again\n{TYPE}", "x", "y", (("shims.png", pack(b"drawn")),)))
        add_card(book, NewCard("bench", "bench 1", "# made up\n", "made-up fitter"))
        add_calibration(book, "bench 1", sheet(), "made-up fitter")
        add_check(book, "bench 1", check("2025-06-01", 1.0))
        new = made()
        facts = {"unit_type": "12-34", "bench": "bench 1"}
        number = book.add(replace(new, said=replace(new.said, facts=facts))).entry
        add_work(book, number, WORK, Beside(photos=((PHOTO, pack(b"\xff\xd8")),)))
        sign(book, number, "made-up foreman", "serial read again")
        export(book, find(book, Question()), tmp_path / "x.zip")
    return tmp_path / "x.zip"


def test_what_an_entry_stands_on_comes_with_it_and_is_marked_as_imported(standing: Path, tmp_path: Path) -> None:
    own = "[damper]\nrod_diameter_mm = 11.0\n"
    with new_book(tmp_path / "second") as book, book_at(tmp_path / "first" / "book.sqlite") as first:
        add_card(book, NewCard("unit-type", "12-34", own, "me"))
        (added,) = import_archive(book, standing)
        assert [replace(paper, archive=None) for paper in papers_of(book, added.entry)] == list(papers_of(first, 1))
        assert {paper.archive for paper in papers_of(book, added.entry)} == {"x.zip"}
        assert [photo.name for photo in book.photos(added.entry)] == ["seal.jpg"]
        assert card_of(book, "unit-type", "12-34").text == own  # a foreign card is no version of ours
        foreign = history_of(book, "unit-type", "12-34 (from x.zip)")
        there = history_of(first, "unit-type", "12-34")
        assert [replace(card, name="12-34", archive=None) for card in foreign] == list(there)
        ((name, sha256),) = drawings_of(book, foreign[-1])
        assert (name, book.content(sha256)) == ("shims.png", b"drawn")
        assert bench_state(book, "bench 1", "2025-06-01").calibration is None  # nor does our bench become calibrated
        assert bench_state(book, "bench 1 (from x.zip)", "2025-06-01").quality() == ()
        signed = check_of_entry(book, added.entry)
        assert signed is not None
        assert (signed.by, signed.stands, signed.imported) == ("made-up foreman", True, True)
        assert complaints(book) == ()


def test_importing_again_or_at_home_adds_nothing(standing: Path, tmp_path: Path) -> None:
    tables = ("entry", "paper", "card", "drawing", "photo", "fact")
    for folder in ("first", "second"):
        with new_book(tmp_path / folder) as book:
            import_archive(book, standing)
            asked = [f"SELECT count(*) FROM {table}" for table in tables]
            before = [book.connection.execute(one).fetchone() for one in asked]
            import_archive(book, standing)
            assert [book.connection.execute(one).fetchone() for one in asked] == before
            assert {row[0] for row in book.connection.execute("SELECT archive FROM paper")} == (
                {None} if folder == "first" else {"x.zip"}
            )


def test_what_came_in_goes_on_to_a_third_book(standing: Path, tmp_path: Path) -> None:
    with new_book(tmp_path / "second") as second, new_book(tmp_path / "third") as third:
        add_card(second, NewCard("unit-type", "12-34", "[damper]\nrod_diameter_mm = 11.0\n", "me"))
        import_archive(second, standing)
        export(second, find(second, Question()), tmp_path / "y.zip")
        import_archive(third, tmp_path / "y.zip")
        assert [card.name for card in cards(third, "unit-type")] == ["12-34 (from x.zip) (from y.zip)"]
        assert card_of(third, "unit-type", "12-34 (from x.zip) (from y.zip)").text == f"# again\n{TYPE}"


def test_a_forged_fit_cannot_pass_as_a_test_of_ours(standing: Path, tmp_path: Path) -> None:
    """The log of another unit, or none at all, under a result that says fit, all hashes made to fit."""
    with new_book(tmp_path / "second") as book:
        (added,) = import_archive(book, standing)
        entry = book.entry(added.entry)
        assert (entry.action, entry.differs) == ("fit", True)
        with pytest.raises(BadSettings, match="came in as fit, and its records give here: not analysed"):
            write_entry_sheets(book, added.entry, tmp_path / "sheets.html")
        page = render(as_it_stands(book, added.entry))
        assert "taken over from x.zip; its records give here: not analysed" in page
        assert "made-up foreman, not here" in page
        assert passed_of(book, "12-34") == ()
        assert shop(book, Which()).tests == 0
        assert "fit (imported; its records give here: not analysed)" in render_history(
            "A-1042", history(book, "A-1042")
        )
        assert not (tmp_path / "sheets.html").exists()


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


def spoil_second_check(members: Members) -> None:
    lines = [json.loads(line) for line in members["entries.jsonl"].splitlines()]
    lines[-1]["papers"][0]["text"] = '{"by": "x"}'
    members["entries.jsonl"] = b"\n".join(json.dumps(line).encode() for line in lines)


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
    ("papers",), ("papers", 0, "kind"), ("papers", 0, "text"), ("papers", 0, "done_on"), ("papers", 0, "who"),
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
        if place in (("notes",), ("papers",), ("corrects",), ("photos", 0, "path")) and wrong in (None, []):
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
    [spoil_log, spoil_result, spoil_second_check, foreign_result, drop_corrected, other_serial, Members.clear],
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
