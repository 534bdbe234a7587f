"""Damage records of every form and kind of file, bench.toml files and stored results, and read them.

    python -m tests.benchmarks.fuzz_forms --count 5000

Every answer is a test that can be traced or a refusal in three plain lines, within seconds, never a traceback, a warning
or a run with gaps. Prints how often which answer came and the first offenders; ends with status 1 if there are any.
"""

from __future__ import annotations

import json
import math
import random
import sys
import time
import warnings
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from dampkit.analyse import analyse
from dampkit.bench.declared import BenchSpec
from dampkit.bench.test import Test, read_test
from dampkit.bench.toml_file import load_toml
from dampkit.curves.trace import trace
from dampkit.errors import DampkitError, printable
from dampkit.report.page import stored_result
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Log
from tests.benchmarks.fuzz import DAMAGES, Offender, cut_middle, cut_short, doubled, flip_bytes, hunted, unsound
from tests.virtual.forms_cases import ALL_FORMS, log_of

SLOWEST_S = 5.0
SHORT = Programme((Drive.at_speed(0.3, 2.0), Drive.at_speed(0.5, 3.0)))
SHORT_ON_A_CRANK = Programme(SHORT.drives, crank_ratio=0.25)
BINARY = (flip_bytes, cut_short, cut_middle, doubled)
TOML = """[log]
form = "time-series"
sheet = "Run 1"
[columns]
time = "time s"
angle = "a"
[units]
force = "250 N"
[signs]
force_positive = "tension"
[timing]
crank_rpm = 90.0
[motion]
stroke_mm = 50.0
rod_ratio = 4.0
[zero]
force_n = 0.0
"""


@dataclass(frozen=True)
class Prey:
    """What is damaged: files of one test with their bench.toml, or one file of another kind."""

    form: str
    files: dict[str, bytes]
    bench: str = ""


@cache
def prey() -> tuple[Prey, ...]:
    out = []
    for name, (form, programme) in ALL_FORMS.items():
        short = SHORT_ON_A_CRANK if programme.crank_ratio else SHORT
        written = form(log_of(short), short)
        out.append(Prey(name, written.files, written.bench))
    out.append(Prey("bench.toml", {"bench.toml": TOML.encode()}))
    return (*out, Prey("stored result", {"result.json": _result(log_of(SHORT))}))


def _result(log: Log) -> bytes:
    """A stored result of a made-up run, small enough to be damaged often."""
    from dampkit.bench.run import Run

    run = Run("made-up", "0" * 64, log.time_s.size, log.time_s, log.displacement_m, log.force_n)
    return json.dumps(analyse(run).to_dict()).encode()


def fuzz_forms(count: int, seed: int, folder: Path, slowest_s: float = math.inf) -> tuple[Counter[str], list[Offender]]:
    """Answers counted, and every case whose answer is neither sound nor a clear refusal."""
    draw = random.Random(seed)
    answers: Counter[str] = Counter()
    offenders: list[Offender] = []
    for case in range(count):
        one = draw.choice(prey())
        files = dict(one.files)
        for name in draw.sample(sorted(files), k=min(len(files), draw.choice([1, 1, 2]))):
            files[name] = _damaged(files[name], draw)
        for name, data in files.items():
            (folder / name).write_bytes(data)
        began = time.perf_counter()
        answer, trouble = _answer(one, [folder / name for name in files])
        took = time.perf_counter() - began
        answers[answer] += 1
        if trouble or took > slowest_s:
            offenders.append(Offender(case, one.form, trouble or f"took {took:.1f} s"))
    return answers, offenders


def _damaged(data: bytes, draw: random.Random) -> bytes:
    binary = data[:2] in (b"PK", b"\x1f\x8b", b"\xd0\xcf")
    return draw.choice(BINARY if binary else DAMAGES)(data, draw) or b"\n"


def _answer(of: Prey, paths: list[Path]) -> tuple[str, str]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            if of.form == "bench.toml":
                load_toml(paths[0], BenchSpec)
                return "declared", ""
            if of.form == "stored result":
                stored_result(paths[0])
                return "loaded", ""
            return _traced(read_test(paths, _spec(of, paths[0].parent)))
    except DampkitError as error:
        lines = error.lines()
        clear = len(lines) >= 2 and all(len(line) < 1500 and line == printable(line) for line in lines)
        return "refused", "" if clear and "\n" not in "".join(lines) else f"unclear refusal: {lines}"
    except Exception as error:
        return "traceback", f"{type(error).__name__}: {error}"


def _spec(of: Prey, folder: Path) -> BenchSpec:
    place = folder / "declared.toml"
    place.write_text(of.bench, encoding="utf-8")
    return load_toml(place, BenchSpec)


def _traced(test: Test) -> tuple[str, str]:
    run = test.run
    if trouble := unsound(run):
        return "unsound", trouble
    curves = trace(run)
    used = sum(span.to_row - span.from_row for span in curves.rows)
    return "traced", "" if used == run.rows_used else f"{used} of {run.rows_used} rows accounted for"


if __name__ == "__main__":
    sys.exit(hunted(fuzz_forms, __doc__, 5_000, SLOWEST_S))
