"""Kill -9 and crowds at the page. The tests use small numbers; the full ones:

python -m tests.app.serve.stress kill 100     the server or one of its processes, at random moments of the whole way
python -m tests.app.serve.stress load 8 60    so many clients that send long logs for so many seconds
"""

from __future__ import annotations

import random
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import psutil

from dampkit.app.serve.drafts import Drafts
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from dampkit.store.content import sha256_of
from tests.app.serve.desk import SAMPLES, Files, Tablet, words

DECLARED = ("bench", "damper", "vehicle")
PNG = b"\x89PNG\r\n\x1a\n"
PATIENCE_S = 300.0
IN_ONE_BOOK = 10  # kills
MECHANICS = 3  # at once
LONGEST_S = 4.0  # from the server's start to a kill: the way takes about two


@dataclass
class Server:
    """A server as a person starts it."""

    process: subprocess.Popen[str]
    address: str

    def workers(self) -> list[psutil.Process]:
        """The processes that analyse; not the one that only looks after what they share."""
        with suppress(psutil.NoSuchProcess):
            return [c for c in psutil.Process(self.process.pid).children() if "spawn_main" in " ".join(c.cmdline())]
        return []


@contextmanager
def served(book: Path) -> Iterator[Server]:
    command = [sys.executable, "-m", "dampkit", "serve", "--port", "0", "--no-browser", "--book", str(book)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert process.stdout is not None
    try:
        yield Server(process, process.stdout.readline().strip().rstrip("/"))
    finally:
        process.kill()
        process.communicate()


@dataclass
class Told:
    """What the server has answered as done, by the piece of work or the number of the entry."""

    begun: dict[str, bytes] = field(default_factory=dict)
    filled: dict[str, str] = field(default_factory=dict)
    kept: dict[int, tuple[bytes, str]] = field(default_factory=dict)


def record_of(name: str) -> bytes:
    """A record that no other name gives, quick to analyse."""
    return (SAMPLES / "drawing_table.csv").read_bytes() + f"# {name}\n".encode()


def photo_of(name: str) -> bytes:
    return PNG + name.encode()


def whole_way(tablet: Tablet, name: str, told: Told) -> None:
    """One test from its record to the book, and what was answered as done."""
    tablet.get("/")
    record = record_of(name)
    answer = tablet.post("/begin", {}, [("records", (f"{name}.csv", record))])
    work = _part(r"^(/draft/\w+)/record", answer)
    told.begun[work.rpartition("/")[2]] = record
    finish(tablet, work, name, told)


def finish(tablet: Tablet, work: str, name: str, told: Told) -> None:
    """From a piece of work that has its record to the book."""
    number = work.rpartition("/")[2]
    tablet.get(f"{work}/unit")
    tablet.post(f"{work}/unit", {"damper.serial": name, "go": "on"})
    told.filled[number] = name
    assert 'id="verdict"' in tablet.get(f"{work}/verdict").text
    tablet.get(f"{work}/keep")
    said = {"go": "keep", "serial": name, "job": f"job {name}"}
    kept = tablet.post(f"{work}/keep", said, [("photos", ("seal.png", photo_of(name)))])
    told.kept[int(_part(r"^/book/(\d+)", kept))] = told.begun[number], name
    told.begun.pop(number), told.filled.pop(number)


def _part(pattern: str, answer: httpx.Response) -> str:
    found = re.match(pattern, answer.headers.get("location", ""))
    assert found is not None, (answer.status_code, words(answer)[:500])
    return found[1]


def kill_at_random(folder: Path, kills: int, seed: int) -> dict[str, int]:
    """Kill server or worker at random moments while mechanics work; gives counts of what was told and found.

    Raises AssertionError where anything that was answered as done is lost or doubled, where work that was interrupted
    cannot be finished, or where anything is left behind.
    """
    chance = random.Random(seed)
    counts = {"servers": 0, "workers": 0, "begun": 0, "kept": 0}
    for kill in range(kills):
        if kill % IN_ONE_BOOK == 0:
            book, told = folder / f"book-{kill}.sqlite", Told()
        before = len(told.kept)
        of_worker = chance.random() < 0.4
        with served(book) as server:
            _resume(server, told)
            _look_over(book, told)
            _interrupted(server, told, f"{kill}", (chance.uniform(0.0, LONGEST_S), of_worker))
        counts["workers" if of_worker else "servers"] += 1
        counts["begun"] += len(told.begun)
        counts["kept"] += len(told.kept) - before
    return counts


def _interrupted(server: Server, told: Told, name: str, when: tuple[float, bool]) -> None:
    """Mechanics at work, and a kill in the middle; they get to the end where only a worker was killed."""
    after_s, of_worker = when
    failed: list[BaseException] = []
    over = threading.Event()

    def mechanic(at: int) -> None:
        try:
            with Tablet(server.address) as tablet:
                for n in range(10**6):
                    whole_way(tablet, f"U-{name}-{at}-{n}", told)
                    if over.is_set():
                        return
        except httpx.TransportError as error:
            if of_worker:
                failed.append(error)
        except BaseException as error:
            failed.append(error)

    crew = [threading.Thread(target=mechanic, args=(at,)) for at in range(MECHANICS)]
    for one in crew:
        one.start()
    time.sleep(after_s)
    workers = server.workers()
    if of_worker:
        with suppress(psutil.NoSuchProcess):
            for worker in workers[:1]:
                worker.kill()
        over.set()
    else:
        server.process.kill()
    for one in crew:
        one.join(PATIENCE_S)
        assert not one.is_alive(), "a mechanic waits for ever"
    if failed:
        raise failed[0]
    if not of_worker:
        _, alive = psutil.wait_procs(workers, PATIENCE_S)
        assert not alive, "a worker outlives its server"


def _resume(server: Server, told: Told) -> None:
    """Everything that was begun is there after a new start, as it was typed, and can be finished."""
    with Tablet(server.address) as tablet:
        for number, record in list(told.begun.items()):
            unit = tablet.get(f"/draft/{number}/unit")
            assert unit.status_code == 200, words(unit)[:500]
            name = record.decode().rsplit("# ", 1)[1].strip()
            if number in told.filled:
                assert f'value="{told.filled[number]}"' in unit.text
            finish(tablet, f"/draft/{number}", name, told)


def _look_over(book: Path, told: Told) -> None:
    """The book holds each entry that was told, once, whole; beside it lies nothing that belongs to nothing."""
    drafts = Drafts(book.with_name(f"{book.name}.work"))
    for place in drafts.folder.iterdir():
        assert place.name in ("secret", "open") or drafts.get(place.name) is not None, f"left behind: {place}"
        assert not [left for left in place.glob(".*")], f"left behind in {place}"
    if not book.exists():
        assert not told.kept
        return
    with book_at(book) as opened:
        assert complaints(opened) == ()
        serials = [
            row[0] for row in opened.connection.execute("SELECT serial FROM entry JOIN unit ON unit_id = unit.id")
        ]
        assert len(serials) == len(set(serials)), "an entry is doubled"
        for number, (record, name) in told.kept.items():
            assert opened.entry(number).serial == name
            assert opened.log(number) == record
            assert opened.standing(number)["job"] == f"job {name}"
            assert [photo.sha256 for photo in opened.photos(number)] == [sha256_of(photo_of(name))]


class Timed(Tablet):
    """How long each answer took, by what was asked."""

    def __init__(self, address: str, took_s: dict[str, list[float]]) -> None:
        super().__init__(address)
        self.took_s = took_s

    def ask(self, method: str, path: str, **how: Any) -> httpx.Response:
        begun = time.perf_counter()
        answer = super().ask(method, path, **how)
        assert answer.status_code < 400, (path, words(answer)[:500])
        name = re.sub(r"/[0-9a-f]{32}|/\d+", "/x", path.partition("?")[0])
        self.took_s.setdefault(f"{method} {name}", []).append(time.perf_counter() - begun)
        return answer


def long_record(rows: int) -> bytes:
    """A sample run with its rows drawn out to so many; only how much there is of it matters here."""
    above, heads, *lines = (SAMPLES / "low_oil.csv").read_text(encoding="utf-8").splitlines()
    table = np.loadtxt(lines, delimiter=",")
    at = np.linspace(0, len(table) - 1, rows)
    drawn = np.column_stack([np.interp(at, np.arange(len(table)), column) for column in table.T])
    text = "\n".join(",".join(f"{value:.5g}" if i else f"{value:.5f}" for i, value in enumerate(row)) for row in drawn)
    return f"{above}\n{heads}\n{text}\n".encode()


@dataclass
class Load:
    """Seconds by what was asked; entries by their number with the hash of their record; megabytes."""

    took_s: dict[str, list[float]] = field(default_factory=dict)
    kept: dict[int, str] = field(default_factory=dict)
    server_mb: list[float] = field(default_factory=list)
    workers_mb: list[float] = field(default_factory=list)

    def pages_s(self) -> list[float]:
        return sorted(took for name, all_took in self.took_s.items() if name.startswith("GET") for took in all_took)


def under_load(book: Path, clients: int, seconds: float, rows: int = 68_000) -> Load:
    """Clients that send long logs and keep what comes of them, and one that reads. Raises AssertionError where one is lost."""
    load, record = Load(), long_record(rows)
    texts = [("records", (f"{kind}.toml", (SAMPLES / f"low_oil.{kind}.toml").read_bytes())) for kind in DECLARED]
    failed: list[BaseException] = []
    with served(book) as server:
        end, over = time.monotonic() + seconds, threading.Event()

        def send(at: int) -> None:
            n = 0
            while n == 0 or time.monotonic() < end:
                name, n = f"U-{at}-{n}", n + 1
                mine = record + f"# {name}\n".encode()
                with Timed(server.address, load.took_s) as tablet:
                    number = _sent_and_kept(tablet, name, [*texts, ("records", (f"{name}.csv", mine))])
                load.kept[number] = sha256_of(mine)

        def read() -> None:
            while not over.is_set():
                with Timed(server.address, load.took_s) as tablet:
                    for page in ("/", "/book", "/library", "/figures", *(f"/book/{n}" for n in [*load.kept][-1:])):
                        tablet.get(page)
                        over.wait(0.5)
                load.server_mb.append(_megabytes(psutil.Process(server.process.pid)))
                load.workers_mb.append(sum(map(_megabytes, server.workers())))

        _all_of([*(partial(send, at) for at in range(clients))], read, over, failed)
        if failed:
            raise failed[0]
    with book_at(book) as opened:
        assert complaints(opened) == ()
        assert {number: opened.entry(number).log_sha256 for number in load.kept} == load.kept
    return load


def _sent_and_kept(tablet: Tablet, name: str, files: Files) -> int:
    """The number of the entry."""
    tablet.get("/")
    work = _part(r"^(/draft/\w+)/record", tablet.post("/begin", {}, files))
    tablet.get(f"{work}/record")
    assert 'id="verdict"' in tablet.get(f"{work}/verdict").text
    tablet.get(f"{work}/keep")
    return int(_part(r"^/book/(\d+)", tablet.post(f"{work}/keep", {"go": "keep", "job": name})))


def _all_of(
    senders: Sequence[Callable[[], None]],
    reader: Callable[[], None],
    over: threading.Event,
    failed: list[BaseException],
) -> None:
    def caught(work: Callable[[], None]) -> None:
        try:
            work()
        except BaseException as error:
            failed.append(error)

    crew = [threading.Thread(target=caught, args=(work,)) for work in (*senders, reader)]
    for one in crew:
        one.start()
    for one in crew[:-1]:
        one.join()
    over.set()
    crew[-1].join()


def _megabytes(process: psutil.Process) -> float:
    with suppress(psutil.NoSuchProcess):
        return float(process.memory_info().rss) / 2**20
    return 0.0


def _say(load: Load) -> None:
    for name, took in sorted(load.took_s.items()):
        print(
            f"{name:40} {len(took):6} times, {_centile(took, 50)} half, {_centile(took, 95)} 95 %, {max(took):.3f} s longest"
        )
    pages = load.pages_s()
    print(f"{len(load.kept)} logs answered and kept; pages: {len(pages)}, 95 % within {_centile(pages, 95)}")
    print(
        f"server {load.server_mb[0]:.0f} to {max(load.server_mb):.0f} MB, its processes at most {max(load.workers_mb):.0f} MB"
    )


def _centile(took_s: Sequence[float], share: int) -> str:
    return f"{np.percentile(took_s, share):.3f} s"


def main(words: list[str]) -> None:
    with tempfile.TemporaryDirectory() as name:
        if words[0] == "kill":
            print(kill_at_random(Path(name), int(words[1]), seed=1))
        else:
            _say(under_load(Path(name) / "book.sqlite", int(words[1]), float(words[2])))


if __name__ == "__main__":
    main(sys.argv[1:])
