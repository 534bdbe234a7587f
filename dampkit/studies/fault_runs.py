"""The runs of the fault study: made-up units on made-up benches, each with what is wrong with it."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np

from dampkit.curves.trace import trace
from dampkit.damper.declared import DamperSpec
from dampkit.damper.identify import identify
from dampkit.errors import DampkitError
from dampkit.faults.diagnose import diagnose
from dampkit.faults.under_test import UnderTest
from dampkit.frozen import frozen
from dampkit.outcome.conclude import conclude
from dampkit.outcome.decision_record import Action
from dampkit.studies.made import as_run, sizes, through_file, with_reference
from dampkit.virtual.dialects import CLOCK, GERMAN, INCH, PLAIN, Dialect
from dampkit.virtual.faulted import BY_CODE, FAULTS, faulted
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import Kind, Plant
from dampkit.virtual.programme import STANDARD_SPEEDS_M_S, Programme, standard_programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.units import random_unit

KINDS: tuple[Kind, ...] = get_args(Kind)
SPEEDS_M_S: dict[str, tuple[float, ...]] = {
    "lever-arm": (0.005, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5),
    "friction-disc": (0.005, 0.05, 0.1, 0.2, 0.3, 0.4),
}
GOOD = Rig(sample_rate_hz=500.0)
BENCHES: dict[str, Rig] = {
    "good": GOOD,
    "delay and mass": replace(GOOD, force_delay_s=0.003, moving_mass_kg=2.0),
    "slider-crank, no probe": replace(GOOD, temperature="none"),
    "noise": replace(GOOD, force_noise_n=10.0),
    "hot": GOOD,
    "unpressurised": GOOD,
}
PAIRS: tuple[tuple[str, str], ...] = (
    ("low_oil", "high_friction"),
    ("low_oil", "internal_leak"),
    ("loose_mount", "internal_leak"),
    ("loose_mount", "high_friction"),
    ("weak_blowoff", "high_friction"),
    ("blocked_bleed", "loose_mount"),
    ("low_gas_pressure", "internal_leak"),
    ("weak_blowoff", "low_gas_pressure"),
    ("weak_blowoff", "blocked_bleed"),
)
SAID_AS = {"dead_rebound": "valve_stuck_open", "swapped_valves": "valves_swapped"}  # plant change -> finding
SIDE_BY_SIDE = 60  # units in one integration
SHARE_AS_CSV = 0.25  # of the runs go through a written log and the reader; the rest straight to the curves
WARM_CYCLES = 30.0  # at the top speed, and then the third stage again
CRANK_RATIO, HOT_C = 0.2, 65.0

Faults = tuple[tuple[str, float], ...]


@frozen
class Batch:
    """Units that run side by side: one kind, one programme, one bench; what is wrong with each."""

    seed: int
    kind: Kind
    programme: str
    bench: str
    faults: tuple[Faults, ...]


@frozen
class Row:
    """One run of the study: what was put in, what was said (code, level, likelihood), and the verdict's action."""

    kind: str
    programme: str
    bench: str
    habit: str
    faults: Faults
    said: tuple[tuple[str, str, float], ...]
    error: str = ""
    action: Action | None = None

    @property
    def severity(self) -> float:
        """Of the worst fault; 0 for a sound unit."""
        return max((severity for _, severity in self.faults), default=0.0)

    @property
    def wanted(self) -> frozenset[str]:
        return frozenset(SAID_AS.get(code, code) for code, _ in self.faults)

    @property
    def found(self) -> frozenset[str]:
        return frozenset(code for code, level, _ in self.said if level == "found")


def batches(sound: int, each: int, pairs: int, seed: int) -> list[Batch]:
    """The study: so many sound units, units of each kind, fault and severity, and units of each kind and pair."""
    cells: dict[tuple[Kind, str, str], list[Faults]] = {}
    for i in range(sound):
        kind = KINDS[i % len(KINDS)]
        bench = tuple(BENCHES)[(i // len(KINDS)) % len(BENCHES)]
        if bench == "unpressurised" and kind != "twin-tube":
            bench = "good"
        warm = bench == "good" and kind != "friction-disc" and i // (len(KINDS) * len(BENCHES)) % 3 == 2
        cells.setdefault((kind, "warm" if warm else "ladder", bench), []).append(())
    for kind in KINDS:
        for fault in (f for f in FAULTS if kind in f.kinds):
            programme = "warm" if fault.code == "fade" else "ladder"
            members: list[Faults] = [((fault.code, float(severity)),) for severity in range(1, 6) for _ in range(each)]
            cells.setdefault((kind, programme, "good"), []).extend(members)
        for first, second in PAIRS:
            if kind in BY_CODE[first].kinds and kind in BY_CODE[second].kinds and kind != "lever-arm":
                cells.setdefault((kind, "ladder", "good"), []).extend([((first, 3.0), (second, 3.0))] * pairs)
    out: list[Batch] = []
    for (kind, programme, bench), members in cells.items():
        for start in range(0, len(members), SIDE_BY_SIDE):
            out.append(Batch(seed + len(out), kind, programme, bench, tuple(members[start : start + SIDE_BY_SIDE])))
    order = np.random.default_rng(seed).permutation(len(out))  # so that a study cut short still holds some of all
    return [out[i] for i in order]


def run_batch(batch: Batch) -> list[Row]:
    """Simulate and analyse one batch."""
    rng = np.random.default_rng(batch.seed)
    sound = [_unit(rng, batch, faults) for faults in batch.faults]
    plants = [_with(unit, faults) for unit, faults in zip(sound, batch.faults, strict=True)]
    noise = float(rng.choice([1.0, 2.0, 4.0]))
    rig = BENCHES[batch.bench] if batch.bench == "noise" else replace(BENCHES[batch.bench], force_noise_n=noise)
    logs = run_bench(plants, _programme(batch), rig, rng)
    rows = []
    for unit, faults, log in zip(sound, batch.faults, logs, strict=True):
        habit = (PLAIN, GERMAN, INCH, CLOCK)[int(rng.integers(4))] if rng.random() < SHARE_AS_CSV else None
        said, action, error = _said(log, rig, habit, damper_file(unit))
        name = "-" if habit is None else habit.name
        rows.append(Row(batch.kind, batch.programme, batch.bench, name, faults, said, error, action))
    return rows


def _unit(rng: np.random.Generator, batch: Batch, faults: Faults) -> Plant:
    """A sound unit; charged where a fault needs a charge."""
    needs_charge = batch.kind == "twin-tube" and any(code == "low_gas_pressure" for code, _ in faults)
    unit = random_unit(rng, batch.kind)
    while needs_charge and unit.gas_pressure_pa <= 1.05 * ATMOSPHERE_PA:
        unit = random_unit(rng, batch.kind)
    if batch.bench == "unpressurised":
        unit = replace(unit, gas_pressure_pa=ATMOSPHERE_PA)
    return replace(unit, start_c=HOT_C, ambient_c=HOT_C) if batch.bench == "hot" else unit


def _with(unit: Plant, faults: Faults) -> Plant:
    for code, severity in faults:
        unit = faulted(unit, code, severity)
    return unit


def _programme(batch: Batch) -> Programme:
    speeds = SPEEDS_M_S.get(batch.kind, STANDARD_SPEEDS_M_S)
    made = standard_programme(speeds)
    if batch.programme == "warm":
        ladder = made.drives
        made = replace(made, drives=(*ladder[:-1], replace(ladder[-1], cycles=WARM_CYCLES), ladder[2]))
    return replace(made, crank_ratio=CRANK_RATIO if batch.bench.startswith("slider-crank") else 0.0)


def damper_file(unit: Plant) -> DamperSpec:
    """The damper file of a unit: its sizes and what it reads when good at 20 degC."""
    speeds = SPEEDS_M_S.get(unit.kind, STANDARD_SPEEDS_M_S)[1:]
    return with_reference(sizes(unit), unit, np.array(speeds), 20.0)


Said = tuple[tuple[str, str, float], ...]


def _said(log: Log, rig: Rig, habit: Dialect | None, spec: DamperSpec) -> tuple[Said, Action | None, str]:
    try:
        curves = trace(as_run(log, rig) if habit is None else through_file(log, habit))
        test = UnderTest(curves, identify(curves, spec), spec)
        diagnosis = diagnose(test)
        action = conclude(test, diagnosis, None).verdict.action
    except DampkitError as error:
        return (), None, f"{type(error).__name__}: {error}".splitlines()[0]
    return tuple((f.code, f.level, f.likelihood) for f in diagnosis.findings), action, ""
