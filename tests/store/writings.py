"""Every kind of writing that the job book knows, made up, and how to tell that one of a name is there and whole."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

import numpy as np

from dampkit.expected.known_good import KnownGood
from dampkit.store.archive import export, import_archive
from dampkit.store.benches import add_calibration, add_check
from dampkit.store.book import Book, book_at
from dampkit.store.check import backup, complaints
from dampkit.store.content import pack
from dampkit.store.grown import Grown, accepted
from dampkit.store.library import CardKind, NewCard, add_card, add_workshop, cards
from dampkit.store.papers import Paper
from dampkit.store.record import Beside, Circumstances, NewEntry, Note, Photo, new_entry, now
from dampkit.store.second_check import sign
from dampkit.store.settings import Settings
from dampkit.store.works import STRIP_DOWN, add_work
from tests.report.made_up import sound
from tests.store.test_benches import check, sheet

RESULT = sound()
WHO = "made-up fitter"
TYPE = '[damper]\nkind = "twin-tube"\nrod_diameter_mm = 12.4\n'


def numbered(name: str) -> NewEntry:
    """An analysis whose log no other name gives."""
    facts = {"customer": f"customer of {name}", "unit_type": "12-34", "technician": WHO}
    said = Circumstances(WHO, f"unit {name}", f"job {name}", facts=facts)
    return new_entry(RESULT, name.encode() * 2000, Settings(), said)


def begin(place: Path) -> None:
    """A new book with the entry and the card that others rest on; in one that has them, nothing."""
    with book_at(place, create=True) as book:
        book.add(numbered("base"))
        if not any(card.name == "grown" for card in cards(book, "unit-type")):
            add_card(book, NewCard("unit-type", "grown", TYPE, WHO))


def beside(name: str) -> Beside:
    picture = pack(b"\xff\xd8" + name.encode())
    return Beside((Note(name, WHO, now()),), ((Photo(name, picture.sha256, None, WHO, now()), picture),))


def text(name: str) -> str:
    return f"# {name}\n{TYPE}"


def accept(book: Book, name: str) -> None:
    """A reference by itself, whatever units it came from, becomes a new version of a card."""
    speeds, room = np.array([0.1, 0.3]), np.array([20.0, 30.0]) + crc32(name.encode()) % 1000
    forces = {"rebound": 10.0 * room, "compression": 5.0 * room}
    found = KnownGood(2, 0.95, 0.95, 3.0, speeds, forces, {"rebound": room, "compression": room})  # type: ignore[arg-type]
    accepted(book, "grown", Grown(found, (book.entry(1),)), name)


def work(book: Book, name: str) -> None:
    add_work(book, 1, Paper(STRIP_DOWN, f'[work]\nnotes = "{name}"\n', "2024-06-01", WHO), beside(name))


def calibrate(book: Book, name: str) -> None:
    add_calibration(book, "bench 1", sheet().replace('by = "made-up fitter"', f'by = "{name}"'), name)


def master(book: Book, name: str) -> None:
    made = check("2024-06-01", 1.0)
    add_check(book, "bench 1", type(made)(**{**vars(made), "master": name, "who": name}))


def take_in(book: Book, name: str) -> None:
    import_archive(book, book.place.with_name(f"{name}.zip"), WHO)


def copy(book: Book, name: str) -> None:
    backup(book, book.place.with_name(f"{name}.copy"))


def copies(place: Path) -> set[str]:
    """Names of the copies beside a book, each opened and found whole, then removed."""
    found = sorted(place.parent.glob("*.copy"))
    for one in found:
        with book_at(one) as book:
            assert complaints(book) == ()
        one.unlink()
    return {one.stem for one in found}


def is_card(kind: CardKind, name: str, said_in: str) -> str:
    return f"""SELECT {said_in} FROM card JOIN drawing ON card_id = card.id JOIN content USING (sha256)
        WHERE kind = '{kind}' AND card.name LIKE '{name}'"""


@dataclass(frozen=True)
class Writing:
    """`begun` asks for the names of all that left any trace, `whole` for those of which everything is there."""

    do: Callable[[Book, str], object]
    begun: str
    whole: str


WHOLE_ENTRY = """SELECT serial FROM stands JOIN unit ON unit.id = unit_id JOIN result USING (entry_id)
    JOIN note ON note.entry_id = stands.entry_id AND note.text = serial
    JOIN photo ON photo.entry_id = stands.entry_id AND photo.name = serial
    JOIN content ON content.sha256 = photo.sha256
    WHERE customer = 'customer of ' || substr(serial, 6) AND serial LIKE 'unit add-%'"""
WRITINGS = {
    "add": Writing(
        lambda book, name: book.add(numbered(name), beside(f"unit {name}")),
        "SELECT substr(serial, 6) FROM unit WHERE serial LIKE 'unit add-%'",
        f"SELECT substr(serial, 6) FROM ({WHOLE_ENTRY})",
    ),
    "amend": Writing(
        lambda book, name: book.put_right(1, {"customer": name, "vehicle": name, "job": name}, why=name, who=WHO),
        "SELECT value FROM fact WHERE value LIKE 'amend-%'",
        "SELECT value FROM fact JOIN job ON job.name = value WHERE value LIKE 'amend-%' GROUP BY value HAVING count(*) = 3",
    ),
    "note": Writing(
        lambda book, name: book.attach(1, beside(name)),
        "SELECT text FROM note WHERE text LIKE 'note-%' UNION SELECT name FROM photo WHERE name LIKE 'note-%'",
        "SELECT text FROM note JOIN photo ON name = text JOIN content USING (sha256) WHERE text LIKE 'note-%'",
    ),
    "card": Writing(
        lambda book, name: add_card(book, NewCard("unit-type", name, text(name), WHO, name, ((name, pack(name.encode())),))),
        "SELECT name FROM card WHERE name LIKE 'card-%'",
        is_card("unit-type", "card-%", "card.name"),
    ),
    "version": Writing(
        lambda book, name: add_card(book, NewCard("unit-type", "one", text(name), WHO, name, ((name, pack(name.encode())),))),
        "SELECT why FROM card WHERE name = 'one'",
        is_card("unit-type", "one", "why"),
    ),
    "letterhead": Writing(
        lambda book, name: add_workshop(book, f'[workshop]\nname = "{name}"\n', None, (name, WHO)),
        "SELECT why FROM card WHERE kind = 'workshop'",
        "SELECT why FROM card WHERE kind = 'workshop'",
    ),
    "work": Writing(
        work,
        """SELECT substr(text, 17, length(text) - 18) FROM paper WHERE kind = 'strip-down' AND archive IS NULL
            UNION SELECT text FROM note WHERE text LIKE 'work-%'""",
        """SELECT note.text FROM note JOIN photo ON name = note.text JOIN content USING (sha256)
            JOIN paper ON paper.text = '[work]' || char(10) || 'notes = "' || note.text || '"' || char(10)""",
    ),
    "sign": Writing(
        lambda book, name: sign(book, 1, name),
        "SELECT who FROM paper WHERE kind = 'second-check'",
        "SELECT who FROM paper WHERE kind = 'second-check' AND instr(text, who)",
    ),
    "calibration": Writing(
        calibrate,
        "SELECT who FROM paper WHERE kind = 'calibration'",
        "SELECT who FROM paper WHERE kind = 'calibration' AND instr(text, who)",
    ),
    "master": Writing(
        master,
        "SELECT who FROM paper WHERE kind = 'daily-check'",
        "SELECT who FROM paper WHERE kind = 'daily-check' AND instr(text, who)",
    ),
    "reference": Writing(
        accept,
        "SELECT who FROM card WHERE name = 'grown' AND version > 1",
        "SELECT who FROM card WHERE name = 'grown' AND version > 1 AND instr(text, 'rebound')",
    ),
    "import": Writing(
        take_in,
        """SELECT substr(serial, 6, instr(serial, '/') - 6) FROM unit WHERE serial LIKE 'unit import-%'""",
        """SELECT substr(serial, 6, instr(serial, '/') - 6) AS came FROM stands JOIN unit ON unit.id = unit_id
            JOIN origin USING (entry_id) JOIN note USING (entry_id) JOIN paper USING (entry_id)
            JOIN card ON card.archive = origin.archive JOIN drawing ON card_id = card.id
            WHERE serial LIKE 'unit import-%' AND origin.archive = paper.archive AND paper.archive = came || '.zip'
            GROUP BY 1 HAVING count(*) = 2""",
    ),
}  # fmt: skip


DO = {kind: writing.do for kind, writing in WRITINGS.items()} | {"backup": copy}


def make_archives(folder: Path, count: int) -> None:
    """Archives of two entries each, with a note, a work sheet, and the card of their type with its drawing."""
    place = folder / "source.sqlite"
    with book_at(place, create=True) as book:
        add_card(book, NewCard("unit-type", "12-34", TYPE, WHO, "", (("shims.png", pack(b"drawn")),)))
        for n in range(count):
            entries = []
            for part in ("a", "b"):
                name = f"import-{n}/{part}"
                number = book.add(numbered(name), Beside((Note(name, WHO, now()),))).entry
                add_work(book, number, Paper(STRIP_DOWN, "[work]\n", "2024-06-01", WHO))
                entries.append(book.entry(number))
            export(book, entries, folder / f"import-{n}.zip")


def complete(place: Path) -> dict[str, set[str]]:
    """Names of all that is there of every kind. Raises AssertionError where the book or one of them is not whole."""
    with book_at(place) as book:
        assert complaints(book) == ()
        there = {}
        for kind, writing in WRITINGS.items():
            begun, whole = (
                [row[0] for row in book.connection.execute(asked)] for asked in (writing.begun, writing.whole)
            )
            assert set(begun) == set(whole), kind
            there[kind] = set(whole)
    return there | {"backup": copies(place)}


def version_found(place: Path) -> int:
    with closing(sqlite3.connect(place)) as raw:
        return int(raw.execute("PRAGMA user_version").fetchone()[0])
