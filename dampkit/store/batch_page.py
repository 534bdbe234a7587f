"""The page of a batch: how many units came out how, and one line a unit, those that need a hand first."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dampkit.files import write_text
from dampkit.report.words import VERDICTS_SHOWN
from dampkit.store.pages import rendered
from dampkit.store.table import Row

if TYPE_CHECKING:
    from dampkit.outcome.workshop import Letterhead

MOST = 5000  # lines on the page; the table has them all
ORDER = ("not analysed", *VERDICTS_SHOWN)


def write_batch_page(
    place: Path,
    rows: Iterable[Row],
    linked: bool = False,
    stamp: Callable[[str], str] | None = None,
    head: Letterhead | None = None,
) -> None:
    """`linked` says that each unit's own page lies in the folder `pages` beside this one.

    `stamp` gives the small picture of a result by its key, as markup that is safe to print.
    Raises BadSettings where the place cannot be written to.
    """
    counts: Counter[str] = Counter()
    numbered = ((ORDER.index(_group(row)), n, row) for n, row in enumerate(_counted(rows, counts)))
    lines = [_line(row, linked, stamp) for _, _, row in heapq.nsmallest(MOST, numbered, key=lambda item: item[:2])]
    view = {
        "order": ORDER[1:],
        "total": sum(counts.values()),
        "counts": [(group, counts[group]) for group in ORDER if counts[group]],
        "lines": lines,
        "most": MOST,
        "stamps": stamp is not None,
    }
    write_text(place, rendered("batch.html", view, head), make_folder=True)


def _counted(rows: Iterable[Row], counts: Counter[str]) -> Iterable[Row]:
    for row in rows:
        counts[_group(row)] += 1
        yield row


def _group(row: Row) -> str:
    return "not analysed" if row["status"] != 0 else str(row["action"])


def _line(row: Row, linked: bool, stamp: Callable[[str], str] | None) -> dict[str, Any]:
    analysed = row["status"] == 0
    faults = [("", code) for code in row.get("faults", "").split()]
    faults += [(" (suspected)", code) for code in row.get("suspected", "").split()]
    return {
        "serial": (row["serial"] or "no serial given") if analysed else "log not read",
        "file": row["file"],
        "group": _group(row),
        "faults": [code.replace("_", " ").capitalize() + tail for tail, code in faults],
        "reason": row["reason"] if analysed else row["error"],
        "stamp": stamp(row["key"]) if stamp is not None and analysed else "",
        "page": f"pages/{row['key']}.html" if linked and analysed else "",
    }
