"""What stands behind the pages: processes, the watched folder, the stream of changes, forms, the command itself."""

from __future__ import annotations

import asyncio
import contextlib
import io
import os
import signal
import subprocess
import sys
import tomllib
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.app.serve.drafts import MOST_KEPT, WORKS, Draft, Drafts
from dampkit.app.serve.feed import Feed
from dampkit.app.serve.forms import Form, form_of, toml_of
from dampkit.app.serve.run import Wish, names_of
from dampkit.app.serve.shortcut import shortcut
from dampkit.app.serve.watch import MEMORY, STILL_S, Watched
from dampkit.app.serve.workers import Workers
from dampkit.bench.template import Blank, kinds_of
from dampkit.errors import BadSettings, CannotAnalyse
from dampkit.outcome.published import keys
from tests.app.serve import jobs

FILES = ("bench", "damper", "vehicle", "inspection")


@contextlib.contextmanager
def closing(workers: Workers) -> Iterator[Workers]:
    try:
        yield workers
    finally:
        workers.close()


def test_work_that_never_ends_is_ended_and_the_next_is_done() -> None:
    with closing(Workers(1, seconds=2, warm=os.getpid)) as workers:
        with pytest.raises(CannotAnalyse, match="more than 2 seconds"):
            workers.begin(jobs.for_ever).result()
        assert workers.begin(jobs.plain, 1).result() == 2


def test_a_process_that_dies_takes_no_other_work_with_it() -> None:
    with closing(Workers(2, seconds=60, warm=os.getpid)) as workers:
        patient, dying = workers.begin(jobs.patient, 0.5), workers.begin(jobs.dies)
        with pytest.raises(CannotAnalyse, match="died, twice"):
            dying.result()
        assert patient.result() == 7


def test_a_process_that_was_ended_from_outside_is_replaced(tmp_path: Path) -> None:
    with closing(Workers(1, seconds=60, warm=os.getpid)) as workers:
        assert workers.begin(jobs.dies_once, str(tmp_path / "died")).result() == 7
        assert (tmp_path / "died").exists()


@pytest.mark.skipif(
    sys.platform != "linux", reason="only Linux is known to hold a process to a size of memory by this call"
)
def test_work_that_wants_all_memory_is_refused() -> None:
    with closing(Workers(1, seconds=60, warm=os.getpid)) as workers:
        with pytest.raises(CannotAnalyse, match="DAMPKIT_MOST_MEMORY_BYTES"):
            workers.begin(jobs.too_much).result()
        assert workers.begin(jobs.plain, 1).result() == 2


class Folder:
    """A watched folder with a clock that is set by hand, and how often a change was told."""

    def __init__(self, place: Path) -> None:
        self.place, self.now, self.told = place / "logs", 0.0, 0
        self.place.mkdir()
        self.drafts = Drafts(place / "work")

    def begin(self) -> Watched:
        return Watched(self.place, self.drafts, self._tell, lambda: self.now)

    def _tell(self, number: str) -> None:
        self.told += 1


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path)


def test_a_file_is_taken_once_it_has_stopped_growing(folder: Folder) -> None:
    watched = folder.begin()
    log = folder.place / "run.csv"
    for _ in range(5):  # the bench is still writing
        with log.open("a") as file:
            file.write("0,0\n" * 100)
        watched.look()
        folder.now += 0.9 * STILL_S
        assert folder.drafts.all() == ()
    folder.now += STILL_S
    watched.look()
    (draft,) = folder.drafts.all()
    assert folder.drafts.place(draft, draft.records[0]).read_bytes() == log.read_bytes()
    assert draft.records[0].label == "run.csv"
    watched.look()
    assert len(folder.drafts.all()) == 1
    assert folder.told > 0


def test_what_is_written_to_again_stays_one_piece_of_work(folder: Folder) -> None:
    watched, log = folder.begin(), folder.place / "run.csv"
    for text in ("first", "first and second"):
        log.write_text(text)
        watched.look()
        folder.now += STILL_S
        watched.look()
    (draft,) = folder.drafts.all()
    assert [folder.drafts.place(draft, record).read_text() for record in draft.records] == ["first and second"]


def test_what_was_there_before_waits_to_be_taken_up(folder: Folder) -> None:
    (folder.place / "old.csv").write_text("0,0\n")
    watched = folder.begin()
    folder.now += 10 * STILL_S
    watched.look()
    assert [(seen.name, seen.state) for seen in watched.files()] == [("old.csv", "there before")]
    assert folder.drafts.all() == ()
    assert watched.take("old.csv") == folder.drafts.all()[0].id


def taken_up(folder: Folder) -> list[str]:
    """The names of all records after a new start that has looked long enough."""
    watched = folder.begin()
    for _ in range(2):
        folder.now += STILL_S
        watched.look()
    return sorted(record.label for draft in folder.drafts.all() for record in draft.records)


def test_what_was_written_while_nobody_looked_is_taken_up_once(folder: Folder) -> None:
    """By its bytes: not what was there before, not what was taken, whatever it is called or how often it is touched."""
    (folder.place / "old.csv").write_text("0,0\n")
    assert taken_up(folder) == []
    (folder.place / "one.csv").write_text("1,1\n")
    assert taken_up(folder) == ["one.csv"]  # written after the first start had ended
    (folder.place / "one.csv").rename(folder.place / "one, renamed.csv")
    (folder.place / "copy of one.csv").write_text("1,1\n")
    os.utime(folder.place / "old.csv", (1.0, 1.0))
    assert taken_up(folder) == ["old.csv", "one.csv"]  # written anew, and never taken up before
    for draft in folder.drafts.all():
        folder.drafts.remove(draft.id)  # as where it is kept in the book
    os.utime(folder.place / "copy of one.csv", (2.0, 2.0))
    assert taken_up(folder) == []
    assert taken_up(folder) == []
    watched = folder.begin()
    assert watched.take("copy of one.csv")  # who wants it again takes it up


def test_a_stop_before_it_was_written_down_takes_nothing_twice(folder: Folder) -> None:
    folder.begin()
    (folder.place / "one.csv").write_text("1,1\n")
    held = (folder.drafts.folder / MEMORY).read_bytes()
    assert taken_up(folder) == ["one.csv"]
    (folder.drafts.folder / MEMORY).write_bytes(held)
    assert taken_up(folder) == ["one.csv"]
    (folder.drafts.folder / MEMORY).write_text("{")  # half of it
    assert taken_up(folder) == ["one.csv"]


def test_only_records_in_the_folder_itself_are_seen(folder: Folder, tmp_path: Path) -> None:
    (tmp_path / "secret.csv").write_text("secret")
    (folder.place / "deeper").mkdir()
    for name in ("notes.docx", ".hidden.csv", "deeper/x.csv"):
        (folder.place / name).write_text("x")
    with contextlib.suppress(OSError):
        (folder.place / "link.csv").symlink_to(tmp_path / "secret.csv")
    watched = folder.begin()
    assert watched.files() == ()
    assert [watched.take(name) for name in ("../secret.csv", "link.csv", "/etc/hostname", "")] == ["", "", "", ""]


def test_a_folder_that_is_away_for_a_while_loses_nothing(folder: Folder) -> None:
    (folder.place / "old.csv").write_text("0,0\n")
    watched = folder.begin()
    folder.place.rename(folder.place.with_name("away"))
    watched.look()
    assert [seen.name for seen in watched.files()] == ["old.csv"]
    folder.place.with_name("away").rename(folder.place)
    watched.look()
    assert [seen.state for seen in watched.files()] == ["there before"]


def test_every_page_that_listens_is_told() -> None:
    async def two() -> list[bytes]:
        feed = Feed()
        streams = [feed.events() for _ in range(2)]
        begun = [await anext(stream) for stream in streams]
        assert begun == [b"retry: 2000\n\n"] * 2
        waiting = [asyncio.ensure_future(anext(stream)) for stream in streams]
        await asyncio.sleep(0)
        await asyncio.to_thread(feed.tell, "folder")
        heard = await asyncio.gather(*waiting)
        for stream in streams:
            await stream.aclose()
        return list(heard)

    with ThreadPoolExecutor(1) as apart:
        assert apart.submit(asyncio.run, two()).result() == [b"data: folder\n\n"] * 2


@pytest.mark.parametrize(
    ("file", "kind"),
    [(file, kind) for file in FILES for kind in ("", *kinds_of(keys("damper" if file == "inspection" else file)))],
)
def test_every_published_example_is_typed_and_read_back(file: str, kind: str) -> None:
    """Each field of each form, filled in with the example of the published schema, is that very value in the file."""
    kinds = (kind,) if kind else ()
    blank = Blank(file, keys(file), kinds)
    by_place = {
        key.place: key
        for key in blank.wanted
        if not key.is_table and "[]" not in key.place and "<name>" not in key.place
    }
    empty = Draft("", "", "")
    shown = {field.name: field for section in _form(empty, file, kinds).sections for field in section.fields}
    typed = {
        name: shown[name].example for place in by_place if (name := ".".join(place)) in shown and shown[name].example
    }
    for name in typed:
        value: object = tomllib.loads(toml_of(empty.with_filled(file, {name: typed[name]}), file))
        for part in name.split("."):
            assert isinstance(value, dict)
            value = value[part]
        key = by_place[tuple(name.split("."))]
        assert value == key.example or [value] == key.example, name
    assert typed
    assert set(typed) <= set(shown)


def _form(draft: Draft, file: str, kinds: tuple[str, ...]) -> Form:
    return form_of(draft, file, kinds)


def test_an_empty_field_takes_a_value_out_again() -> None:
    draft = Draft("", "", "").with_base("damper", '[damper]\nserial = "A-1"  # by hand\nkind = "monotube"\n')
    assert tomllib.loads(toml_of(draft.with_filled("damper", {"damper.serial": " "}), "damper")) == {
        "damper": {"kind": "monotube"}
    }
    assert "# by hand" in toml_of(draft.with_filled("damper", {"damper.serial": "A-2"}), "damper")


def test_what_the_file_says_beyond_the_fields_stays() -> None:
    text = '[vehicle]\nname = "made-up van"\n[[road.pieces]]\nname = "lane"\n'
    draft = Draft("", "", "").with_base("vehicle", text).with_filled("vehicle", {"vehicle.name": "made-up bus"})
    assert tomllib.loads(toml_of(draft, "vehicle")) == {
        "vehicle": {"name": "made-up bus"},
        "road": {"pieces": [{"name": "lane"}]},
    }
    assert form_of(draft, "vehicle").kept == 1


def test_pieces_of_work_are_private_and_not_without_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(WORKS.variable, "2")
    drafts = Drafts(tmp_path / "work")
    made = [drafts.new(), drafts.new()]
    with pytest.raises(BadSettings, match="more than 2 pieces of work"):
        drafts.new()
    drafts.remove(made[0].id)
    drafts.new()
    if os.name != "nt":
        assert {path.stat().st_mode & 0o077 for path in [drafts.folder, *drafts.folder.rglob("*")]} == {0}


def test_of_what_is_in_the_book_little_stays_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    moments = (f"2024-05-31T12:00:00.{n:03}" for n in range(1000))
    monkeypatch.setattr("dampkit.app.serve.drafts.now", lambda: next(moments))
    drafts = Drafts(tmp_path / "work")
    kept = [drafts.new().id for _ in range(MOST_KEPT + 5)]
    for number, one in enumerate(kept):
        drafts.change(one, lambda d, entry=number + 1: replace(d, entry=entry))  # type: ignore[misc]
    open_one = drafts.change(drafts.new().id, lambda d: d)
    drafts.drop_kept()
    assert [drafts.get(one) is not None for one in kept] == [False] * 5 + [True] * MOST_KEPT
    assert drafts.all() == (open_one,)


def test_a_new_start_removes_what_a_stop_in_the_middle_left_behind(tmp_path: Path) -> None:
    drafts = Drafts(tmp_path / "work")
    kept, begun, copied = drafts.new(), drafts.new(), drafts.new()
    record = drafts.take(kept, "run.csv", io.BytesIO(b"0,0"))
    drafts.change(kept.id, lambda d: replace(d, records=(record,)))
    drafts.take(copied, "run.csv", io.BytesIO(b"0,0"))  # and stopped before it was said to be there
    damaged = drafts.new()
    (drafts.folder / damaged.id / "work.json").write_text("{")  # what cannot be read may be somebody's work
    for half in (".secret.0a.part", f"{kept.id}/.0a", f"{kept.id}/.work.json.0a.part"):
        (drafts.folder / half).write_text("half")
    assert [draft.id for draft in drafts.all()] == [kept.id]
    (drafts.aside() / "copy.sqlite").write_text("half")
    again = Drafts(drafts.folder)
    again.tidy()
    assert {place.name for place in again.folder.iterdir()} == {kept.id, damaged.id}
    assert {place.name for place in (again.folder / kept.id).iterdir()} == {"work.json", record.sha256}
    assert begun.id != copied.id


@pytest.mark.parametrize("system", ["win32", "darwin", "linux"])
def test_a_double_click_starts_the_same_page(tmp_path: Path, system: str) -> None:
    wish = Wish(8719, tmp_path / 'my "own" 100% $book.sqlite', tmp_path / "logs of the bench")
    place, text = shortcut(wish, system)
    assert place.suffix == {"win32": ".bat", "darwin": ".command", "linux": ".desktop"}[system]
    assert "serve" in text
    if system == "darwin" and os.name != "nt":
        out = subprocess.run(
            ["sh", "-c", text.replace("exec ", "printf '%s|' ", 1)], capture_output=True, text=True, check=True
        )
        assert str(wish.book) in out.stdout.split("|")
        assert str(wish.watch) in out.stdout.split("|")
    if (
        system == "linux"
    ):  # a line of the Desktop Entry Specification: %% is a percent sign, quotes and dollars escaped twice
        (line,) = [row for row in text.splitlines() if row.startswith("Exec=")]
        assert "100%% \\\\$book" in line
        assert 'my \\\\"own\\\\"' in line


def test_names_it_answers_to() -> None:
    alone = names_of(Wish(0, Path("x")), 8719)
    assert alone.here == {"127.0.0.1:8719", "localhost:8719"}
    proxied = names_of(Wish(0, Path("x"), share=True, known_as=("Bench.Example",)), 8719)
    assert proxied.known("bench.example")
    assert proxied.ours("https://bench.example")
    assert not proxied.ours("http://bench.example")
    assert not alone.ours("https://127.0.0.1:8719")
    assert proxied.here == alone.here  # from the network through the proxy alone
    assert not Wish(0, Path("x"), share=True, known_as=("bench.example",)).open_to_network
    assert Wish(0, Path("x"), share=True).open_to_network


@pytest.fixture
def running(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The command as a person starts it, and the address that it prints last."""
    command = [
        sys.executable,
        "-m",
        "dampkit",
        "serve",
        "--port",
        "0",
        "--no-browser",
        "--book",
        str(tmp_path / "b.sqlite"),
    ]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        yield process, process.stdout.readline().strip()
    finally:
        process.kill()
        process.communicate()


def test_the_command_says_where_it_is_answers_and_ends(
    running: tuple[subprocess.Popen[str], str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    process, address = running
    assert address.startswith("http://127.0.0.1:")
    with urllib.request.urlopen(address) as answer:
        assert b"At the bench" in answer.read()
    port = address.rstrip("/").rpartition(":")[2]
    assert run_command(["serve", "--port", port, "--no-browser", "--book", str(tmp_path / "x.sqlite")]) == 2
    assert f"port {port} cannot be used" in capsys.readouterr().err
    book = process.args[-1]  # type: ignore[index]
    assert run_command(["serve", "--port", "0", "--no-browser", "--book", str(book)]) == 2
    assert f"is open already at {address}" in capsys.readouterr().err
    process.send_signal(signal.SIGTERM)
    out, said = process.communicate()
    assert out == ""  # the address was the last line
    assert "work that is not in the book yet is kept" in said or os.name == "nt"


def test_a_proxy_without_a_code_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        run_command(
            ["serve", "--port", "0", "--no-browser", "--book", str(tmp_path / "b"), "--known-as", "bench.example"]
        )
        == 2
    )
    assert "without a code" in capsys.readouterr().err


def test_a_folder_that_is_none_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        run_command(
            ["serve", "--port", "0", "--no-browser", "--book", str(tmp_path / "b"), "--watch", str(tmp_path / "no")]
        )
        == 2
    )
    assert "is no folder" in capsys.readouterr().err
