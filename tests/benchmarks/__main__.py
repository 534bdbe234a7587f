"""The benchmark room: ratios, each with what was wanted, against peers on the same work: python -m tests.benchmarks [PART ...]

`run`    a standard run with vehicle and reference, and one that is advised, against bare imports and a bare read of the
         same log, and against a script by hand
`long`   a log of 2,000,000 rows against the same, and its memory
`batch`  many logs on two cores, on one, and merely parsed
`ride`   64 rides against solve_ivp at the same accuracy
`fit`    the fit against lmfit with its finite differences, and against scipy with our exact Jacobian
`growth` cost against size of a log, a batch and a job book, drawn into reports/growth.html; `growth-whole` up to 8 million
         rows, 10,000 logs and 100,000 runs, which takes an hour or two

The first five without any named. Medians of what was done by turns in one run; nothing here fails on a time. Figures mean
little on a busy machine, ratios of processor time still something: the load is printed.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

from tests.benchmarks import batch, fit, growth, ride
from tests.benchmarks.long_log import write_long_log
from tests.benchmarks.processes import DAMPKIT, Spent, Wanted, beyond, by_turns, ratio

RUNS = Path(__file__).parents[2] / "sample_runs"
STEM = RUNS / "sound_twin_tube"
IMPORTS = "import pandas, scipy.optimize"
ROUNDS, LOGS, ROWS = 5, 120, 2_000_000


def python(code: str) -> list[str]:
    return [sys.executable, "-c", code]


def bare(log: Path) -> list[str]:
    return python(f"{IMPORTS}; pandas.read_csv({str(log)!r})")


def analyse(log: Path, out: Path, **declared: Path) -> list[str]:
    words = [*DAMPKIT, "analyse", str(log), "--json", str(out)]
    return [*words, *(word for kind, path in declared.items() for word in (f"--{kind}", str(path)))]


def off_reference(folder: Path) -> Path:
    """The sample's damper with a reference so much weaker that both directions are to be set."""
    text = re.sub(
        r"(_force_n = )\[(.*?)\]",
        lambda m: f"{m[1]}[{', '.join(f'{0.7 * float(n):.1f}' for n in m[2].split(','))}]",
        STEM.with_suffix(".damper.toml").read_text(),
    )
    path = folder / "off.damper.toml"
    path.write_text(text)
    return path


def of_a_run(folder: Path) -> Iterator[Wanted]:
    log, out = STEM.with_suffix(".csv"), folder / "out.json"
    bench, damper, car = (STEM.with_suffix(f".{kind}.toml") for kind in ("bench", "damper", "vehicle"))
    found = by_turns(
        {
            "bare": bare(log),
            "imports": python(IMPORTS),
            "run": analyse(log, out, bench=bench, damper=damper, vehicle=car),
            "without": analyse(log, out, bench=bench, damper=damper),
            "advised": analyse(log, out, bench=bench, damper=off_reference(folder), vehicle=car),
            "by hand": [sys.executable, "-m", "tests.benchmarks.by_hand", str(log), str(damper)],
            "typer": python("import typer"),
            "help": [*DAMPKIT, "--help"],
        },
        ROUNDS,
    )
    yield Wanted(
        "a standard run over import and read", ratio(found["run"], found["bare"]), 1.5, more=told(found["run"])
    )
    yield Wanted("the same, advised", ratio(found["advised"], found["bare"]), 1.5, more=told(found["advised"]))
    yield Wanted("processor time beyond that of the import, over it", beyond(found["run"], found["imports"]), 0.4)
    yield Wanted("the same without a vehicle", beyond(found["without"], found["imports"]), 0.2)
    yield Wanted("a standard run over a script by hand", ratio(found["run"], found["by hand"]), 1.5)
    yield Wanted("dampkit --help over import typer", ratio(found["help"], found["typer"]), 1.5)


def of_a_long_log(folder: Path) -> Iterator[Wanted]:
    log = write_long_log(folder / "long.csv", ROWS)
    ours = analyse(log, folder / "out.json", bench=log.with_suffix(".bench.toml"))
    found = by_turns({"bare": bare(log), "ours": ours}, 3)
    size_mb = log.stat().st_size / 1e6
    yield Wanted(
        f"{ROWS} rows over import and read", ratio(found["ours"], found["bare"]), 1.7, more=told(found["ours"])
    )
    peak = median(s.peak_mb for s in found["ours"]) * 1.048576
    yield Wanted(f"memory over the file's {size_mb:.0f} MB", peak / size_mb, 4.0)


def of_a_batch(folder: Path) -> Iterator[Wanted]:
    logs = batch.make_logs(folder / "logs", LOGS, STEM.with_suffix(".csv"))
    few = batch.make_logs(folder / "few", LOGS // 6, STEM.with_suffix(".csv"))
    two, one = (batch.run(folder / "logs", folder / "out", jobs) for jobs in (2, 1))
    start = batch.run(folder / "few", folder / "out", 2)
    each_s = (two.busy_s - start.busy_s) / (len(logs) - len(few))  # processor time: others may be using the cores
    parsed_s = median(batch.parsed_s(logs[: batch.PARSED]) for _ in "123")
    more = (
        f"{each_s:.2f} s a log, {parsed_s:.3f} s to parse it; {len(logs) / two.passed_s:.1f} logs/s as the machine was"
    )
    yield Wanted("two cores over parsing on one, by processor time a log", 2 * parsed_s / each_s, 0.35, False, more)
    yield Wanted("two cores over one, by processor time", 2 * one.busy_s / two.busy_s, 1.85, False)
    yield Wanted(f"memory of {len(logs)} logs over {len(few)}", two.peak_mb / start.peak_mb, 1.05)


def of_rides(_: Path) -> Iterator[Wanted]:
    for name, times in ride.times().items():
        yield Wanted(f"64 rides, {name}: solve_ivp over ours", times, 150.0, False)


def of_the_fit(_: Path) -> Iterator[Wanted]:
    for name, (scipy, exact, lmfit) in fit.times().items():
        more = f"with the exact Jacobian scipy {scipy:.1f}, lmfit {exact:.1f}"
        yield Wanted(f"fit of {name}: lmfit over ours", lmfit, 10.0, False, more)


PARTS: dict[str, Callable[[Path], Iterator[Wanted]]] = {
    "run": of_a_run,
    "long": of_a_long_log,
    "batch": of_a_batch,
    "ride": of_rides,
    "fit": of_the_fit,
}


def told(side: list[Spent]) -> str:
    middle = [median(values) for values in zip(*((s.passed_s, s.busy_s, s.peak_mb) for s in side), strict=True)]
    return "{:.2f} s, processor {:.2f} s, {:.0f} MB".format(*middle)


def main(wanted: list[str]) -> None:
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    for name in wanted or PARTS:
        with tempfile.TemporaryDirectory() as folder:
            if name in ("growth", "growth-whole"):
                growth.draw(Path(folder), whole=name == "growth-whole")
                continue
            for row in PARTS[name](Path(folder)):
                print(row.line(), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
