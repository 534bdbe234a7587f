"""What the runs of the mixed study come to: counts over rows, nothing worked out again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from dampkit.frozen import frozen
from dampkit.studies.faults import UNSEEN
from dampkit.studies.mix_runs import wanted_codes
from dampkit.studies.mix_said import Row

CONDEMNED = ("adjust", "rebuild", "replace")
BINS = (0.0, 0.3, 0.5, 0.65, 0.8, 0.95, 1.0)


@frozen
class Share:
    """So many of so many."""

    count: int
    of: int

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of the share."""
        from dampkit.studies.decisions import interval

        return interval(self.count, self.of)


def share(rows: Iterable[Row], holds: Callable[[Row], bool]) -> Share:
    found = [holds(row) for row in rows]
    return Share(sum(found), len(found))


def is_sound(row: Row) -> bool:
    return not row["faults"]


def analysed(rows: Iterable[Row]) -> list[Row]:
    return [row for row in rows if "action" in row]


def named(row: Row, level: str | None = None) -> frozenset[str]:
    """Codes said at a level, or at any."""
    return frozenset(code for code, at, _ in row.get("said", ()) if level in (None, at))


def found_false(row: Row) -> bool:
    """A fault found that was not put in."""
    return bool(named(row, "found") - wanted_codes(row))


def condemned(row: Row) -> bool:
    return row.get("action") in CONDEMNED


def passed(row: Row) -> bool:
    return row.get("action") == "fit"


def why_passed(row: Row) -> str:
    """Why a faulty unit was called fit: nothing that it has could be shown, or it was missed."""
    reasons = {_why(row, code, beyond) for (code, _), beyond in zip(row["faults"], row["beyond"], strict=True)}
    return "missed" if "missed" in reasons else " and ".join(sorted(reasons))


def _why(row: Row, code: str, beyond: bool) -> str:
    if not beyond:
        return "within limits"
    if (row["kind"], code) in UNSEEN:
        return "no log can show it"
    said_as = wanted_codes({"faults": [(code, 0.0)]})
    return "not looked for" if said_as <= row["not_looked_for"].keys() else "missed"


def showable(row: Row) -> bool:
    """One fault, beyond its limits, which a log of that kind of unit may show, and that was looked for."""
    return len(row["faults"]) == 1 and why_passed(row) == "missed"


@frozen
class Bin:
    """Findings and suspicions with a likelihood in a range: mean given, and how many were true."""

    low: float
    high: float
    given: float
    true: Share


def calibration(rows: Iterable[Row], level: str | None = None) -> list[Bin]:
    said = [
        (p, code in wanted_codes(row)) for row in rows for code, at, p in row.get("said", ()) if level in (None, at)
    ]
    out = []
    for low, high in pairwise(BINS):
        here = [(p, true) for p, true in said if low <= p < high]
        if here:
            mean = sum(p for p, _ in here) / len(here)
            out.append(Bin(low, high, mean, Share(sum(true for _, true in here), len(here))))
    return out


def held(rows: Iterable[Row], name: str) -> Share:
    """Intervals of an estimate that hold the truth, of those given."""
    given = [row[name] for row in analysed(rows) if row[name][1] is not None]
    return Share(sum(e[2] <= e[0] <= e[3] for e in given), len(given))


def points_held(rows: Iterable[Row], name: str) -> Share:
    """Truths of stages within the band of a curve or reading."""
    counts = [row[name] for row in analysed(rows)]
    return Share(sum(c[0] for c in counts), sum(c[1] for c in counts))


def bound_broken(rows: Iterable[Row]) -> Share:
    """Friction above the bound that the loops give."""
    return share(
        (r for r in analysed(rows) if r["friction"][4] is not None), lambda r: r["friction"][0] > r["friction"][4]
    )


def values(rows: Sequence[Row], key: str) -> list[str]:
    return sorted({row[key] for row in rows})
