"""Cost against size: rows of a log, logs of a batch, runs of a job book; drawn into reports/growth.html."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np
from jinja2 import Environment, StrictUndefined

import dampkit.report
from dampkit.quantities import number
from dampkit.report.picture import Axis, Line, Picture, Points
from dampkit.report.svg import svg
from tests.benchmarks import batch, batch_book
from tests.benchmarks.long_log import write_long_log
from tests.benchmarks.processes import DAMPKIT, spent

PLACE = Path(__file__).parents[2] / "reports" / "growth.html"
STYLE = Path(dampkit.report.__file__).parent / "templates" / "page.css"
ROWS = (100_000, 300_000, 1_000_000, 2_000_000, 4_000_000, 8_000_000)
LOGS = (10, 30, 100, 300, 1_000, 3_000, 10_000)
BOOK = (2_000, 5_000, 10_000, 30_000, 100_000)
FEW = 4  # sizes of each in a few minutes
ROUNDS = 3
MILLION, CORE_HOUR_PRICE = 1_000_000, 0.05
PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>What size costs</title>
<style>{{ style | safe }}</style>
</head>
<body>
<main>
<h1>What size costs</h1>
<p>Made-up logs, batches and job books of growing size on {{ cores }} shared cores; made by
<code>python -m tests.benchmarks growth-whole</code> (<code>growth</code> stops at the first four sizes). The straight line is in proportion to the largest. The exponent is the
slope of the logarithms over the upper half of the sizes: 1 is in proportion, 0 does not grow.</p>
{% for s in series %}<h2>{{ s.title }}</h2>
<figure>{{ s.picture }}</figure>
<div class="wide" tabindex="0" role="region" aria-label="{{ s.title }}"><table>
<tr><th>{{ s.of }}</th><th>{{ s.what }}</th><th>a thousand</th></tr>
{% for size, cost in s.rows %}<tr><td>{{ size }}</td><td>{{ cost }}</td><td>{{ s.each(size, cost) }}</td></tr>
{% endfor %}</table></div>
<p>Exponent {{ s.exponent }}.</p>
{% endfor %}<h2>A million logs</h2>
<p>{{ million }}</p>
</main>
</body>
</html>
"""


@dataclass(frozen=True)
class Series:
    """`cost` of each size, in `unit`."""

    id: str
    title: str
    of: str
    cost_of: str
    unit: str
    sizes: tuple[int, ...]
    cost: tuple[float, ...]

    @property
    def what(self) -> str:
        return Axis(self.cost_of, self.unit).text

    @property
    def rows(self) -> list[tuple[int, str]]:
        return [(size, number(cost)) for size, cost in zip(self.sizes, self.cost, strict=True)]

    def each(self, size: int, cost: str) -> str:
        return number(1000 * float(cost) / size)

    @property
    def exponent(self) -> str:
        upper = slice(len(self.sizes) // 2 - 1, None)
        return number(float(np.polyfit(np.log(self.sizes[upper]), np.log(self.cost[upper]), 1)[0]), 2)

    @property
    def picture(self) -> str:
        many, word = (1e6, "million ") if self.sizes[-1] >= 1e6 else (1.0, "")
        x, y = np.array(self.sizes) / many, np.array(self.cost)
        line = Line("in proportion to the largest", np.array([0.0, x[-1]]), np.array([0.0, y[-1]]), "muted", "dash")
        alt = (
            f"{self.cost_of} against {self.of}, {number(y[0])} to {number(y[-1])} {self.unit}, beside a straight line."
        )
        layers = (line, Points("measured", x, y, "curve"))
        return svg(Picture(self.id, self.title, alt, Axis(word + self.of), Axis(self.cost_of, self.unit), layers))


def rows_of_a_log(folder: Path, sizes: Sequence[int]) -> tuple[Series, Series]:
    passed, peak = [], []
    for count in sizes:
        log = write_long_log(folder / "many.csv", count)
        words = ["analyse", str(log), "--bench", str(log.with_suffix(".bench.toml")), "--json", str(folder / "o.json")]
        each = [spent([*DAMPKIT, *words]) for _ in range(ROUNDS)]
        passed.append(median(s.busy_s for s in each))
        peak.append(median(s.peak_mb for s in each))
        log.unlink()
    time = Series("rows", "Rows of a log: time", "rows", "processor time", "s", tuple(sizes), tuple(passed))
    return time, Series("memory", "Rows of a log: memory", "rows", "largest memory", "MB", tuple(sizes), tuple(peak))


def logs_of_a_batch(folder: Path, sizes: Sequence[int]) -> tuple[Series, Series]:
    busy, peak = [], []
    for count in sizes:
        place = folder / f"logs{count}"
        batch.make_logs(place, count, None)
        found = batch.run(place, folder / "out", 2)
        busy.append(found.busy_s)
        peak.append(found.peak_mb)
    time = Series("logs", "Logs of a batch: time", "logs", "processor time", "s", tuple(sizes), tuple(busy))
    return time, Series("flat", "Logs of a batch: memory", "logs", "largest memory", "MB", tuple(sizes), tuple(peak))


def runs_of_a_book(folder: Path, sizes: Sequence[int]) -> Series:
    worst = []
    for count in sizes:
        place = folder / f"book{count}"
        place.mkdir()
        worst.append(1e3 * max(passed for passed, _ in batch_book.measured(count, place).values()))
    return Series(
        "book", "Runs of a job book: the slowest question", "runs", "answer", "ms", tuple(sizes), tuple(worst)
    )


def a_million(logs: Series) -> str:
    """Of short logs, by what one more costs."""
    each_s = (logs.cost[-1] - logs.cost[0]) / (logs.sizes[-1] - logs.sizes[0])
    hours = each_s * MILLION / 3600
    return (
        f"One more of these short logs costs {number(each_s)} s of processor time, so a million {number(hours)} core hours:"
        f" {number(hours / 8)} h on 8 cores, {number(hours / 64)} h on 64; at {CORE_HOUR_PRICE} a core hour (put in your"
        f" own price) {number(hours * CORE_HOUR_PRICE)}. Memory does not grow with them."
    )


def draw(folder: Path, *, whole: bool) -> None:
    """`whole`: every size, which takes hours, not the first few alone."""
    rows, logs, book = (sizes if whole else sizes[:FEW] for sizes in (ROWS, LOGS, BOOK))
    of_rows, of_logs = rows_of_a_log(folder, rows), logs_of_a_batch(folder, logs)
    series = [*of_rows, *of_logs, runs_of_a_book(folder, book)]
    page = Environment(autoescape=True, undefined=StrictUndefined).from_string(PAGE)
    text = page.render(series=series, cores=os.cpu_count(), million=a_million(of_logs[0]), style=STYLE.read_text())
    PLACE.write_text(text, encoding="utf-8")
    print(f"written: {PLACE}", file=sys.stderr)
