"""How quick a large job book answers: python -m tests.benchmarks.batch_book 100000

Fills a book with made-up entries (one of two made-up results and a log of a few bytes each), then asks it.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict
from datetime import date, timedelta
from pathlib import Path
from statistics import median

from dampkit.store.bench_page import render_bench
from dampkit.store.benches import DAILY, add_calibration, bench_state, checks_of
from dampkit.store.book import Book, add_within, beside_within, book_at
from dampkit.store.check import clock_behind
from dampkit.store.content import plain_json
from dampkit.store.entry_sheets import earlier_of
from dampkit.store.grown import passed_of
from dampkit.store.history_page import render_history
from dampkit.store.library import NewCard, card_within, cards, history_of
from dampkit.store.look_up import count, find, history, near, of_another_unit
from dampkit.store.papers import Paper, paper_within
from dampkit.store.place import opened
from dampkit.store.question import Question, Which
from dampkit.store.record import Beside, Circumstances, NewEntry, Note, new_entry, now
from dampkit.store.schema import writing
from dampkit.store.second_check import as_it_stands
from dampkit.store.settings import Settings
from dampkit.store.statistics import shop, unit_types
from dampkit.store.statistics_page import render_statistics
from dampkit.store.work_page import render_work
from dampkit.store.works import STRIP_DOWN, before_after, passed_build
from tests.report.made_up import low_oil, sound
from tests.store.test_benches import check, sheet

LIMIT_S = 0.1  # of the processor
TESTS_A_UNIT = 10
RESULTS = [sound(), low_oil()]
SETTINGS = Settings(damper="# made up\n")


def entry(n: int, runs: int) -> NewEntry:
    day = date(2000, 1, 1) + timedelta(days=n * 8000 // runs)
    unit, facts = n * 7919 % (runs // TESTS_A_UNIT), {"customer": f"customer {n // 8}", "unit_type": f"type {n % 500}"}
    said = Circumstances("made-up fitter", f"U-{unit}", f"job {n // 4}", day.isoformat(), facts=facts)
    return new_entry(RESULTS[n % 7 == 0], b"log %d" % n, SETTINGS, said)


COPIES = (
    "INSERT INTO unit SELECT id + :k * :units, serial || '.' || :k FROM unit WHERE id <= :units",
    "INSERT INTO job SELECT id + :k * :jobs, name || '.' || :k FROM job WHERE id <= :jobs",
    "INSERT INTO content SELECT hex(randomblob(32)), size_bytes, packed FROM content WHERE rowid <= :first",
    """INSERT INTO entry SELECT id + :k * :first, uid || '.' || :k, unit_id + :k * :units, job_id + :k * :jobs,
        (SELECT sha256 FROM content AS c WHERE c.rowid = entry.id + :k * :first), settings_sha256,
        corrects + :k * :first, file, date(tested_on, '+' || :k || ' days'), action, faults, version, who, added_at
        FROM entry WHERE id <= :first""",
    "INSERT INTO result SELECT entry_id + :k * :first, sha256, packed FROM result WHERE entry_id <= :first",
    """INSERT INTO stands SELECT entry_id + :k * :first, unit_id + :k * :units, job_id + :k * :jobs,
        date(tested_on, '+' || :k || ' days'), customer || '.' || :k, unit_type, action, faults,
        later, date(later_on, '+' || :k || ' days'), after_work FROM stands WHERE entry_id <= :first""",
    "INSERT INTO measure SELECT entry_id + :k * :first, name, value, low, high FROM measure WHERE entry_id <= :first",
    """INSERT INTO fact SELECT NULL, entry_id + :k * :first, name, value, why, who, added_at
        FROM fact WHERE entry_id <= :first""",
    """INSERT INTO note SELECT NULL, entry_id + :k * :first, text || ' ' || :k, who, added_at
        FROM note WHERE entry_id <= :first""",
    """INSERT INTO paper SELECT NULL, kind, entry_id + :k * :first, NULL, text, done_on, who, added_at, NULL
        FROM paper WHERE entry_id <= :first""",
)
TYPE = '[damper]\nkind = "twin-tube"\nrod_diameter_mm = 12.4\n'
WORK = '[work]\nparts = ["rod seal"]\n[work.as_built.rebound]\nclicks = 8\n'
DAYS = 2500  # of daily checks of a bench: ten years


def fill(book: Book, runs: int, first: int = 1000) -> None:
    """The first runs are added as always, in one transaction; the others are copies of them under other names."""
    with writing(book.connection):
        for n in range(first):
            added = add_within(book.connection, entry(n, first), "")
            beside_within(book.connection, added.entry, Beside((Note(f"seal {n} fitted", "made-up fitter", now()),)))
            if n % 7 == 0:
                paper_within(book.connection, added.entry, Paper(STRIP_DOWN, WORK, "2024-01-01", "made-up fitter"))
        for n in range(500):
            card_within(book, NewCard("unit-type", f"type {n}", TYPE, "made-up fitter"))
            card_within(book, NewCard("unit-type", f"type {n}", f"# again\n{TYPE}", "made-up fitter"))
        for n in range(DAYS):
            day = (date(2015, 1, 1) + timedelta(days=n)).isoformat()
            made = check(day, 1.0 + 0.1 * (n % 7))
            text = plain_json(asdict(made)).decode()
            paper_within(book.connection, "bench 1", Paper(DAILY, text, day, "made-up fitter"))
    add_calibration(book, "bench 1", sheet(), "made-up fitter")
    counted = {"first": first, "units": first // TESTS_A_UNIT, "jobs": first // 4}
    for k in range(1, runs // first):
        with writing(book.connection):
            for statement in COPIES:
                book.connection.execute(statement, {"k": k, **counted})


def questions(book: Book, runs: int) -> dict[str, Callable[[], object]]:
    serial = f"U-{random.randrange(100)}.{random.randrange(1, runs // 1000)}"
    number, kind = random.randrange(1, runs), f"type {random.randrange(500)}"
    return {
        "list, latest 50": lambda: find(book, Question()),
        "list, one serial": lambda: find(book, Question(serial=serial)),
        "list, one job": lambda: find(book, Question(job="job 5.3")),
        "list, one fault": lambda: find(book, Question(fault="low_oil")),
        "list, a fault of none": lambda: find(book, Question(fault="fade")),
        "list, a verdict of many": lambda: find(book, Question(action="fit")),
        "list, one year": lambda: find(book, Question(since="2003-01-01", until="2003-12-31")),
        "list, a day without a test": lambda: find(book, Question(since="1990-01-01", until="1990-01-02")),
        "list, all at once": lambda: find(book, Question(fault="low_oil", unit_type=kind, since="2003-01-01")),
        "find, a word of many": lambda: find(book, Question(words="bench-day")),
        "find, a word of few": lambda: find(book, Question(words=serial)),
        "find, a word of a note": lambda: find(book, Question(words="seal 7 fitted 3")),
        "find, a word of none": lambda: find(book, Question(words="nowhere")),
        "find, what is near": lambda: near(book, f"{serial}9x"),
        "list, one customer": lambda: find(book, Question(customer="customer 5.3")),
        "list, one type": lambda: find(book, Question(unit_type=kind)),
        "find, one log": lambda: find(book, Question(log_sha256="0" * 64)),
        "asked of the same bytes": lambda: of_another_unit(book, book.entry(number).log_sha256, "X"),
        "count": lambda: count(book),
        "entry as it stands": lambda: as_it_stands(book, number),
        "earlier test of its sheet": lambda: earlier_of(book, number),
        "before and after, page": lambda: render_work(before_after(book, number)),
        "build that passed": lambda: passed_build(book, kind),
        "history of a unit, page": lambda: render_history(serial, history(book, serial)),
        "units of a type that passed": lambda: passed_of(book, kind),
        "statistics of all": lambda: shop(book, Which()),
        "statistics of all, page": lambda: render_statistics(shop(book, Which())),
        "statistics of a year": lambda: shop(book, Which(since="2003-01-01", until="2003-12-31")),
        "charts of a type, page": lambda: render_statistics(shop(book, Which(kind))),
        "types that entries name": lambda: unit_types(book),
        "library, all types": lambda: cards(book, "unit-type"),
        "library, a type's history": lambda: history_of(book, "unit-type", kind),
        "bench on a day": lambda: bench_state(book, "bench 1", "2021-01-01"),
        "bench, page": lambda: render_bench(bench_state(book, "bench 1", "2021-01-01"), checks_of(book, "bench 1")),
        "opening": lambda: opened(book.place).close(),
        "clock": lambda: clock_behind(book),
    }


def measured(runs: int, folder: Path, rounds: int = 5) -> dict[str, tuple[float, float]]:
    """Of some rounds of every question, each with the book freshly opened: seconds passed and of the processor, medians."""
    place = folder / "book.sqlite"
    started = time.perf_counter()
    with book_at(place, create=True) as book:
        fill(book, runs)
    print(
        f"{runs} runs in {time.perf_counter() - started:.0f} s, {place.stat().st_size / runs:.0f} bytes a run",
        file=sys.stderr,
    )
    taken: dict[str, list[tuple[float, float]]] = {}
    for _ in range(rounds):
        with book_at(place) as book:
            for name, ask in questions(book, runs).items():
                started, busy = time.perf_counter(), time.process_time()
                ask()
                taken.setdefault(name, []).append((time.perf_counter() - started, time.process_time() - busy))
    return {name: (median(p for p, _ in each), median(b for _, b in each)) for name, each in taken.items()}


def main(runs: int) -> int:
    with tempfile.TemporaryDirectory(dir=sys.argv[2] if len(sys.argv) > 2 else None) as folder:
        middle = measured(runs, Path(folder))
    for name, (passed_s, busy_s) in middle.items():
        print(f"{name:<28} {1000 * passed_s:7.1f} ms, of that {1000 * busy_s:7.1f} ms of the processor")
    return int(max(busy_s for _, busy_s in middle.values()) > LIMIT_S)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000))
