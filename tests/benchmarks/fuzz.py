"""Damage logs at random and read them: every answer is a Run or a refusal that says where, never a traceback or a hang.

    python -m tests.benchmarks.fuzz --count 20000

Prints how often which answer came, and the first offenders if there are any; ends with status 1 if there are.
"""

from __future__ import annotations

import argparse
import math
import random
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dampkit.bench.run import Run
from dampkit.bench.test import read_run
from dampkit.errors import BadSettings, UnreadableLog
from tests.bench.writer import Habit, habits, made_run, spec_for, write_log

SLOWEST_S = 10.0
PLACE = re.compile(r"log\.csv(:\d+|, column )|log\.csv: (no |\d|nothing|the |this |'|column|time )")
Damage = Callable[[bytes, random.Random], bytes]


@dataclass(frozen=True)
class Offender:
    case: int
    written: object  # the habit or the form of the record
    what: str


Hunt = Callable[[int, int, Path, float], tuple[Counter[str], list[Offender]]]


def flip_bytes(data: bytes, draw: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(draw.choice([1, 1, 3, 20, 200])):
        out[draw.randrange(len(out))] = draw.randrange(256)
    return bytes(out)


def cut_short(data: bytes, draw: random.Random) -> bytes:
    return data[: draw.randrange(len(data))]


def cut_middle(data: bytes, draw: random.Random) -> bytes:
    a, b = sorted(draw.randrange(len(data)) for _ in range(2))
    return data[:a] + data[b:]


def doubled(data: bytes, draw: random.Random) -> bytes:
    a = draw.randrange(len(data))
    return data[:a] + data[: draw.randrange(len(data))] + data[a:]


def _lines(change: Callable[[list[bytes], random.Random], list[bytes]]) -> Damage:
    def damage(data: bytes, draw: random.Random) -> bytes:
        return b"\n".join(change(data.split(b"\n"), draw))

    return damage


def _dropped(lines: list[bytes], draw: random.Random) -> list[bytes]:
    gone = {draw.randrange(len(lines)) for _ in range(draw.choice([1, 5, 50]))}
    return [line for i, line in enumerate(lines) if i not in gone]


def _shuffled(lines: list[bytes], draw: random.Random) -> list[bytes]:
    a, b = (draw.randrange(len(lines)) for _ in range(2))
    lines[a], lines[b] = lines[b], lines[a]
    return lines


def _inserted(lines: list[bytes], draw: random.Random) -> list[bytes]:
    odd = [
        b"",
        b"# stage 2",
        b"ERROR 17; overload",
        b",,,,",
        b";;;",
        b"NaN;NaN;NaN",
        b"1,2",
        b'"',
        b"\xff\xfe",
        b"9" * 400,
    ]
    for _ in range(draw.choice([1, 3, 30])):
        lines.insert(draw.randrange(len(lines) + 1), draw.choice(odd))
    return lines


def _cells_replaced(lines: list[bytes], draw: random.Random) -> list[bytes]:
    odd = [
        b"",
        b"NaN",
        b"---",
        b"1e999",
        b"-inf",
        b"0,673",
        b"673",
        b"1.234,5",
        b"true",
        b"overload",
        b"99999",
        b"12:00:01",
    ]
    for _ in range(draw.choice([1, 3, 100])):
        i = draw.randrange(len(lines))
        mark = draw.choice([b",", b";", b"\t"])
        cells = lines[i].split(mark)
        cells[draw.randrange(len(cells))] = draw.choice(odd)
        lines[i] = mark.join(cells)
    return lines


DAMAGES: tuple[Damage, ...] = (
    flip_bytes,
    cut_short,
    cut_middle,
    doubled,
    _lines(_dropped),
    _lines(_shuffled),
    _lines(_inserted),
    _lines(_cells_replaced),
)


def fuzz(count: int, seed: int, folder: Path, slowest_s: float = math.inf) -> tuple[Counter[str], list[Offender]]:
    """Answers counted, and every case whose answer is neither a sound Run nor a clear refusal."""
    draw = random.Random(seed)
    truth = made_run(((2.0, 2), (5.0, 3)))
    logs = [(habit, write_log(folder / "log.csv", habit, truth).read_bytes()) for habit in habits(60, seed)]
    answers: Counter[str] = Counter()
    offenders: list[Offender] = []
    for case in range(count):
        habit, data = draw.choice(logs)
        for _ in range(draw.choice([1, 1, 2])):
            data = draw.choice(DAMAGES)(data, draw) or b"\n"
        (folder / "log.csv").write_bytes(data)
        began = time.perf_counter()
        answer, trouble = _read(folder / "log.csv", habit)
        answers[answer] += 1
        took = time.perf_counter() - began
        if trouble or took > slowest_s:
            offenders.append(Offender(case, habit, trouble or f"took {took:.1f} s"))
    return answers, offenders


def _read(path: Path, habit: Habit) -> tuple[str, str]:
    """The kind of answer, and what is wrong with it."""
    try:
        run = read_run(path, spec_for(habit))
    except (UnreadableLog, BadSettings) as error:
        lines = error.lines()
        clear = len(lines) == 3 and all(len(line) < 700 and "\n" not in line for line in lines)
        return "refused", "" if clear and PLACE.search(lines[0]) else f"unclear refusal: {lines}"
    except Exception as error:
        return "traceback", f"{type(error).__name__}: {error}"
    return ("read with remarks" if run.quality else "read"), unsound(run)


def unsound(run: Run) -> str:
    """What is wrong with a run, if anything."""
    channels = (run.time_s, run.displacement_m, run.force_n)
    sound = all(np.isfinite(c).all() for c in channels) and bool((np.diff(run.time_s) > 0).all())
    return "" if sound else "a run with gaps or time running back"


def hunted(hunt: Hunt, about: str | None, count: int, slowest_s: float) -> int:
    """Run a hunt with the options of the command line and print what came of it."""
    parser = argparse.ArgumentParser(description=about, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=count)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        answers, offenders = hunt(given.count, given.seed, Path(folder), slowest_s)
    print(", ".join(f"{n} {answer}" for answer, n in answers.most_common()))
    for offender in offenders[:40]:
        print(offender)
    print(f"{len(offenders)} of {given.count} answers are wrong")
    return 1 if offenders else 0


if __name__ == "__main__":
    sys.exit(hunted(fuzz, __doc__, 20_000, SLOWEST_S))
