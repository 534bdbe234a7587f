"""Write kept/first_version.sqlite: a small book in the form of the first version, as that version wrote it.

Made-up units and results. Run once when the first version was current: python -m tests.store.make_first_book
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from dampkit.outcome.result import Result
from dampkit.store.book import add_within
from dampkit.store.record import Circumstances, new_entry
from dampkit.store.schema import migrate, writing
from dampkit.store.settings import Settings
from tests.report.made_up import low_oil, sound

PLACE = Path(__file__).parent / "kept" / "first_version.sqlite"
LOG = b"Zeit [s];Weg [mm];Kraft [N]\r\n0,000;0,00;-45\r\n0,001;0,10;\xfc\r\n"


def worn(result: Result, years: int) -> Result:
    """The same made-up unit, its friction risen by 2 N a year."""
    statics = result.statics
    assert statics.friction_force_n is not None
    friction = statics.friction_force_n
    up = {key: value + 2.0 * years for key, value in friction.model_dump().items()}
    later = statics.model_copy(update={"friction_force_n": friction.model_copy(update=up)})
    return result.model_copy(update={"statics": later})


def write(place: Path) -> None:
    place.unlink(missing_ok=True)
    connection = sqlite3.connect(place, isolation_level=None)
    migrate(connection, to=1)
    settings = Settings(damper='[damper]\nserial = "A-1042"\n')
    for years in range(4):
        said = Circumstances("made-up fitter", "A-1042", "made-up job 7", f"{2018 + years}-05-02")
        with writing(connection):
            add_within(connection, new_entry(worn(sound(), years), LOG + b"%d\r\n" % years, settings, said), "first book")
    wrong = Circumstances("made-up fitter", "A-1043", None, "2021-06-01")
    right = Circumstances("made-up fitter", "B-7", None, "2021-06-01", corrects=5)
    for said in (wrong, right):
        with writing(connection):
            add_within(connection, new_entry(low_oil(), LOG, settings, said), "first book")
    connection.close()


if __name__ == "__main__":
    PLACE.parent.mkdir(exist_ok=True)
    write(PLACE)
