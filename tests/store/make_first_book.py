"""Write kept/first_version.sqlite: a small book in the form of the first version, row by row.

Made-up units and results. The statements are those of the first version and stay as they are when the book grows:
python -m tests.store.make_first_book
"""

from __future__ import annotations

import sqlite3
import sys
import zlib
from pathlib import Path

from dampkit.outcome.result import Result
from dampkit.store.content import plain_json, sha256_of
from dampkit.store.schema import migrate
from dampkit.store.settings import Settings
from tests.report.made_up import low_oil, sound

PLACE = Path(__file__).parent / "kept" / "first_version.sqlite"
LOG = b"Zeit [s];Weg [mm];Kraft [N]\r\n0,000;0,00;-45\r\n0,001;0,10;\xfc\r\n"
SETTINGS = Settings(damper='[damper]\nserial = "A-1042"\n')
UNITS, JOBS = {"A-1042": 1, "A-1043": 2, "B-7": 3}, {"made-up job 7": 1}
ENTRY = "INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"


def worn(result: Result, years: int) -> Result:
    """The same made-up unit, its friction risen by 2 N a year."""
    statics = result.statics
    assert statics.friction_force_n is not None
    friction = statics.friction_force_n
    up = {key: value + 2.0 * years for key, value in friction.model_dump().items()}
    later = statics.model_copy(update={"friction_force_n": friction.model_copy(update=up)})
    return result.model_copy(update={"statics": later})


def write(place: Path) -> None:
    """Four tests of one unit, a year apart, then one under a wrong serial and its correction."""
    place.unlink(missing_ok=True)
    connection = sqlite3.connect(place, isolation_level=None)
    migrate(connection, to=1)
    connection.execute("BEGIN")
    connection.executemany("INSERT INTO unit (serial, id) VALUES (?, ?)", UNITS.items())
    connection.executemany("INSERT INTO job (name, id) VALUES (?, ?)", JOBS.items())
    connection.execute("INSERT INTO settings VALUES (?, ?)", (SETTINGS.sha256, SETTINGS.text))
    for years in range(4):
        add(connection, years + 1, worn(sound(), years), LOG + b"%d\r\n" % years, f"{2018 + years}-05-02")
    add(connection, 5, low_oil(), LOG, "2021-06-01", unit=2, job=None)
    add(connection, 6, low_oil(), LOG, "2021-06-01", unit=3, job=None, corrects=5)
    connection.execute("COMMIT")
    connection.close()


def add(
    connection: sqlite3.Connection,
    number: int,
    result: Result,
    log: bytes,
    tested_on: str,
    *,
    unit: int = 1,
    job: int | None = 1,
    corrects: int | None = None,
) -> None:
    sha256, data = sha256_of(log), plain_json(result.to_dict())
    connection.execute("INSERT OR IGNORE INTO content VALUES (?, ?, ?)", (sha256, len(log), zlib.compress(log)))
    uid, faults = sha256_of(b"first book, entry %d" % number), " ".join(fault.code for fault in result.faults)
    about = (
        result.run.file,
        tested_on,
        result.verdict.action,
        faults,
        "0.1.0",
        "made-up fitter",
        "2021-07-01T08:00:00",
    )
    connection.execute(ENTRY, (number, uid, unit, job, sha256, SETTINGS.sha256, corrects, *about))
    connection.execute("INSERT INTO result VALUES (?, ?, ?)", (number, sha256_of(data), zlib.compress(data)))


if __name__ == "__main__":
    place = Path(sys.argv[1]) if len(sys.argv) > 1 else PLACE
    place.parent.mkdir(exist_ok=True)
    write(place)
