"""The shape of the job book, built up in order: each migration is one transaction, and no row is ever changed.

A book is an SQLite file with an application number of its own; its user_version counts the migrations it has had.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from dampkit.store.content import insert, unpack
from dampkit.store.facts import FOLLOW, what_came_after
from dampkit.store.measures import measured

Migration = tuple[str | Callable[[sqlite3.Connection], None], ...]  # statements, and what is worked out between them
APPLICATION_ID = 0x0DA3B00C

FIRST = (
    "CREATE TABLE unit (id INTEGER PRIMARY KEY, serial TEXT NOT NULL UNIQUE)",
    "CREATE TABLE job (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE)",
    "CREATE TABLE content (sha256 TEXT PRIMARY KEY, size_bytes INTEGER NOT NULL, packed BLOB NOT NULL)",
    "CREATE TABLE settings (sha256 TEXT PRIMARY KEY, text TEXT NOT NULL)",
    """CREATE TABLE entry (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        unit_id INTEGER REFERENCES unit (id),
        job_id INTEGER REFERENCES job (id),
        log_sha256 TEXT NOT NULL REFERENCES content (sha256),
        settings_sha256 TEXT NOT NULL REFERENCES settings (sha256),
        corrects INTEGER REFERENCES entry (id) CHECK (corrects < id),
        file TEXT NOT NULL,
        tested_on TEXT NOT NULL,
        action TEXT NOT NULL,
        faults TEXT NOT NULL,
        version TEXT NOT NULL,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL
    )""",
    """CREATE TABLE result (
        entry_id INTEGER PRIMARY KEY REFERENCES entry (id), sha256 TEXT NOT NULL, packed BLOB NOT NULL
    )""",
    "CREATE INDEX entry_by_unit ON entry (unit_id, tested_on)",
    "CREATE INDEX entry_by_job ON entry (job_id)",
    "CREATE INDEX entry_by_correction ON entry (corrects) WHERE corrects IS NOT NULL",
)

NOTES = (
    """CREATE TABLE note (
        id INTEGER PRIMARY KEY,
        entry_id INTEGER NOT NULL REFERENCES entry (id),
        text TEXT NOT NULL,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL
    )""",
    """CREATE TABLE photo (
        id INTEGER PRIMARY KEY,
        entry_id INTEGER NOT NULL REFERENCES entry (id),
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        path TEXT,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL
    )""",
    "CREATE INDEX note_by_entry ON note (entry_id)",
    "CREATE INDEX photo_by_entry ON photo (entry_id)",
)
FOLLOWED = (
    """CREATE TABLE measure (
        entry_id INTEGER NOT NULL REFERENCES entry (id),
        name TEXT NOT NULL,
        value REAL NOT NULL,
        low REAL NOT NULL,
        high REAL NOT NULL,
        PRIMARY KEY (entry_id, name)
    ) WITHOUT ROWID""",
    "CREATE INDEX entry_by_log ON entry (log_sha256)",
    "CREATE INDEX entry_by_words ON entry (file, unit_id, job_id)",
    "CREATE INDEX entry_by_day ON entry (tested_on, action, faults)",
)

FACTS = (
    # what a person says about an entry, when it is added or later; the latest of a name stands
    """CREATE TABLE fact (
        id INTEGER PRIMARY KEY,
        entry_id INTEGER NOT NULL REFERENCES entry (id),
        name TEXT NOT NULL,
        value TEXT NOT NULL,
        why TEXT NOT NULL,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL
    )""",
    # an entry that came out of an archive, and what its records gave when they were analysed again here
    """CREATE TABLE origin (
        entry_id INTEGER PRIMARY KEY REFERENCES entry (id),
        archive TEXT NOT NULL,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL,
        version TEXT NOT NULL,
        action TEXT NOT NULL,
        faults TEXT NOT NULL
    )""",
    # what stands now: the entry with the latest facts in place. Worked out from entry and fact, so it alone may change
    """CREATE TABLE stands (
        entry_id INTEGER PRIMARY KEY REFERENCES entry (id),
        unit_id INTEGER REFERENCES unit (id),
        job_id INTEGER REFERENCES job (id),
        tested_on TEXT NOT NULL,
        customer TEXT,
        unit_type TEXT,
        action TEXT NOT NULL,
        faults TEXT NOT NULL
    )""",
    """INSERT INTO stands SELECT id, unit_id, job_id, tested_on, NULL, NULL, action, faults FROM entry""",
    "DROP INDEX entry_by_unit",
    "DROP INDEX entry_by_job",
    "DROP INDEX entry_by_words",
    "DROP INDEX entry_by_day",
    "CREATE INDEX entry_by_file ON entry (file)",
    "CREATE INDEX fact_by_entry ON fact (entry_id, name)",
    "CREATE INDEX stands_by_unit ON stands (unit_id, tested_on)",
    "CREATE INDEX stands_by_job ON stands (job_id)",
    "CREATE INDEX stands_by_day ON stands (tested_on, action, faults)",
    "CREATE INDEX stands_by_customer ON stands (customer) WHERE customer IS NOT NULL",
    "CREATE INDEX stands_by_type ON stands (unit_type, tested_on) WHERE unit_type IS NOT NULL",
)
LIBRARY = (
    """CREATE TABLE card (
        id INTEGER PRIMARY KEY,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        version INTEGER NOT NULL,
        text TEXT NOT NULL,
        why TEXT NOT NULL,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL,
        UNIQUE (kind, name, version)
    )""",
    """CREATE TABLE drawing (
        id INTEGER PRIMARY KEY,
        card_id INTEGER NOT NULL REFERENCES card (id),
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL REFERENCES content (sha256)
    )""",
    # a form that was filled in about an entry (strip-down, build, second check) or a bench (calibration, daily check)
    """CREATE TABLE paper (
        id INTEGER PRIMARY KEY,
        kind TEXT NOT NULL,
        entry_id INTEGER REFERENCES entry (id),
        bench TEXT,
        text TEXT NOT NULL,
        done_on TEXT NOT NULL,
        who TEXT NOT NULL,
        added_at TEXT NOT NULL,
        CHECK ((entry_id IS NULL) <> (bench IS NULL))
    )""",
    "CREATE INDEX drawing_by_card ON drawing (card_id)",
    "CREATE INDEX paper_by_entry ON paper (entry_id) WHERE entry_id IS NOT NULL",
    "CREATE INDEX paper_by_bench ON paper (bench, kind, done_on) WHERE bench IS NOT NULL",
)
# what came out of an archive names it, and is never taken for the workshop's own
FOREIGN = ("ALTER TABLE card ADD COLUMN archive TEXT", "ALTER TABLE paper ADD COLUMN archive TEXT")
# what came after a test, worked out as all of `stands` is, and what the shop's figures are counted from
AFTER = (
    *(f"ALTER TABLE stands ADD COLUMN {name} TEXT" for name in ("later", "later_on", "after_work")),
    "CREATE INDEX stands_by_month ON stands (substr(tested_on, 1, 7), action)",
    "CREATE INDEX stands_by_type_and_action ON stands (coalesce(unit_type, ''), action)",
    "CREATE INDEX stands_by_faults ON stands (faults) WHERE faults <> ''",
    "CREATE INDEX stands_that_passed ON stands (later, later_on, tested_on, action) WHERE later IS NOT NULL",
    "CREATE INDEX stands_after_work ON stands (action, after_work) WHERE after_work IS NOT NULL",
)


def kept_for_good(*tables: str) -> tuple[str, ...]:
    """Triggers that refuse to change or remove a row, whatever program asks."""
    return tuple(
        f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'the job book is only added to'); END"
        for table in tables
        for event in ("UPDATE", "DELETE")
    )


def measures_of_every_result(connection: sqlite3.Connection) -> None:
    for number, packed in connection.execute("SELECT entry_id, packed FROM result"):
        keep_measures(connection, number, json.loads(unpack(packed)))


def what_came_after_every_test(connection: sqlite3.Connection) -> None:
    for (unit,) in connection.execute("SELECT id FROM unit").fetchall():
        connection.executemany(FOLLOW, what_came_after(connection, unit))


def keep_measures(connection: sqlite3.Connection, number: int, result: dict[str, Any]) -> None:
    """Write down the followed numbers of an entry's result."""
    for name, found in measured(result):
        insert(connection, "measure", {"entry_id": number, "name": name, **found.to_dict()})


MIGRATIONS: tuple[Migration, ...] = (
    # units, jobs, logs by content, settings, analyses and their results
    (*FIRST, *kept_for_good("unit", "job", "content", "settings", "entry", "result")),
    # notes, and photos that are kept in the book or named by their path
    (*NOTES, *kept_for_good("note", "photo")),
    # the numbers that a history follows, taken out of every stored result, so that a history reads no results
    (*FOLLOWED, measures_of_every_result, *kept_for_good("measure")),
    # settings may hold inspection, costs and stock too: no table changes, but programs of before cannot read them
    (),
    # what a person says about an entry may be put right later, and where it came from is known; nothing is lost
    (*FACTS, *kept_for_good("fact", "origin")),
    # unit types, vehicles, benches and the workshop itself, version by version, and forms that people fill in
    (*LIBRARY, *kept_for_good("card", "drawing", "paper")),
    # cards and papers come in with the entries that stand on them; those of before are the workshop's own
    FOREIGN,
    # the verdict that followed each test stands beside it, so that the shop's figures need not pair them up each time
    (*AFTER, what_came_after_every_test),
)
VERSION = len(MIGRATIONS)


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that holds the write lock from its start; everything in it is kept, or nothing."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.commit()
    except BaseException:
        connection.rollback()
        raise


def version_of(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection, to: int = VERSION) -> None:
    """Bring a book to version `to`, one transaction a step; another process may do some of the steps meanwhile."""
    while version_of(connection) < to:
        with writing(connection):
            version = version_of(connection)
            if version >= to:
                return
            for step in MIGRATIONS[version]:
                connection.execute(step) if isinstance(step, str) else step(connection)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {version + 1}")
