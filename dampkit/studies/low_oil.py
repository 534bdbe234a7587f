"""Low oil over sizes, charge and carried gas: is it named, and does the interval of the oil to add hold what is missing?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from dampkit.bench.run import Run
from dampkit.curves.trace import trace
from dampkit.damper.areas import EXPANSION_PER_K
from dampkit.damper.declared import DamperSpec, Oil
from dampkit.damper.identify import identify
from dampkit.errors import DampkitError
from dampkit.faults.diagnose import diagnose
from dampkit.faults.limits import limits_hash
from dampkit.faults.under_test import UnderTest
from dampkit.files import write_text
from dampkit.frozen import frozen
from dampkit.outcome.oil_state import oil_state
from dampkit.outcome.record import EstimateRecord
from dampkit.quantities import median
from dampkit.studies.made import as_run, sizes, with_reference
from dampkit.studies.mix_counts import Share
from dampkit.virtual.faulted import faulted
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import STANDARD_SPEEDS_M_S, standard_programme
from dampkit.virtual.rig import Rig, Setup, run_benches
from dampkit.virtual.shapes import SHAPES, shaped
from dampkit.virtual.units import Aim, random_unit, valved

SPEEDS_M_S = (0.005, 0.05, 0.1, 0.2, 0.4)
CYCLES, STEPS_PER_CYCLE, RATE_HZ = 4.0, 160, 300.0
BENCH_MIDDLE_MM = 400.0
PUT_IN: tuple[tuple[str, float, float], ...] = (("low_oil", 3.0, 0.7), ("aerated_oil", 2.0, 0.15), ("", 0.0, 0.15))
MADE = """Made-up twin tubes (dampkit/virtual) with a bore of 25 to 40 mm, a rod of a third to 0.6 of it, with and without
charge, the valves of the mixed study, and 0.05 to 5 times its share of gas in what leaves a chamber; on a bench that reads
its zero, five speeds from 5 mm/s on. Severity 3 of low oil is a foot valve bare over the last 6 mm of a 50 mm stroke. The
sheet of each has the maker's level, known to 1 mm like every length, drawn with that error; oil to add is at 20 degC.
Bubbles are 4 % of the oil by volume at one atmosphere. No real unit is in it. Shares with their 95 % interval
[clopper1934]. Remade with `python -m dampkit.studies low-oil OUT.md --units {units} --seed {seed}`; limits {limits}.
"""


@frozen
class Unit:
    """A sound unit, what was put into it, and its sheet; `missing_ml`: at 20 degC."""

    sound: Plant
    now: Plant
    code: str
    sheet: Oil
    missing_ml: float
    seed: int


@frozen
class Said:
    """What was said of it: codes, of which found; oil to add with its interval; None where none is given."""

    unit: Unit
    named: frozenset[str]
    found: frozenset[str]
    to_add: EstimateRecord | None = None
    error: str = ""


def write_low_oil_study(units: int, seed: int, out: Path) -> Path:
    made = [_unit(np.random.default_rng([seed, i]), code, severity) for i, (code, severity) in enumerate(_plan(units))]
    programme, rig = standard_programme(SPEEDS_M_S, cycles=CYCLES), Rig(sample_rate_hz=RATE_HZ)
    setups = [Setup(u.now, programme, replace(rig, force_noise_n=1.0 + u.seed % 4), u.seed) for u in made]
    said = [_said(u, as_run(ran.log, rig)) for u, ran in zip(made, run_benches(setups, STEPS_PER_CYCLE), strict=True)]
    return write_text(out, page(said, seed))


def _plan(units: int) -> list[tuple[str, float]]:
    return [(code, severity) for code, severity, share in PUT_IN for _ in range(round(share * units))]


def _unit(rng: np.random.Generator, code: str, severity: float) -> Unit:
    sound = _sized(rng)
    now = faulted(sound, code, severity) if code else sound
    return Unit(sound, now, code, _sheet(rng, sound), _missing_ml(sound, now), int(rng.integers(2**31)))


def _sized(rng: np.random.Generator) -> Plant:
    """A twin tube of any size, at the temperature of a workshop."""
    bore = float(rng.uniform(0.025, 0.040))
    rod = bore * float(rng.uniform(0.33, 0.6))
    whole, taken = 0.25 * np.pi * bore**2, 0.25 * np.pi * rod**2
    celsius, knee, force = (float(rng.uniform(a, b)) for a, b in ((14.0, 28.0), (0.07, 0.14), (350.0, 900.0)))
    charge = ATMOSPHERE_PA if rng.random() < 0.4 else float(rng.uniform(1.5e5, 6e5))
    pickup = 0.3 * taken
    plant = replace(
        random_unit(rng, "twin-tube"),
        name="of any size",
        piston_diameter_m=bore,
        rod_diameter_m=rod,
        chamber_m3=((whole - taken) * float(rng.uniform(0.08, 0.15)), whole * float(rng.uniform(0.08, 0.15))),
        pickup_m3=pickup,
        reserve_oil_m3=pickup + taken * float(rng.uniform(0.1, 0.14)),
        gas_m3=taken * float(rng.uniform(0.3, 0.6)),
        gas_pressure_pa=charge,
        start_c=celsius,
        ambient_c=celsius,
        pocket_carry=float(np.exp(rng.uniform(np.log(0.05), np.log(5.0)))),
    )
    back = force * float(rng.uniform(0.35, 0.6))
    plant = valved(plant, Aim(knee, force, 1.0, 2.2 * force), Aim(knee, back, 1.0, 2.2 * back))
    return shaped(plant, SHAPES[str(rng.choice(list(SHAPES)))])


def _oil_m3(plant: Plant) -> float:
    return sum(plant.chamber_m3) + plant.reserve_oil_m3


def _at_20_m3(plant: Plant) -> float:
    return _oil_m3(plant) / (1.0 + EXPANSION_PER_K * (plant.start_c - 20.0))


def _missing_ml(sound: Plant, now: Plant) -> float:
    """Of what the sound unit holds at 20 degC, to which its sheet refers."""
    return 1e6 * (_at_20_m3(sound) - _at_20_m3(now))


def _sheet(rng: np.random.Generator, sound: Plant) -> Oil:
    """Level at 20 degC with the rod fully out, in a reserve of its own; every length off by what its tolerance allows."""
    taken = 0.25 * np.pi * sound.rod_diameter_m**2
    outer_mm = 1e3 * sound.piston_diameter_m + 3.0
    bore_mm = outer_mm + float(rng.uniform(6.0, 12.0))
    ring = 0.25e-6 * np.pi * (bore_mm**2 - outer_mm**2)
    out_mm = float(rng.uniform(50.0, 90.0))
    over = sound.reserve_oil_m3 - (_oil_m3(sound) - _at_20_m3(sound)) - sound.pickup_m3 - 1e-3 * out_mm * taken
    off = rng.normal(0.0, 1.0 / 1.96, 3)
    return Oil(
        fill_ml=1e6 * _at_20_m3(sound),
        level_mm=max(1e3 * over / ring + off[0], 0.0),
        reserve_bore_mm=bore_mm,
        tube_outer_mm=outer_mm,
        full_extension_mm=BENCH_MIDDLE_MM + out_mm + off[1],
        mid_position_mm=BENCH_MIDDLE_MM + off[2],
    )


def _said(unit: Unit, run: Run) -> Said:
    reference = with_reference(sizes(unit.sound), unit.sound, np.array(STANDARD_SPEEDS_M_S[1:]), 20.0)
    spec = DamperSpec.model_validate(
        {**reference.model_dump(exclude_none=True), "oil": unit.sheet.model_dump(exclude_none=True)}
    )
    try:
        curves = trace(run)
        test = UnderTest(curves, identify(curves, spec), spec)
        findings = diagnose(test).findings
        oil = oil_state(test, findings, None)
    except DampkitError as error:
        return Said(unit, frozenset(), frozenset(), None, f"{type(error).__name__}: {error}".splitlines()[0])
    named, found = (
        frozenset(f.code for f in findings if f.level in levels) for levels in (("found", "suspected"), ("found",))
    )
    return Said(unit, named, found, None if oil is None else oil.to_add_ml)


def page(said: Sequence[Said], seed: int) -> str:
    low, bubbles, sound = ([s for s in said if s.unit.code == code] for code, _, _ in PUT_IN)
    parts = ["# Low oil\n", MADE.format(units=len(said), seed=seed, limits=limits_hash())]
    rows = [
        ("low oil named, alone or beside bubbles", _share(low, lambda s: "low_oil" in s.named)),
        ("... found", _share(low, lambda s: "low_oil" in s.found)),
        ("... both named", _share(low, lambda s: {"low_oil", "aerated_oil"} <= s.named)),
        ("... bubbles found in its stead", _share(low, lambda s: "aerated_oil" in s.found)),
        ("bubbles: named, alone or beside low oil", _share(bubbles, lambda s: "aerated_oil" in s.named)),
        ("... low oil found in their stead", _share(bubbles, lambda s: "low_oil" in s.found)),
        ("sound: low oil or bubbles named", _share(sound, lambda s: bool({"low_oil", "aerated_oil"} & s.named))),
        ("oil to add given, of low oil named", _share([s for s in low if "low_oil" in s.named], lambda s: s.to_add is not None)),
        ("... holds what is missing", _share([s for s in low if s.to_add is not None], _holds)),
    ]  # fmt: skip
    parts += ["| what | share |", "|---|---|", *(f"| {what} | {share} |" for what, share in rows), ""]
    parts += ["## Low oil named, by size, charge and carried gas\n", "| part of the fleet | named |", "|---|---|"]
    for name, part in _parts(low):
        parts.append(f"| {name} | {_share(part, lambda s: 'low_oil' in s.named)} |")
    parts += ["", *(f"- not analysed: {s.error}" for s in said if s.error), *_widths(low)]
    return "\n".join(parts) + "\n"


def _holds(said: Said) -> bool:
    return said.to_add is not None and said.to_add.low <= said.unit.missing_ml <= said.to_add.high


def _share(rows: Sequence[Said], holds: Callable[[Said], bool]) -> str:
    if not rows:
        return "-"
    found = Share(sum(holds(s) for s in rows), len(rows))
    low, high = found.interval
    return f"{found.count} of {found.of}, {found.count / found.of:.0%} ({low:.0%} to {high:.0%})"


def _parts(low: Sequence[Said]) -> list[tuple[str, list[Said]]]:
    def ratio(s: Said) -> float:
        return s.unit.sound.rod_diameter_m / s.unit.sound.piston_diameter_m

    return [
        ("rod under 0.45 of the bore", [s for s in low if ratio(s) < 0.45]),
        ("rod over 0.45 of the bore", [s for s in low if ratio(s) >= 0.45]),
        ("no charge", [s for s in low if s.unit.sound.gas_pressure_pa <= 1.01 * ATMOSPHERE_PA]),
        ("charged", [s for s in low if s.unit.sound.gas_pressure_pa > 1.01 * ATMOSPHERE_PA]),
        ("gas carried under 0.5 of its share", [s for s in low if s.unit.sound.pocket_carry < 0.5]),
        ("gas carried over 0.5 of its share", [s for s in low if s.unit.sound.pocket_carry >= 0.5]),
    ]


def _widths(low: Sequence[Said]) -> list[str]:
    given = [s for s in low if s.to_add is not None]
    if not given:
        return []
    wide = median([0.5 * (s.to_add.high - s.to_add.low) for s in given if s.to_add is not None])
    true = median([s.unit.missing_ml for s in given])
    return [f"Oil to add: median half-width {wide:.1f} ml, of {true:.0f} ml missing in the median.", ""]
