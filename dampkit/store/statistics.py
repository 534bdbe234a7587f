"""The shop over time: verdicts and faults by type and month, units that come back, work right the first time, charts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import Any

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Z95, Array, Estimate
from dampkit.store.book import Book
from dampkit.store.control_chart import Chart, chart
from dampkit.store.measures import MEASURES
from dampkit.store.place import plain_errors
from dampkit.store.question import Which
from dampkit.store.table import Kind

COLUMNS: dict[str, Kind] = {"group": "text", "name": "text", "what": "text", "tests": "count", "of": "count"}


@frozen
class Share:
    """`count` of `of`, with the 95 % interval of the share (score interval, Wilson 1927, from memory)."""

    count: int
    of: int

    @property
    def estimate(self) -> Estimate | None:
        if self.of == 0:
            return None
        n, p, z2 = self.of, self.count / self.of, Z95**2
        middle, room = p + z2 / (2 * n), Z95 * np.sqrt(p * (1 - p) / n + z2 / (4 * n * n))
        low, high = (middle - room) / (1 + z2 / n), (middle + room) / (1 + z2 / n)
        return Estimate(p, max(0.0, float(low)), min(1.0, float(high)))


@frozen
class Followed:
    """A number of passed units of one type in order of their tests, shape (n,); `chart` is None where there are few."""

    name: str
    days: tuple[str, ...]
    entries: tuple[int, ...]
    values: Array
    chart: Chart | None


@frozen
class Shop:
    """`by_*` count tests by verdict under each name; `faults` count codes, found ones apart from suspected ones.

    `come_back`: of units that passed and were tested on a later day, those that did not pass then; a retest is none, as only
    what could be told counts as not passed. `first_time_right`: of
    units whose first test of a job did not pass, those whose next test of the job did. Of both the next test counts whenever
    it was.
    """

    which: Which
    tests: int
    by_month: Mapping[str, Mapping[str, int]]
    by_type: Mapping[str, Mapping[str, int]]
    found: Mapping[str, int]
    suspected: Mapping[str, int]
    come_back: Share
    first_time_right: Share
    charts: tuple[Followed, ...] = field(default=())


def shop(book: Book, which: Which) -> Shop:
    """All figures; charts only where one type is asked for, since units of different types are not alike."""
    with plain_errors(book.place):
        by_month = _grouped(book, which, "substr(tested_on, 1, 7)")
        found, suspected = _faults(book, which)
        return Shop(
            which,
            sum(sum(actions.values()) for actions in by_month.values()),
            by_month,
            _grouped(book, which, "coalesce(unit_type, '')"),
            found,
            suspected,
            _share(
                book,
                which,
                "later IN ('adjust', 'rebuild', 'replace')",
                of="action = 'fit' AND later IS NOT NULL AND later_on > tested_on",
            ),
            _share(
                book,
                which,
                "after_work = 'fit'",
                of="action IN ('adjust', 'rebuild', 'replace') AND after_work IS NOT NULL",
            ),
            tuple(_charts(book, which)) if which.unit_type is not None else (),
        )


def unit_types(book: Book) -> tuple[str, ...]:
    """Every type that an entry names."""
    with plain_errors(book.place):
        asked = "SELECT DISTINCT unit_type FROM stands WHERE unit_type IS NOT NULL ORDER BY 1"
        return tuple(row[0] for row in book.connection.execute(asked))


def rows(shop: Shop) -> Iterator[dict[str, Any]]:
    """The counts as a table: what, how many, of how many."""
    for group, table in (("month", shop.by_month), ("type", shop.by_type)):
        for name, actions in table.items():
            for action, count in actions.items():
                yield _row(group, name, action, (count, sum(actions.values())))
    for what, codes in (("found", shop.found), ("suspected", shop.suspected)):
        for code, count in codes.items():
            yield _row("fault", code, what, (count, shop.tests))
    for name, share in (("came back", shop.come_back), ("right the first time", shop.first_time_right)):
        yield _row("units", name, "", (share.count, share.of))


def _row(group: str, name: str, what: str, counts: tuple[int, int]) -> dict[str, Any]:
    return {"group": group, "name": name, "what": what, "tests": counts[0], "of": counts[1]}


def _grouped(book: Book, which: Which, key: str) -> dict[str, dict[str, int]]:
    asked = f"SELECT {key}, action, count(*) FROM stands WHERE {which.where} GROUP BY 1, 2 ORDER BY 1, 3 DESC"
    table: dict[str, dict[str, int]] = {}
    for name, action, count in book.connection.execute(asked, which.values):
        table.setdefault(name, {})[action] = count
    return table


def _faults(book: Book, which: Which) -> tuple[dict[str, int], dict[str, int]]:
    asked = f"SELECT faults, count(*) FROM stands WHERE {which.where} AND faults <> '' GROUP BY faults"
    found, suspected = Counter[str](), Counter[str]()
    for codes, count in book.connection.execute(asked, which.values):
        for code in codes.split():
            (suspected if code.endswith("?") else found)[code.rstrip("?")] += count
    return dict(found.most_common()), dict(suspected.most_common())


def _share(book: Book, which: Which, what: str, *, of: str) -> Share:
    asked = f"SELECT coalesce(sum({what}), 0), count(*) FROM stands WHERE {which.where} AND {of}"
    return Share(*book.connection.execute(asked, which.values).fetchone())


def _charts(book: Book, which: Which) -> Iterator[Followed]:
    asked = f"""SELECT name, tested_on, stands.entry_id, value FROM stands JOIN measure USING (entry_id)
        WHERE {which.where} AND action = 'fit' ORDER BY tested_on, entry_id"""
    rows: dict[str, list[tuple[str, int, float]]] = {name: [] for name in MEASURES}
    for name, day, number, value in book.connection.execute(asked, which.values):
        rows[name].append((day, number, value))
    for name, found in rows.items():
        if found:
            values = np.array([value for _, _, value in found])
            values.setflags(write=False)
            yield Followed(name, tuple(d for d, _, _ in found), tuple(n for _, n, _ in found), values, chart(values))
