"""The runs of the mixed study: any unit on any bench, drive and programme through the whole analysis, one record each."""

from __future__ import annotations

import time
import tomllib
import traceback
import warnings
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.analyse import analyse_job
from dampkit.bench.run import Run
from dampkit.errors import DampkitError
from dampkit.frozen import frozen
from dampkit.job import Job
from dampkit.studies.beyond import is_beyond
from dampkit.studies.fault_runs import PAIRS, SAID_AS
from dampkit.studies.made import as_run, through_file
from dampkit.studies.mix_said import Row, said
from dampkit.virtual.dialects import CLOCK, GERMAN, INCH, PLAIN
from dampkit.virtual.faulted import BY_CODE, FAULTS
from dampkit.virtual.mixed import (
    REFERENCE_C,
    STEPS_PER_CYCLE,
    Faults,
    MixedCase,
    Wanted,
    car_for,
    mixed_cases,
    random_rig,
)
from dampkit.virtual.papers import damper_toml, vehicle_toml
from dampkit.virtual.plant import Kind
from dampkit.virtual.programmes import DRIVES, PLANS, programme
from dampkit.virtual.shapes import SHAPES

KIND_SHARE: dict[Kind, float] = {
    "twin-tube": 0.35,
    "monotube": 0.3,
    "lever-arm": 0.2,
    "friction-disc": 0.15,
}  # of sound units
KINDS = tuple(KIND_SHARE)
SEVERITY_SHARE = (0.1, 0.2, 0.4, 0.2, 0.1)
RATES_HZ = (200.0, 300.0, 500.0)  # as slow as benches record: a study of many runs is then affordable
SHARE_OF_PAIRS = 0.1  # of faulty units have two faults
SHARE_OF_CARS = 0.06  # of the runs have a vehicle declared as well: its ride takes time
SHARE_AS_CSV = 0.1  # of the runs go through a written log and the reader
GROUP = 96  # runs in one integration
DIALECTS = (PLAIN, GERMAN, INCH, CLOCK)
Papers = Literal["reference", "sizes", "none"]
PAPERS: tuple[Papers, ...] = ("reference", "sizes", "none")
PAPERS_SHARE = (0.85, 0.1, 0.05)
SINGLE: tuple[tuple[Kind, str], ...] = tuple(
    (kind, fault.code) for kind in KINDS for fault in FAULTS if kind in fault.kinds
)
BOTH: tuple[tuple[Kind, tuple[str, str]], ...] = tuple(
    (kind, pair) for kind in KINDS for pair in PAIRS if all(kind in BY_CODE[code].kinds for code in pair)
)


@frozen
class MixRun:
    """One run of the study. `key` is its name for ever: the same seed and key give the same unit, bench and papers."""

    key: str
    wanted: Wanted
    papers: Papers
    car: bool
    habit: int | None  # of DIALECTS; None goes straight to the curves


def plan(sound: int, faulty: int, seed: int) -> list[MixRun]:
    """All runs of a study, each drawn from its own number, so that a larger study holds a smaller one."""
    return [_drawn(seed, i, False) for i in range(sound)] + [_drawn(seed, i, True) for i in range(faulty)]


def _drawn(seed: int, number: int, faulty: bool) -> MixRun:
    rng = np.random.default_rng([seed, number, int(faulty)])
    kind, faults = (
        _fault(rng, number) if faulty else (KINDS[int(rng.choice(len(KINDS), p=tuple(KIND_SHARE.values())))], ())
    )
    wanted = Wanted(
        seed=int(rng.integers(2**31)),
        kind=kind,
        faults=faults,
        programme=str(rng.choice(list(PLANS))),
        drive=str(rng.choice(list(DRIVES))),
        valves=str(rng.choice(list(SHAPES))),
        rig=replace(random_rig(rng), sample_rate_hz=float(rng.choice(RATES_HZ))),
    )
    papers = PAPERS[int(rng.choice(len(PAPERS), p=PAPERS_SHARE))]
    car = papers == "reference" and bool(rng.random() < SHARE_OF_CARS)
    habit = int(rng.integers(len(DIALECTS))) if rng.random() < SHARE_AS_CSV else None
    return MixRun(f"{'faulty' if faulty else 'sound'} {number}", wanted, papers, car, habit)


def _fault(rng: np.random.Generator, number: int) -> tuple[Kind, Faults]:
    """Kinds and single faults in turn; of some two at once."""
    severities = rng.choice(np.arange(1.0, 6.0), size=2, p=SEVERITY_SHARE)
    if rng.random() < SHARE_OF_PAIRS:
        kind, pair = BOTH[int(rng.integers(len(BOTH)))]
        return kind, tuple((code, float(s)) for code, s in zip(pair, severities, strict=True))
    kind, code = SINGLE[number % len(SINGLE)]
    return kind, ((code, float(severities[0])),)


def groups(runs: Sequence[MixRun], seed: int) -> list[list[MixRun]]:
    """Runs of about one length together, for one integration; in random order, so that a part is like the whole."""
    by_length = sorted(runs, key=_steps)
    made = [by_length[i : i + GROUP] for i in range(0, len(by_length), GROUP)]
    return [made[i] for i in np.random.default_rng(seed).permutation(len(made))]


def _steps(run: MixRun) -> int:
    w = run.wanted
    return int(programme(str(w.programme), w.kind, DRIVES[str(w.drive)]).steps(STEPS_PER_CYCLE).size)


def run_group(runs: Sequence[MixRun]) -> list[Row]:
    """Make and analyse some runs; one record each."""
    start = time.process_time()
    cases = mixed_cases([run.wanted for run in runs])
    made_s = (time.process_time() - start) / len(runs)
    return [_row(run, case) | {"made_s": round(made_s, 3)} for run, case in zip(runs, cases, strict=True)]


def _row(run: MixRun, case: MixedCase) -> Row:
    """What was put in and what was said. An error is recorded, and one that is no refusal with where it came from."""
    start = time.process_time()
    row: Row = _put_in(run, case) | {"error": "", "crash": "", "warnings": []}
    try:
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            result = analyse_job(log_of(run, case), job_of(run, case))
        row["warnings"] = sorted({f"{w.category.__name__}: {w.message} ({w.filename.rpartition('dampkit/')[2]}:{w.lineno})" for w in caught})  # fmt: skip
        row |= said(result, case)
    except DampkitError as error:
        row["error"] = f"{type(error).__name__}: {error}".splitlines()[0]
    except Exception:
        row["crash"] = traceback.format_exc().strip()[-600:]
    row["analysed_s"] = round(time.process_time() - start, 3)
    return row


def log_of(run: MixRun, case: MixedCase) -> Run:
    if run.habit is None:
        return as_run(case.log, case.rig, case.declared_zero_n)
    dialect = DIALECTS[run.habit]
    return through_file(case.log, dialect, case.papers(dialect)["run.bench.toml"].decode())


def job_of(run: MixRun, case: MixedCase) -> Job:
    if run.papers == "none":
        return Job()
    damper = tomllib.loads(damper_toml(case.sound, 0, case.speeds_m_s, REFERENCE_C))
    if run.papers == "sizes":
        del damper["reference"]
    vehicle = tomllib.loads(vehicle_toml(car_for(case.sound))) if run.car else None
    return Job.load(damper=damper, vehicle=vehicle)


def _put_in(run: MixRun, case: MixedCase) -> Row:
    t = case.truth
    return {
        "key": run.key,
        "kind": t.kind,
        "faults": [list(fault) for fault in t.faults],
        "beyond": [is_beyond(case, code) for code, _ in t.faults],
        "programme": t.programme,
        "drive": t.drive,
        "valves": t.valves,
        "papers": run.papers,
        "car": run.car,
        "habit": "-" if run.habit is None else DIALECTS[run.habit].name,
        "zero_n": [round(t.cell_zero_n, 1), t.zero_declared],
        "rows": int(case.log.time_s.size),
        "seed": run.wanted.seed,
    }


def wanted_codes(row: Row) -> frozenset[str]:
    """Findings that the faults put in should lead to."""
    return frozenset(SAID_AS.get(code, code) for code, _ in row["faults"])
