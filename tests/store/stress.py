"""Killing and crowding the job book. The tests use small numbers; the full ones:

python -m tests.store.stress 200 30     200 kills while adding, 200 while migrating, eight processes for 30 s
"""

from __future__ import annotations

import multiprocessing
import os
import random
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from dampkit.errors import UnusableBook
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from dampkit.store.record import Circumstances, NewEntry, new_entry
from dampkit.store.schema import VERSION
from dampkit.store.settings import Settings
from tests.report.made_up import sound
from tests.store.make_first_book import PLACE

FORK = multiprocessing.get_context("fork")
RESULT = sound()


def numbered(name: str) -> NewEntry:
    """An analysis whose log no other name gives."""
    said = Circumstances("made-up fitter", f"unit {name}")
    return new_entry(RESULT, name.encode() * 2000, Settings(), said)


def add_without_end(place: Path, name: str, report: int) -> None:
    """Add one after another and report each, by its name, only when `add` has returned."""
    with book_at(place, create=True) as book:
        for n in range(10**6):
            book.add(numbered(f"{name}-{n}"))
            os.write(report, f"unit {name}-{n}\n".encode())


def killed(work: Callable[[Path, str, int], None], place: Path, name: str, after_s: float) -> list[str]:
    """Kill -9 the work after so long; gives what it had reported by then."""
    read, write = os.pipe()
    child = FORK.Process(target=work, args=(place, name, write))
    child.start()
    os.close(write)
    time.sleep(after_s)
    os.kill(child.pid or 0, signal.SIGKILL)
    child.join()
    with os.fdopen(read, "rb") as pipe:
        return pipe.read().decode().splitlines()


def kill_while_adding(folder: Path, kills: int, seed: int) -> tuple[int, int]:
    """Kill an adder again and again, in a new book every tenth time; gives entries reported and those found.

    Raises AssertionError where a book does not open, is not whole, or lacks an entry that was reported.
    """
    random.seed(seed)
    reported: set[str] = set()
    total = found = 0
    for kill in range(kills):
        if kill % 10 == 0:
            place, reported = folder / f"book-{kill}.sqlite", set()
        said = killed(add_without_end, place, str(kill), random.uniform(0.0, 0.15))
        reported |= set(said)
        total += len(said)
        if not place.exists():  # killed before there was a book at all
            assert not reported
            continue
        with book_at(place) as book:
            assert complaints(book) == ()
            serials = {
                row[0] for row in book.connection.execute("SELECT serial FROM unit JOIN entry ON unit_id = unit.id")
            }
        assert reported <= serials
        found += len(set(said) & serials)
    return total, found


def grown(place: Path, times: int) -> None:
    """The kept book of the first version, its entries repeated so that migrating takes a while."""
    shutil.copy(PLACE, place)
    connection = sqlite3.connect(place)
    columns = "unit_id, job_id, log_sha256, settings_sha256, corrects, file, tested_on, action, faults, version, who, added_at"
    for n in range(times):
        connection.execute(
            f"INSERT INTO entry (uid, {columns}) SELECT '{n}-' || id, {columns} FROM entry WHERE id <= 6"
        )
    connection.execute(
        "INSERT INTO result SELECT e.id, r.sha256, r.packed FROM entry e "
        "JOIN result r ON r.entry_id = CAST(substr(e.uid, instr(e.uid, '-') + 1) AS INTEGER) WHERE e.id > 6"
    )
    connection.commit()
    connection.close()


def migrate_only(place: Path, name: str, report: int) -> None:
    with book_at(place):
        os.write(report, b"migrated\n")


def rows_of_first_version(place: Path) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(place)
    rows = connection.execute("SELECT * FROM entry JOIN result ON entry_id = entry.id ORDER BY entry.id").fetchall()
    connection.close()
    return rows


def kill_while_migrating(folder: Path, kills: int, seed: int, times: int = 60) -> dict[int, int]:
    """Kill a migration at random moments; gives how often each version was found afterwards.

    Raises AssertionError where a book does not open, is not whole, or has lost or changed a row.
    """
    random.seed(seed)
    first, place, left_at = folder / "first.sqlite", folder / "killed.sqlite", dict.fromkeys(range(1, VERSION + 1), 0)
    grown(first, times)
    before = rows_of_first_version(first)
    shutil.copy(first, place)
    started = time.perf_counter()
    with book_at(place):
        whole_s = time.perf_counter() - started
    for _ in range(kills):
        shutil.copy(first, place)
        within_s = random.choice((0.02, 0.2 * whole_s, 1.2 * whole_s))  # the first steps are short, the last is long
        killed(migrate_only, place, "", random.uniform(0.0, within_s))
        raw = sqlite3.connect(place)
        left_at[raw.execute("PRAGMA user_version").fetchone()[0]] += 1
        raw.close()
        with book_at(place) as book:
            assert complaints(book) == ()
            assert book.connection.execute("SELECT count(*) FROM measure").fetchone()[0] == 8 * len(before)
        assert rows_of_first_version(place) == before
    return left_at


def add_for(place: Path, name: str, seconds: float, answers: multiprocessing.Queue[tuple[str, list[str], int]]) -> None:
    """Add own entries, and every fifth time one that all the others add as well."""
    own, fresh = [], 0
    with book_at(place, create=True) as book:
        n, end = 0, time.monotonic() + seconds
        while n < 2 or time.monotonic() < end:  # one shared entry and one of its own, however slow the machine
            what = f"common-{n // 5}" if n % 5 == 0 else f"{name}-{n}"
            added = book.add(numbered(what))
            fresh += added.fresh
            own.append(f"unit {what}")
            n += 1
    answers.put((name, own, fresh))


def crowd(place: Path, processes: int, seconds: float) -> tuple[int, int]:
    """Processes that add at once; gives entries reported as fresh, and entries in the book.

    Raises AssertionError where one is lost or doubled, or the book is not whole.
    """
    answers: multiprocessing.Queue[tuple[str, list[str], int]] = FORK.Queue()
    crew = [FORK.Process(target=add_for, args=(place, f"p{n}", seconds, answers)) for n in range(processes)]
    for one in crew:
        one.start()
    said = [answers.get(timeout=seconds + 150) for _ in crew]
    for one in crew:
        one.join()
    names = {name for _, own, _ in said for name in own}
    fresh = sum(count for _, _, count in said)
    with book_at(place) as book:
        assert complaints(book) == ()
        serials = [row[0] for row in book.connection.execute("SELECT serial FROM entry JOIN unit ON unit_id = unit.id")]
    assert len(serials) == len(set(serials)) == fresh
    assert set(serials) == names
    return fresh, len(serials)


def main(kills: int, seconds: float) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print("kills while adding:", kills, "reported, found:", kill_while_adding(folder, kills, 1))
        print("kills while migrating:", kills, "version found:", kill_while_migrating(folder, kills, 2))
        print("eight at once:", crowd(folder / "crowd.sqlite", 8, seconds), f"in {seconds:g} s")


if __name__ == "__main__":
    try:
        main(int(sys.argv[1]), float(sys.argv[2]))
    except UnusableBook as error:
        sys.exit("\n".join(error.lines()))
