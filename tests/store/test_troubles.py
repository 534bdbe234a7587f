"""Full and read-only disks, a clock that goes back, a journal that is removed, over every kind of writing."""

from __future__ import annotations

import multiprocessing
import os
import resource
import shutil
import signal
import stat
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from dampkit.errors import BadSettings, DampkitError, UnusableBook
from dampkit.store import book as book_module
from dampkit.store import library, papers
from dampkit.store.archive import export, import_archive
from dampkit.store.book import Book, book_at
from dampkit.store.check import backup, clock_behind, complaints
from dampkit.store.content import pack
from dampkit.store.library import NewCard, add_card, card_of
from dampkit.store.look_up import count, find
from dampkit.store.place import plain_errors
from dampkit.store.question import Question
from dampkit.store.record import Beside, Note, Photo, now
from dampkit.store.schema import writing
from dampkit.store.second_check import check_of_entry, sign
from dampkit.store.works import work_on
from tests.store.made import made
from tests.store.writings import DO, WHO, WRITINGS, begin, beside, complete, make_archives, numbered, text, work

pytestmark = pytest.mark.filterwarnings(
    "ignore:.*fork:DeprecationWarning"
)  # the children use no thread of their parent

NOBODY = 65534
IN_BOOK = [kind for kind in DO if kind != "backup"]


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that another user may use as well, with a book and archives to import."""
    folder = Path(tempfile.mkdtemp(prefix="dampkit-test-"))
    folder.chmod(0o777)
    begin(folder / "book.sqlite")
    (folder / "book.sqlite").chmod(0o666)
    yield folder
    shutil.rmtree(folder)


def named(kind: str, n: int) -> str:
    return f"import-{n}" if kind == "import" else f"{kind}-0-{n}"


def until_refused(book: Book, kind: str) -> tuple[str, UnusableBook]:
    """Write until there is no room: small things fit into pages that are begun."""
    for n in range(300):
        try:
            DO[kind](book, named(kind, n))
        except UnusableBook as error:
            return named(kind, n), error
    raise AssertionError(f"{kind}: never refused")


@pytest.mark.parametrize("kind", IN_BOOK)
def test_a_full_book_is_told_by_every_kind_of_writing_and_goes_on_when_there_is_room(folder: Path, kind: str) -> None:
    if kind == "import":
        make_archives(folder, 3)
    with book_at(folder / "book.sqlite") as book:
        pages = book.connection.execute("PRAGMA page_count").fetchone()[0]
        book.connection.execute(f"PRAGMA max_page_count = {pages + 1}")
        name, error = until_refused(book, kind)
        assert "the disk is full; nothing was added" in str(error)
        assert name not in complete(book.place)[kind]
        book.connection.execute("PRAGMA max_page_count = 100000")
        DO[kind](book, name)  # the same open book, as the error says: free some space, then do the same again
        assert name in complete(book.place)[kind]


def in_child(work: Callable[[], object]) -> tuple[int, str]:
    """What another user, who is not root, is told, and the exit status that it means; 0 where all went well."""
    read, write = os.pipe()

    def run() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        if os.getuid() == 0:
            os.setuid(NOBODY)
        try:
            work()
        except DampkitError as error:
            os.write(write, "\n".join(error.lines()).encode())
            os._exit(error.exit_status)

    child = multiprocessing.get_context("fork").Process(target=run)
    child.start()
    os.close(write)
    with os.fdopen(read) as said:
        told = said.read()
    child.join()
    return child.exitcode or 0, told


@pytest.mark.parametrize("kind", IN_BOOK)
def test_a_read_only_book_is_told_by_every_kind_of_writing(folder: Path, kind: str) -> None:
    if kind == "import":
        make_archives(folder, 1)
        for archive in folder.glob("*.zip"):
            archive.chmod(0o644)  # an archive is its owner's alone
    place = folder / "book.sqlite"
    before = place.read_bytes()
    place.chmod(stat.S_IRUSR | stat.S_IRGRP | stat.S_IROTH)
    folder.chmod(0o555)

    def write() -> None:
        with book_at(place) as book:
            assert book.entry(1).id == 1  # it can be read
            DO[kind](book, named(kind, 0))

    status, told = in_child(write)
    assert (status, "read-only; nothing was added" in told, str(place) in told) == (5, True, True), told
    assert "Do: " in told
    assert place.read_bytes() == before


def test_a_system_that_refuses_more_bytes_is_told_and_the_book_stays_whole(folder: Path) -> None:
    place = folder / "book.sqlite"
    most, new = place.stat().st_size + 8192, made(os.urandom(400_000))

    def write() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        with book_at(place) as book:
            book.add(new)

    status, told = in_child(write)
    assert (status, "nothing was added" in told) == (5, True), told
    with book_at(place) as book:
        assert (count(book), complaints(book)) == (1, ())


@pytest.mark.parametrize(
    "what", [backup, lambda book, to: export(book, find(book, Question()), to)], ids=("backup", "export")
)
def test_a_disk_without_room_for_a_copy_is_told_and_leaves_nothing(
    folder: Path, what: Callable[[Book, Path], object]
) -> None:
    place, to = folder / "book.sqlite", folder / "out"
    with book_at(place) as book:
        noise = pack(os.urandom(300_000))
        photo = Photo("noise.jpg", noise.sha256, None, WHO, now())
        book.attach(1, Beside(photos=((photo, noise),)))

    def copy() -> None:
        with book_at(place) as book:
            resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
            what(book, to)

    status, told = in_child(copy)
    assert status in (BadSettings.exit_status, UnusableBook.exit_status), told
    assert str(to) in told
    assert "Do: " in told
    assert "space" in told
    assert [path.name for path in folder.iterdir()] == ["book.sqlite"]
    with book_at(place) as book:
        assert complaints(book) == ()


def test_a_clock_that_goes_back_is_told_and_changes_no_order(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with book_at(folder / "book.sqlite") as book:
        assert clock_behind(book) is None
        with monkeypatch.context() as ahead:
            for module in (book_module, library, papers):
                ahead.setattr(module, "now", lambda: "2099-01-01T00:00:00.000+00:00")
            book.put_right(1, {"customer": "first"}, why="x", who=WHO)
            work(book, "first")
            sign(book, 1, "first")
            add_card(book, NewCard("unit-type", "one", text("first"), WHO))
        assert clock_behind(book) == "2099-01-01T00:00:00.000+00:00"
        book.put_right(1, {"customer": "second"}, why="x", who=WHO)
        work(book, "second")
        sign(book, 1, "second")
        add_card(book, NewCard("unit-type", "one", text("second"), WHO))
        worked, check = work_on(book, 1), check_of_entry(book, 1)
        assert worked is not None
        assert check is not None
        assert (worked.work.notes, check.by, check.stands) == ("second", "second", True)
        assert book.standing(1)["customer"] == "second"
        assert card_of(book, "unit-type", "one").text == text("second")
        assert complaints(book) == ()


def test_an_imported_entry_from_a_clock_ahead_says_nothing_of_this_clock(folder: Path) -> None:
    with book_at(folder / "other.sqlite", create=True) as other, book_at(folder / "book.sqlite") as book:
        other.add(replace(made(), said=replace(made().said, added_at="2099-01-01T00:00:00.000+00:00")))
        assert clock_behind(other) is not None
        export(other, find(other, Question()), folder / "x.zip")
        import_archive(book, folder / "x.zip")
        assert clock_behind(book) is None


def unlink_in_the_middle(book: Book, note: Note, then: Exception | None) -> None:
    """On systems that remove open files; others refuse to."""
    with plain_errors(book.place), writing(book.connection):
        book_module.beside_within(book.connection, 1, Beside((note,)))
        book.place.with_name("book.sqlite-journal").unlink()
        if then is not None:
            raise then


def test_a_journal_removed_in_the_middle_of_writing_is_told_and_the_book_stays_whole(folder: Path) -> None:
    place, note = folder / "book.sqlite", Note("in the middle", WHO, now())
    with book_at(place) as book:
        with pytest.raises(UnusableBook, match=r"journal.* was removed") as told:
            unlink_in_the_middle(book, note, None)
        assert "nothing was added" not in str(told.value)  # all of it is there, though nobody may rely on it
        assert complaints(book) == ()
        DO["note"](book, "note-0-1")
    assert "note-0-1" in complete(place)["note"]


def test_a_journal_removed_before_an_undone_writing_harms_nothing(folder: Path) -> None:
    note = Note("in the middle", WHO, now())
    with book_at(folder / "book.sqlite") as book:
        with pytest.raises(RuntimeError, match="made to fail"):
            unlink_in_the_middle(book, note, RuntimeError("made to fail"))
        assert note not in book.notes(1)
        assert complaints(book) == ()


@pytest.mark.parametrize("kind", ["amend", "note", "card", "work", "sign", pytest.param("add", marks=pytest.mark.slow)])
def test_a_book_killed_in_the_middle_whose_journal_is_removed_is_refused_or_has_all_that_was_acknowledged(
    folder: Path, kind: str
) -> None:
    """A commit writes its pages in ascending order, so the first few of them are what a kill may leave; without the
    journal nothing can put them back. Order of writing: that of the database library, from memory.
    """
    place, torn = folder / "book.sqlite", folder / "torn.sqlite"
    with book_at(place) as book:
        for n in range(5):
            book.add(numbered(f"add-0-{n}"), beside(f"unit add-0-{n}"))
        acknowledged = complete(place)
        before = place.read_bytes()
        size = book.connection.execute("PRAGMA page_size").fetchone()[0]
        DO[kind](book, f"{kind}-1-0")
    after = place.read_bytes()
    pages = [at for at in range(0, len(after), size) if before[at : at + size] != after[at : at + size]]
    assert len(pages) > 1
    told = 0
    for written in range(1, len(pages)):
        image = bytearray(before)
        for at in pages[:written]:
            image.extend(bytes(max(0, at + size - len(image))))
            image[at : at + size] = after[at : at + size]
        torn.write_bytes(image)
        told += says_so(torn) or has(torn, acknowledged)
    assert told == len(pages) - 1


def says_so(place: Path) -> bool:
    """Opening refuses the book, or the check complains of it."""
    try:
        with book_at(place) as book:
            return complaints(book) != ()
    except UnusableBook:
        return True


def has(place: Path, acknowledged: dict[str, set[str]]) -> bool:
    with book_at(place) as book:
        return all(
            acknowledged[kind] <= {row[0] for row in book.connection.execute(one.whole)}
            for kind, one in WRITINGS.items()
        )
