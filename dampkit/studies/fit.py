"""Does the fit find what went in, and do its intervals hold it as often as they say? Made-up dampers on made-up benches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from dampkit.app.progress import Progress
from dampkit.curves.trace import trace
from dampkit.damper.declared import DamperSpec
from dampkit.damper.identify import identify
from dampkit.damper.unit import Unit
from dampkit.errors import DampkitError
from dampkit.files import write_text
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Estimate, median
from dampkit.studies.made import as_run, sizes
from dampkit.virtual.plant import Kind, Plant
from dampkit.virtual.programme import Programme, standard_programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.truth import truth
from dampkit.virtual.units import random_unit

KINDS: tuple[Kind, ...] = ("twin-tube", "monotube", "lever-arm")
SPEEDS_M_S = {
    "telescopic": {
        "eight stages": (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0),
        "crank": (0.005, 0.04, 0.08, 0.15, 0.3, 0.6, 1.0),
        "five stages": (0.005, 0.05, 0.1, 0.3, 1.0),
        "three stages": (0.005, 0.1, 0.5),
    },
    "lever-arm": {
        "eight stages": (0.005, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3, 0.5),
        "crank": (0.005, 0.03, 0.06, 0.1, 0.2, 0.35, 0.5),
        "five stages": (0.005, 0.04, 0.08, 0.2, 0.5),
        "three stages": (0.005, 0.06, 0.2),
    },
}
CRANK_RATIO = {"eight stages": 0.0, "crank": 0.25, "five stages": 0.0, "three stages": 0.0}
LADDERS = ("eight stages", "crank", "five stages")
SHORT = ("three stages",)
BITS = (8, 10, 12, 16)
FORCE_RANGE_N, TRAVEL_RANGE_M = 5000.0, 0.06  # what the bits divide
GROUP = 15  # units that share a bench, simulated side by side
TITLE = """# Fit study

Made-up dampers on made-up benches (dampkit/virtual) through the fit: noise 1 to 8 N, 8 to 16 bits over 5 kN and 60 mm,
channel delay up to 2 ms, moving mass up to 1 kg; three ladders of stages, and a programme of three stages. An interval is meant to hold the truth in
95 % of the runs. The truth of lost motion is the same measure on a bench without noise, delay and mass.
Remade with `python -m dampkit.studies fit OUT.md --runs {runs} --seed {seed}`.

"""


@frozen
class Trial:
    """One bench and a group of units on it."""

    kind: Kind
    programme: str
    rig: Rig
    seed: int


@frozen
class Outcome:
    """One parameter of one run; value, low and high are None where the fit says that the log cannot tell."""

    kind: str
    programme: str
    parameter: str
    true_value: float
    estimate: Estimate | None

    @property
    def holds(self) -> bool | None:
        e = self.estimate
        return None if e is None else e.low <= self.true_value <= e.high


def write_fit_study(runs: int, seed: int, jobs: int, out: Path) -> Path:
    """Run the study over `jobs` processes, write the table to `out`, and return the path."""
    from joblib import Parallel, delayed

    todo = [*trials(runs, seed), *trials(runs, seed, SHORT)]
    progress = Progress(len(todo))
    run = Parallel(n_jobs=jobs, return_as="generator")(delayed(run_trial)(t) for t in todo)
    found = [row for some in progress.over(run) for row in some]
    progress.end()
    out.parent.mkdir(parents=True, exist_ok=True)
    return write_text(out, TITLE.format(runs=runs, seed=seed) + tables(found))


def trials(runs_per_kind: int, seed: int = 1, programmes: Sequence[str] = LADDERS) -> list[Trial]:
    """Benches over noise 1 to 8 N, 8 to 16 bits, delay up to 2 ms, moving mass up to 1 kg, and some programmes in turn."""
    rng = np.random.default_rng(seed)
    out = []
    for kind in KINDS:
        for group in range(-(-runs_per_kind // GROUP)):
            bits = BITS[group % len(BITS)]
            rig = Rig(
                force_noise_n=float(rng.uniform(1, 8)),
                force_step_n=FORCE_RANGE_N / 2**bits,
                displacement_step_m=TRAVEL_RANGE_M / 2**bits,
                force_delay_s=float(rng.uniform(0, 0.002)),
                moving_mass_kg=float(rng.uniform(0, 1)),
            )
            out.append(Trial(kind, programmes[group % len(programmes)], rig, int(rng.integers(2**31))))
    return out


def run_trial(trial: Trial) -> list[Outcome]:
    """Simulate and fit one group; also once without noise, delay and mass, for the truth of lost motion."""
    rng = np.random.default_rng(trial.seed)
    units = [random_unit(rng, trial.kind) for _ in range(GROUP)]
    programme = programme_of(trial)
    still = replace(trial.rig, force_noise_n=0.0, force_step_n=1e-6, displacement_noise_m=0.0, displacement_step_m=1e-9)
    clean = run_bench(units, programme, replace(still, force_delay_s=0.0, moving_mass_kg=0.0), rng)
    logs = run_bench(units, programme, trial.rig, rng)
    out: list[Outcome] = []
    for unit, log, quiet in zip(units, logs, clean, strict=True):
        try:
            fit, ideal = fitted(unit, log, trial.rig), fitted(unit, quiet, still)
        except DampkitError:
            continue
        out += outcomes(trial, unit, fit, ideal)
    return out


def programme_of(trial: Trial) -> Programme:
    table = SPEEDS_M_S["lever-arm" if trial.kind == "lever-arm" else "telescopic"]
    return replace(standard_programme(table[trial.programme]), crank_ratio=CRANK_RATIO[trial.programme])


def fitted(unit: Plant, log: Log, rig: Rig) -> Unit:
    """The fit of a log taken straight into a run, zero known."""
    density = float(unit.oil.density_kg_m3(20.0))
    spec = DamperSpec.model_validate({"damper": {**sizes(unit), "oil_density_kg_m3": density}})
    return identify(trace(as_run(log, rig)), spec)


def outcomes(trial: Trial, unit: Plant, fit: Unit, ideal: Unit) -> Iterator[Outcome]:
    """Every parameter that has a truth."""

    def one(parameter: str, true_value: float, estimate: Estimate | None) -> Outcome:
        return Outcome(trial.kind, trial.programme, parameter, true_value, estimate)

    facts = truth(unit)
    yield one("friction, N", facts.friction_n, fit.friction_force_n)
    yield one("gas force, N", -facts.gas_force_n, fit.gas_force_n)
    for i, direction in enumerate(DIRECTIONS):
        valve = fit.side(direction).law
        yield one(
            f"bleed area {direction}, mm2", facts.bleed_area_mm2[i], None if valve is None else valve.bleed_area_mm2
        )
        yield one(
            f"blow-off force {direction}, N", facts.blowoff_force_n[i], None if valve is None else valve.blowoff_force_n
        )
        lost = ideal.side(direction).lost_motion_mm
        if lost is not None:
            yield one(f"lost motion {direction}, mm", lost.value, fit.side(direction).lost_motion_mm)


def tables(found: Sequence[Outcome]) -> str:
    """The ladders together, and the programme of three stages."""
    parts = (("Ladders of five to eight stages", LADDERS), ("Three stages", SHORT))
    return "\n".join(f"## {name}\n\n{table([o for o in found if o.programme in of])}" for name, of in parts)


def table(found: Sequence[Outcome]) -> str:
    """A Markdown table: per kind and parameter how many were established, their error and how often the interval held."""
    rows = [
        "| kind | parameter | runs | established | median error | error, 95 % of runs | interval holds the truth |",
        "|---|---|---|---|---|---|---|",
    ]
    for kind, parameter in dict.fromkeys((o.kind, o.parameter) for o in found):
        mine = [o for o in found if (o.kind, o.parameter) == (kind, parameter)]
        known = [(o.true_value, o.estimate) for o in mine if o.estimate is not None]
        if not known:
            rows.append(f"| {kind} | {parameter.rpartition(', ')[0]} | {len(mine)} | 0 % | | | |")
            continue
        errors = np.array([abs(e.value - t) for t, e in known])
        middle = median([abs(t) for t, _ in known])
        unit = parameter.rpartition(", ")[2]
        share = f" ({100 * median(errors) / middle:.2f} %)" if middle > 10 * median(errors) else ""
        held = np.mean([o.holds for o in mine if o.holds is not None])
        rows.append(
            f"| {kind} | {parameter.rpartition(', ')[0]} | {len(mine)} | {100 * len(known) / len(mine):.0f} % "
            f"| {median(errors):.3g} {unit}{share} | {np.quantile(errors, 0.95):.3g} {unit} | {100 * held:.1f} % |"
        )
    return "\n".join(rows) + "\n"
