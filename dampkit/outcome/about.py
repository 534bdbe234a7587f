"""Which unit, whose, for which job, when, by whom and checked by whom: what is said of a test beside its files; light to
import, as its fields are options of commands."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, time, timedelta
from typing import TYPE_CHECKING

from dampkit.errors import BadSettings
from dampkit.frozen import frozen

if TYPE_CHECKING:
    from dampkit.outcome.about_record import AboutRecord
    from dampkit.outcome.result import Result

EARLIEST = date(1900, 1, 1)  # nobody logged a damper before; own choice
LONGEST = 200  # letters of a name

# name -> the option that gives it
OPTIONS = {
    "serial": "--serial", "job": "--job", "by": "--by",
    "customer": "--customer", "vehicle": "--car", "unit_type": "--type", "bench": "--on",
}  # fmt: skip


@frozen
class About:
    """None where nothing was said. A serial goes before the one that the damper file has."""

    serial: str | None = None
    job: str | None = None
    tested_on: str | None = None
    by: str | None = None
    tested_at: str | None = None
    customer: str | None = None
    vehicle: str | None = None
    unit_type: str | None = None
    bench: str | None = None

    def checked(self) -> About:
        """Names without space around them, day and time in ISO 8601. Raises BadSettings for an impossible one."""
        told = {name: said for name, said in asdict(self).items() if name not in ("tested_on", "tested_at")}
        names = {name: _name(OPTIONS[name], said) for name, said in told.items()}
        days = {"tested_on": day_of_test(self.tested_on), "tested_at": time_of_day(self.tested_at)}
        return About(**names, **days)

    def put_on(self, result: Result) -> Result:
        """The result with what was said on it."""
        from dampkit.outcome.about_record import AboutRecord

        said = asdict(self)
        serial = said.pop("serial")
        return with_about(result, serial, AboutRecord(**said))


def with_about(result: Result, serial: str | None, about: AboutRecord) -> Result:
    """The result with this said of it, and its unit's serial where there is one."""
    damper = result.damper if serial is None else result.damper.model_copy(update={"serial": serial})
    said = None if about == type(about)() else about
    return result.model_copy(update={"damper": damper, "about": said})


def _name(option: str, text: str | None) -> str | None:
    if text is None:
        return None
    found = " ".join(text.split())
    if not 0 < len(found) <= LONGEST:
        raise BadSettings(
            option, f"found {len(found)} letters", f"1 to {LONGEST} letters", "correct it or leave it out"
        )
    return found


def day(text: str | None) -> str | None:
    """A date as 2024-05-31. Raises BadSettings for anything else."""
    try:
        return None if text is None else date.fromisoformat(text).isoformat()
    except ValueError:
        raise BadSettings("date", f"found {text!r}", "a date such as 2024-05-31", "correct the date") from None


def today() -> str:
    """This machine's day, as 2024-05-31."""
    return date.today().isoformat()


def day_of_test(text: str | None) -> str | None:
    """As `day`, and a day on which a test can have been: none to come, but for a clock behind another's."""
    found = day(text)
    if found is not None and not EARLIEST <= date.fromisoformat(found) <= date.today() + timedelta(days=1):
        expected = f"a day from {EARLIEST.year} to today"
        raise BadSettings("date", f"found {found}", expected, "correct the date, or this machine's clock")
    return found


def time_of_day(text: str | None) -> str | None:
    """A time as 14:05. Raises BadSettings for anything else."""
    if text is None:
        return None
    try:
        found = time.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None or ":" not in text:  # 14.05 would be taken for 14:00
        raise BadSettings("time", f"found {text!r}", "a time such as 14:05", "correct the time")
    return found.isoformat(timespec="minutes")
