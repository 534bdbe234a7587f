"""Which unit, which job, on which day and by whom: what is said of a test beside its files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated

from dampkit.bench.described import described
from dampkit.errors import BadSettings
from dampkit.outcome.record import Record

if TYPE_CHECKING:
    from dampkit.outcome.result import Result

EARLIEST = date(1900, 1, 1)  # nobody logged a damper before; own choice
LONGEST = 200  # letters of a name


class AboutRecord(Record):
    """What was said of this one test beside its files."""

    job: Annotated[str | None, described("Name or number of the job.", "blue estate, rear")] = None
    tested_on: Annotated[str | None, described("Day of the test, ISO 8601.", "2024-05-31")] = None
    by: Annotated[str | None, described("Who tested it.", "made-up fitter")] = None


@dataclass(frozen=True)
class About:
    """None where nothing was said. A serial goes before the one that the damper file has."""

    serial: str | None = None
    job: str | None = None
    tested_on: str | None = None
    by: str | None = None

    def checked(self) -> About:
        """Names without space around them, the day as written in ISO 8601. Raises BadSettings for an impossible one."""
        texts = {name: _name(f"--{name}", getattr(self, name)) for name in ("serial", "job", "by")}
        return About(**texts, tested_on=day_of_test(self.tested_on))

    def put_on(self, result: Result) -> Result:
        """The result with what was said on it."""
        damper = result.damper if self.serial is None else result.damper.model_copy(update={"serial": self.serial})
        said = AboutRecord(job=self.job, tested_on=self.tested_on, by=self.by)
        return result.model_copy(update={"damper": damper, "about": None if said == AboutRecord() else said})


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


def day_of_test(text: str | None) -> str | None:
    """As `day`, and a day on which a test can have been: none to come, but for a clock behind another's."""
    found = day(text)
    if found is not None and not EARLIEST <= date.fromisoformat(found) <= date.today() + timedelta(days=1):
        expected = f"a day from {EARLIEST.year} to today"
        raise BadSettings("date", f"found {found}", expected, "correct the date, or this machine's clock")
    return found
