"""Killing and crowding the job book. The tests use small numbers; the full ones:

python -m tests.store.stress 300 60     300 kills while writing, 300 while migrating, eight processes for 60 s
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
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

from dampkit.errors import UnusableBook
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from dampkit.store.schema import VERSION, migrate
from tests.store.make_first_book import PLACE
from tests.store.writings import DO, begin, beside, complete, make_archives, numbered, version_found

FORK = multiprocessing.get_context("fork")
FEW = 2  # archives of a process


def write_without_end(place: Path, tag: str, report: int) -> None:
    """One writing after another, each kind in its turn from a random one on, and each reported when it has returned.

    `tag` says which archives are this process's own to import: the FEW from there on.
    """
    begin(place)
    with book_at(place) as book:
        for n, (kind, name) in enumerate(turns(tag)):
            DO[kind](book, name)
            os.write(report, f"{kind} {name}\n".encode())
            assert n < 10**6


def turns(tag: str) -> Iterator[tuple[str, str]]:
    """Kinds of writing without end, with a name for each that no other tag gives."""
    kinds, first = list(DO), random.Random(tag).randrange(len(DO))
    for n in count(first):
        kind, archive = kinds[n % len(kinds)], n // len(kinds)
        if kind != "import":
            yield kind, f"{kind}-{tag}-{n}"
        elif archive < FEW:
            yield kind, f"import-{FEW * int(tag) + archive}"


def killed(
    work: Callable[[Path, str, int], None], place: Path, name: str, after_s: float, *, begun: bool = False
) -> list[str]:
    """Kill -9 the work after so long, counted from its first report if `begun`; gives what it had reported by then."""
    read, write = os.pipe()
    child = FORK.Process(target=work, args=(place, name, write))
    child.start()
    os.close(write)
    first = os.read(read, 1) if begun else b""
    time.sleep(after_s)
    os.kill(child.pid or 0, signal.SIGKILL)
    child.join()
    with os.fdopen(read, "rb") as pipe:
        return (first + pipe.read()).decode().splitlines()


def kill_while_writing(folder: Path, kills: int, seed: int) -> dict[str, int]:
    """Kill a writer again and again, in a new book every tenth time; gives how many of each kind were reported.

    Every other one once it has written something, however slow the machine is; the others from its very start.

    Raises AssertionError where a book does not open, is not whole, lacks what was reported, or has half of anything.
    """
    random.seed(seed)
    make_archives(folder, FEW * min(kills, 10))
    total: Counter[str] = Counter()
    for kill in range(kills):
        if kill % 10 == 0:
            place, reported = folder / f"book-{kill}.sqlite", set[str]()
        said = killed(write_without_end, place, str(kill % 10), random.uniform(0.0, 0.4), begun=kill % 2 == 1)
        reported |= set(said)
        total.update(line.split()[0] for line in said)
        if not place.exists():  # killed before there was a book at all
            assert not reported
            continue
        there = complete(place)
        assert reported <= {f"{kind} {name}" for kind, names in there.items() for name in names}
        reported -= {f"backup {name}" for name in there["backup"]}  # looked at, and removed
    return dict(total)


def grown(place: Path, times: int, version: int) -> None:
    """The kept book of the first version brought to another, its entries repeated so that migrating takes a while."""
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
    connection.isolation_level = None
    migrate(connection, version)
    connection.close()


def migrate_only(place: Path, name: str, report: int) -> None:
    with book_at(place):
        os.write(report, b"migrated\n")


def rows_of_first_version(place: Path) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(place)
    rows = connection.execute("SELECT * FROM entry JOIN result ON entry_id = entry.id ORDER BY entry.id").fetchall()
    connection.close()
    return rows


def kill_while_migrating(folder: Path, kills: int, seed: int, times: int = 20) -> dict[int, int]:
    """Kill migrations from every earlier version at random moments; gives how often each version was found afterwards.

    Raises AssertionError where a book does not open, is not whole, or has lost or changed a row.
    """
    random.seed(seed)
    place, left_at = folder / "killed.sqlite", dict.fromkeys(range(1, VERSION + 1), 0)
    earlier = [folder / f"version-{version}.sqlite" for version in range(1, VERSION)]
    whole_s = []
    for version, one in enumerate(earlier, 1):
        grown(one, times, version)
        shutil.copy(one, place)
        started = time.perf_counter()
        with book_at(place):
            whole_s.append(time.perf_counter() - started)
    before = rows_of_first_version(earlier[0])
    for kill in range(kills):
        version = kill % len(earlier)
        shutil.copy(earlier[version], place)
        killed(migrate_only, place, "", random.uniform(0.0, 1.2 * whole_s[version] + 0.01))
        left_at[version_found(place)] += 1
        with book_at(place) as book:
            assert complaints(book) == ()
            assert book.connection.execute("SELECT count(*) FROM measure").fetchone()[0] == 8 * len(before)
        assert rows_of_first_version(place) == before
    return left_at


def write_for(place: Path, tag: str, seconds: float, answers: multiprocessing.Queue[tuple[set[str], int]]) -> None:
    """Every kind of writing in turn, and in between entries that all the others add as well."""
    own, fresh = set(), 0
    with book_at(place) as book:
        end = time.monotonic() + seconds
        for n, (kind, name) in enumerate(turns(tag)):
            fresh += book.add(numbered(f"add-common-{n}"), beside(f"unit add-common-{n}")).fresh
            DO[kind](book, name)
            own |= {f"{kind} {name}", f"add add-common-{n}"}
            fresh += {"add": 1, "import": 2}.get(kind, 0)
            if n + 1 >= len(DO) and time.monotonic() >= end:  # each kind once, however slow the machine
                break
    answers.put((own, fresh))


def crowd(place: Path, processes: int, seconds: float) -> int:
    """Processes that write at once; gives how many writings were reported.

    Raises AssertionError where one is lost, halved or doubled, or the book is not whole.
    """
    begin(place)
    make_archives(place.parent, FEW * processes)
    answers: multiprocessing.Queue[tuple[set[str], int]] = FORK.Queue()
    crew = [FORK.Process(target=write_for, args=(place, str(n), seconds, answers)) for n in range(processes)]
    for one in crew:
        one.start()
    said = [answers.get(timeout=seconds + 300) for _ in crew]
    for one in crew:
        one.join()
    reported = {line for own, _ in said for line in own}
    there = complete(place)
    assert reported == {f"{kind} {name}" for kind, names in there.items() for name in names}
    with book_at(place) as book:
        entries = [row[0] for row in book.connection.execute("SELECT serial FROM entry JOIN unit ON unit_id = unit.id")]
        versions = book.connection.execute("SELECT max(version), count(*) FROM card WHERE name = 'one'").fetchone()
    assert len(entries) == len(set(entries)) == 1 + sum(fresh for _, fresh in said)
    assert versions[0] == versions[1]
    return len(reported)


def main(kills: int, seconds: float) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print("kills while writing:", kills, "reported:", kill_while_writing(folder, kills, 1))
        print("kills while migrating:", kills, "version found:", kill_while_migrating(folder, kills, 2))
        print("eight at once:", crowd(folder / "crowd" / "book.sqlite", 8, seconds), f"writings in {seconds:g} s")


if __name__ == "__main__":
    try:
        main(int(sys.argv[1]), float(sys.argv[2]))
    except UnusableBook as error:
        sys.exit("\n".join(error.lines()))
