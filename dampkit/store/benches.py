"""The bench's own record: calibrations and daily checks, and whether a bench may be believed on a day."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from statistics import fmean
from typing import Any

import numpy as np

from dampkit.bench.run import Quality
from dampkit.bench.toml_file import from_text
from dampkit.errors import CannotAnalyse
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array
from dampkit.store.bench_record import Calibration, CalibrationSpec
from dampkit.store.book import Book
from dampkit.store.calibration import Calibrated, calibrated
from dampkit.store.content import plain_json
from dampkit.store.control_chart import Chart, chart
from dampkit.store.papers import EVER, BenchPaper, Paper, add_paper, papers_of

CALIBRATION: BenchPaper = "calibration"
DAILY: BenchPaper = "daily-check"
MASTER_PERCENT = (
    5.0  # the most that the workshop's master damper may read off its own record; common practice, no source
)


@frozen
class DailyCheck:
    """The workshop's master damper on this bench: its readings against its own record, in percent, one a speed."""

    master: str
    velocity_m_s: tuple[float, ...]
    rebound_percent: tuple[float, ...]
    compression_percent: tuple[float, ...]
    limit_percent: float = MASTER_PERCENT
    done_on: str = ""
    who: str = ""

    @property
    def mean_percent(self) -> float:
        """What the bench as a whole reads too much."""
        return fmean((*self.rebound_percent, *self.compression_percent))

    @property
    def worst_percent(self) -> float:
        return max(map(abs, (*self.rebound_percent, *self.compression_percent)))

    @property
    def passed(self) -> bool:
        return self.worst_percent <= self.limit_percent


@frozen
class BenchState:
    """What is on record for a bench on a day; None where there is none."""

    bench: str
    day: str
    calibration: Calibration | None
    calibrated: Calibrated | None
    check: DailyCheck | None

    @property
    def overdue(self) -> bool:
        return self.calibration is not None and self.day > self.calibration.due

    @property
    def believed(self) -> bool | None:
        """None where nothing that is on record tells."""
        if any(remark.severity == "bad" for remark in self.quality()):
            return False
        return None if self.calibration is None and self.check is None else True

    def quality(self) -> tuple[Quality, ...]:
        """What a test on this bench on this day must say; "bad" where nothing may rest on it."""
        said = []
        if self.calibration is None:
            said.append(("bench_not_calibrated", "note", f"no calibration of {self.bench} is on record"))
        elif self.overdue:
            found = f"the calibration of {self.bench} was due on {self.calibration.due}; calibrate it, then test again"
            said.append(("bench_calibration_overdue", "bad", found))
        if self.calibrated is not None and not self.calibrated.passed:
            found = f"{self.bench} failed its last calibration; put the bench right, then test again"
            said.append(("bench_calibration_failed", "bad", found))
        if self.check is not None and not self.check.passed:
            found = (
                f"the master damper read {self.check.worst_percent:.1f} % off its own record on {self.check.done_on},"
                f" more than {self.check.limit_percent:g} %; find out why, check again, then test again"
            )
            said.append(("bench_check_failed", "bad", found))
        elif self.calibration is not None and (self.check is None or self.check.done_on < self.day):
            said.append(("bench_not_checked", "note", f"no check of {self.bench} with a master damper on {self.day}"))
        return tuple(Quality(code, severity, text) for code, severity, text in said)  # type: ignore[arg-type]


def add_calibration(book: Book, bench: str, text: str, who: str) -> Calibrated:
    """Keep a calibration as it was written. Raises BadSettings where it is no usable one; nothing is added then."""
    sheet = sheet_of(Paper(CALIBRATION, text, "", who), f"calibration of {bench}")
    add_paper(book, bench, Paper(CALIBRATION, text, sheet.on, who))
    return calibrated(sheet)


def sheet_of(paper: Paper, where: str = "calibration") -> Calibration:
    """Raises BadSettings where it is no usable calibration."""
    return from_text(paper.text, where, CalibrationSpec).calibration


def daily_check(paper: Paper) -> DailyCheck:
    """Raises TypeError or ValueError where it is something else."""
    raw: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in json.loads(paper.text).items()}
    return DailyCheck(**raw)


def add_check(book: Book, bench: str, check: DailyCheck) -> None:
    add_paper(book, bench, Paper(DAILY, plain_json(asdict(check)).decode(), check.done_on, check.who))


def bench_state(book: Book, bench: str, day: str) -> BenchState:
    """By the latest calibration and check up to that day."""
    sheets, checks = (papers_of(book, bench, kind, day, last=True) for kind in (CALIBRATION, DAILY))
    sheet = sheet_of(sheets[0], f"calibration of {bench}") if sheets else None
    made = None if sheet is None else calibrated(sheet)
    return BenchState(bench, day, sheet, made, daily_check(checks[0]) if checks else None)


def checks_of(book: Book, bench: str, until: str = EVER) -> tuple[DailyCheck, ...]:
    """Every daily check, oldest first."""
    return tuple(daily_check(paper) for paper in papers_of(book, bench, DAILY, until))


def drift(checks: tuple[DailyCheck, ...]) -> tuple[Array, Chart | None]:
    """What the bench reads too much, in percent, check by check, shape (n,), with its control chart.

    The master damper is the same all along, so this is the bench's drift apart from that of any unit.
    """
    values = np.array([check.mean_percent for check in checks])
    return values, chart(values)


def check_of(result: Mapping[str, Any], reference: Mapping[str, Any], said: tuple[str, str, str]) -> DailyCheck:
    """A check from the analysis of the master damper's log and its reference; `said` is its serial, the day and who.

    Both directions at the reference's speeds that the log reached; readings between tested speeds are in proportion.
    Raises CannotAnalyse where it reached none.
    """
    speeds = np.array(reference["velocity_m_s"])
    tested = {d: result["valve"][d]["reading"] for d in DIRECTIONS}
    top = min(max(tested[d]["velocity_m_s"], default=0.0) for d in DIRECTIONS)
    low = max(min(tested[d]["velocity_m_s"], default=np.inf) for d in DIRECTIONS)
    inside = speeds[(speeds >= 0.98 * low) & (speeds <= 1.02 * top)]
    if not inside.size:
        do = "test it at the speeds of its reference"
        raise CannotAnalyse("the check", "no speed of the reference was tested in both directions", "some of them", do)
    off = {}
    for d in DIRECTIONS:
        good = np.interp(inside, speeds, reference[f"{d}_force_n"])
        read = np.interp(inside, tested[d]["velocity_m_s"], tested[d]["force_n"])
        off[d] = tuple(float(x) for x in 100.0 * (read / good - 1.0))
    serial, day, who = said
    return DailyCheck(serial, tuple(map(float, inside)), off["rebound"], off["compression"], done_on=day, who=who)
