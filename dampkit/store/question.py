"""What is asked of the book; light to import, as its fields are options of commands."""

from __future__ import annotations

from dataclasses import asdict

from dampkit.frozen import frozen

# corrected by a later entry; or imported, and their own records do not give their verdict here
UNCOUNTED = """(SELECT corrects FROM entry WHERE corrects IS NOT NULL UNION ALL
    SELECT entry_id FROM origin JOIN entry ON entry.id = entry_id WHERE origin.action <> entry.action)"""
SAYS = r"""(unit_id IN (SELECT id FROM unit WHERE serial LIKE :words ESCAPE '\')
    OR job_id IN (SELECT id FROM job WHERE name LIKE :words ESCAPE '\')
    OR customer LIKE :words ESCAPE '\' OR unit_type LIKE :words ESCAPE '\'
    OR entry_id IN (SELECT id FROM entry WHERE file LIKE :words ESCAPE '\')
    OR entry_id IN (SELECT entry_id FROM note WHERE text LIKE :words ESCAPE '\'))"""


@frozen
class Question:
    """What is looked for; every part that is given must fit. Dates as 2024-05-31, both ends included.

    `words` stand anywhere in serial, job, customer, type, file name or a note; capital letters or not. `corrected` lists entries that
    a later one corrects as well.
    """

    words: str | None = None
    serial: str | None = None
    job: str | None = None
    customer: str | None = None
    unit_type: str | None = None
    action: str | None = None
    fault: str | None = None
    log_sha256: str | None = None
    since: str | None = None
    until: str | None = None
    corrected: bool = False
    limit: int = 50


EVERY = 2**62  # more than any book has
CONDITIONS = {
    "words": SAYS,
    "serial": "unit_id = (SELECT id FROM unit WHERE serial = :serial)",
    "job": "job_id = (SELECT id FROM job WHERE name = :job)",
    "customer": "customer = :customer",
    "unit_type": "unit_type = :unit_type",
    "action": "action = :action",
    "fault": "faults <> '' AND (' ' || replace(faults, '?', '') || ' ') LIKE :fault",
    "log_sha256": "entry_id IN (SELECT id FROM entry WHERE log_sha256 = :log_sha256)",
    "since": "tested_on >= :since",
    "until": "tested_on <= :until",
}


@frozen
class Which:
    """The tests that count; dates as 2024-05-31, both ends included. Without a type, all of the book.

    A test that a later one corrects does not count, nor one that was imported and whose records give another verdict here.
    """

    unit_type: str | None = None
    since: str | None = None
    until: str | None = None

    @property
    def where(self) -> str:
        return " AND ".join([f"entry_id NOT IN {UNCOUNTED}", *(CONDITIONS[name] for name in self.values)])

    @property
    def values(self) -> dict[str, str]:
        return {name: value for name, value in asdict(self).items() if value is not None}
