"""What a person says about an entry: given when it is added, put right later. Every word stays; the latest stands."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from typing import Annotated

from pydantic import AfterValidator

from dampkit.errors import BadSettings
from dampkit.frozen import frozen
from dampkit.outcome.about import day_of_test, time_of_day
from dampkit.store.content import insert
from dampkit.store.record import AS_WRITTEN, Moment

# name of a fact -> how a person calls it
NAMES = {
    "serial": "serial",
    "job": "job",
    "tested_on": "day of the test",
    "tested_at": "time of the test",
    "customer": "customer",
    "technician": "technician",
    "unit_type": "unit type",
    "vehicle": "vehicle",
    "bench": "bench",
}

CHECKED: Mapping[str, Callable[[str], str | None]] = {"tested_on": day_of_test, "tested_at": time_of_day}
OWN_TABLE = {"serial": ("unit", "serial"), "job": ("job", "name")}


def _latest(name: str) -> str:
    return f"(SELECT value FROM fact WHERE entry_id = entry.id AND name = '{name}' ORDER BY id DESC LIMIT 1)"


# what stands now of every entry; a fact without a value takes away what was said before
STANDS = f"""SELECT entry.id,
    CASE WHEN {_latest("serial")} IS NULL THEN unit_id
        ELSE (SELECT id FROM unit WHERE serial = {_latest("serial")}) END,
    CASE WHEN {_latest("job")} IS NULL THEN job_id ELSE (SELECT id FROM job WHERE name = {_latest("job")}) END,
    coalesce(nullif({_latest("tested_on")}, ''), tested_on),
    nullif({_latest("customer")}, ''), nullif({_latest("unit_type")}, ''), action, faults FROM entry"""
STOOD = "entry_id, unit_id, job_id, tested_on, customer, unit_type, action, faults"  # the columns of STANDS
CORRECTED = "(SELECT corrects FROM entry WHERE corrects IS NOT NULL)"
# a unit's tests in order, those that a later one corrects left out
TESTS = f"""SELECT entry_id, tested_on, action, job_id FROM stands
    WHERE unit_id = ? AND entry_id NOT IN {CORRECTED} ORDER BY tested_on, entry_id"""
FOLLOW = "UPDATE stands SET later = ?, later_on = ?, after_work = ? WHERE entry_id = ?"


def _fact(name: str) -> str:
    if name not in NAMES:
        raise ValueError("no name of a fact")
    return name


@frozen
class Fact:
    """`why` says why an earlier word was put right; empty where it was said when the entry was added."""

    __pydantic_config__ = AS_WRITTEN

    name: Annotated[str, AfterValidator(_fact)]
    value: str
    why: str
    who: str
    added_at: Moment


def facts_within(connection: sqlite3.Connection, number: int, facts: tuple[Fact, ...]) -> None:
    """Add inside a transaction that is already open, units and jobs of a new name included."""
    for fact in facts:
        insert(connection, "fact", {"entry_id": number, **vars(fact)})
        if fact.name in OWN_TABLE and fact.value:
            named(connection, *OWN_TABLE[fact.name], fact.value)
    units = _units(connection, number)
    connection.execute(f"INSERT OR REPLACE INTO stands ({STOOD}) {STANDS} WHERE entry.id = ?", (number,))
    for unit in units | _units(connection, number):
        connection.executemany(FOLLOW, what_came_after(connection, unit))


def _units(connection: sqlite3.Connection, number: int) -> set[int]:
    """Units that an entry, or the one that it corrects, stands under."""
    asked = "SELECT unit_id FROM stands WHERE unit_id IS NOT NULL AND entry_id IN (:n, (SELECT corrects FROM entry WHERE id = :n))"
    return {row[0] for row in connection.execute(asked, {"n": number})}


def what_came_after(connection: sqlite3.Connection, unit: int) -> list[tuple[str | None, str | None, str | None, int]]:
    """What came after each test of a unit, as FOLLOW wants it: verdict and day of its next test, and, of the first test of
    a job, the verdict of the next one of that job. A test that a later one corrects has nothing after it."""
    tests = connection.execute(TESTS, (unit,)).fetchall()
    of_job: dict[int | None, list[str]] = {}
    for _, _, action, job in tests:
        of_job.setdefault(job, []).append(action)
    found = {}
    for (number, _, _, job), after in zip(tests, [*tests[1:], None], strict=False):
        worked = of_job.pop(job, []) if job is not None else []
        found[number] = (after and after[2], after and after[1], worked[1] if len(worked) > 1 else None)
    every = connection.execute("SELECT entry_id FROM stands WHERE unit_id = ?", (unit,))
    return [(*found.get(number, (None, None, None)), number) for (number,) in every]


def facts_of(connection: sqlite3.Connection, number: int) -> tuple[Fact, ...]:
    """Every fact of an entry, oldest first."""
    rows = connection.execute(
        "SELECT name, value, why, who, added_at FROM fact WHERE entry_id = ? ORDER BY id", (number,)
    )
    return tuple(Fact(*row) for row in rows)


def checked_facts(facts: Mapping[str, str], where: str) -> dict[str, str]:
    """The facts with day and time as they are written. Raises BadSettings for a name that no fact has or a wrong one."""
    for name in facts:
        if name not in NAMES:
            raise BadSettings(where, f"found {name!r}", f"one of {', '.join(NAMES)}", "correct the name")
    return {name: CHECKED.get(name, str)(value) or "" if value else value for name, value in facts.items()}


def named(connection: sqlite3.Connection, table: str, column: str, value: str | None) -> int | None:
    """The row of a unit or job with this name, added where it is new."""
    if value is None:
        return None
    insert(connection, table, {column: value}, once=True)
    return int(connection.execute(f"SELECT id FROM {table} WHERE {column} = ?", (value,)).fetchone()[0])
