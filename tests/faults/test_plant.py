"""Faults of the made-up plant, which knows oil, gas and springs, on a made-up bench: read, fitted and diagnosed as a log is.

All units run side by side, once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

import dampkit
from dampkit.bench.run import Run
from dampkit.damper.declared import DamperSpec
from dampkit.faults.play import PLAY_LIMIT_MM
from dampkit.outcome.result import Result
from dampkit.quantities import read_only
from dampkit.studies.made import as_run, sizes, with_reference
from dampkit.virtual.faulted import faulted
from dampkit.virtual.plant import KINDS, Kind, Plant
from dampkit.virtual.programme import Programme, standard_programme
from dampkit.virtual.programmes import LADDERS_M_S
from dampkit.virtual.rig import Log, Rig, Setup, run_benches
from dampkit.virtual.units import BASE, LEVER_ARM, MONOTUBE, MONOTUBE_SMALL, TWIN_TUBE, TWIN_TUBE_LARGE, random_unit

RIG = Rig(sample_rate_hz=500.0)
SHORT = standard_programme((0.005, 0.05, 0.2, 0.4))
Test = Callable[..., Result]


@dataclass(frozen=True)
class OnBench:
    """A unit as it was good, as it is, and the programme that it runs."""

    good: Plant
    now: Plant
    programme: Programme


def on_ladder(good: Plant, now: Plant | None = None) -> OnBench:
    return OnBench(good, now or good, standard_programme(LADDERS_M_S[good.kind]))


def sound() -> dict[str, OnBench]:
    """One random sound unit of each kind, and one more with gas."""
    rng = np.random.default_rng(11)
    kinds: tuple[Kind, ...] = (*KINDS, "monotube")
    return {f"sound {kind} {i}": on_ladder(random_unit(rng, kind)) for i, kind in enumerate(kinds)}


SOUND = sound()
LOOSE = {unit.kind: on_ladder(unit, replace(unit, play_m=9e-4)) for unit in (TWIN_TUBE, MONOTUBE_SMALL, LEVER_ARM)}
FAULTY = {
    "valve_stuck_open": on_ladder(TWIN_TUBE, faulted(TWIN_TUBE, "dead_rebound", 3.0)),
    "valves_swapped": on_ladder(MONOTUBE, faulted(MONOTUBE, "swapped_valves", 3.0)),
    "low_oil": on_ladder(TWIN_TUBE_LARGE, faulted(TWIN_TUBE_LARGE, "low_oil", 4.0)),
}
# kind -> a fault that shows on a short programme without a reference
SHOWN: dict[Kind, str] = {
    "twin-tube": "low_oil", "monotube": "high_friction", "lever-arm": "starved_refill", "friction-disc": "sticking_discs",
    "steering-damper": "high_friction",
}  # fmt: skip
MOVED = {
    f"{code} {kind}": OnBench(
        BASE[kind][-1], BASE[kind][-1] if code == "sound" else faulted(BASE[kind][-1], code, 4.0), SHORT
    )
    for kind, shown in SHOWN.items()
    for code in ("sound", shown)
}
ALL = {**SOUND, **{f"loose {kind}": unit for kind, unit in LOOSE.items()}, **FAULTY, **MOVED}


@pytest.fixture(scope="module")
def logs() -> dict[str, Log]:
    setups = [Setup(unit.now, unit.programme, RIG, seed) for seed, unit in enumerate(ALL.values())]
    return {name: ran.log for name, ran in zip(ALL, run_benches(setups, 160), strict=True)}


def spec_of(good: Plant, *, reference: bool = True) -> DamperSpec:
    speeds = np.array(LADDERS_M_S[good.kind][1:])
    return (
        with_reference(sizes(good), good, speeds, 20.0)
        if reference
        else DamperSpec.model_validate({"damper": sizes(good)})
    )


def run_of(log: Log, offset_n: float = 0.0, *, zero_known: bool = True) -> Run:
    run = as_run(log, RIG)
    return replace(run, force_n=read_only(run.force_n + offset_n), zero_known=zero_known)


def levels(result: Result) -> dict[str, str]:
    return {fault.code: fault.level for fault in result.faults}


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_unit_of_any_size_has_no_fault_and_no_play(logs: dict[str, Log], name: str) -> None:
    result = dampkit.analyse(run_of(logs[name]), spec_of(SOUND[name].good))
    assert levels(result) == {}
    assert "loose_mount" not in {n.code for n in result.not_looked_for}  # so play was asked for and is under its limit


@pytest.mark.parametrize("name", FAULTY)
def test_what_went_into_the_plant_is_found_alone(logs: dict[str, Log], name: str) -> None:
    """A low level may be no more than suspected: one log tells a void from bubbles by half a millimetre."""
    said = levels(dampkit.analyse(run_of(logs[name]), spec_of(FAULTY[name].good)))
    assert set(said) == {name}
    assert said[name] == "found" or name == "low_oil"


@pytest.mark.parametrize(
    ("kind", "offset_n"), [("twin-tube", 3.0), ("twin-tube", 8.0), ("monotube", 5.0), ("lever-arm", 8.0)]
)
def test_play_is_named_where_the_cells_zero_is_a_little_off(logs: dict[str, Log], kind: Kind, offset_n: float) -> None:
    """0.9 mm, more than twice what a hand feels, with the zero declared as 0."""
    assert PLAY_LIMIT_MM < 0.45
    result = dampkit.analyse(run_of(logs[f"loose {kind}"], offset_n), spec_of(LOOSE[kind].good))
    assert set(levels(result)) == {"loose_mount"}
    assert result.verdict.action != "fit"


@pytest.mark.parametrize("offset_n", [-50.0, 300.0])
def test_play_of_a_unit_with_gas_is_named_wherever_an_undeclared_zero_lies(
    logs: dict[str, Log], offset_n: float
) -> None:
    run = run_of(logs["loose monotube"], offset_n, zero_known=False)
    assert set(levels(dampkit.analyse(run, spec_of(LOOSE["monotube"].good)))) == {"loose_mount"}


@pytest.mark.parametrize("name", [name for name in SOUND if "disc" not in name][:3])
def test_one_stage_of_a_sound_unit_holds_no_fault(logs: dict[str, Log], name: str) -> None:
    """The stage at half of the top speed, cut out of the log with its zero."""
    speeds = LADDERS_M_S[SOUND[name].good.kind]
    at = SOUND[name].programme
    stage = speeds.index(sorted(speeds, key=lambda v: abs(v - 0.5 * speeds[-1]))[0])
    log, rest = logs[name], 0.5 * at.dwell_s
    keep = (log.time_s >= at.starts_s[stage] - rest) & (log.time_s <= at.stops_s[stage] + rest)
    assert log.temperature_c is not None
    cut = Log(log.time_s[keep], log.displacement_m[keep], log.force_n[keep], None, log.temperature_c[keep])
    result = dampkit.analyse(run_of(cut), spec_of(SOUND[name].good))
    assert len(result.run.stages) == 1
    assert levels(result) == {}
    assert {"high_friction", "bent_rod", "fade", "loose_mount"} <= {n.code for n in result.not_looked_for}
    assert result.verdict.action != "rebuild"


@pytest.mark.parametrize("name", MOVED)
def test_a_constant_in_the_force_changes_no_finding_and_no_action(logs: dict[str, Log], name: str) -> None:
    """Metamorphic: with the zero undeclared, a cell that reads so much more says nothing else about the unit."""
    spec = spec_of(MOVED[name].good, reference=False)
    said = []
    for offset_n in (0.0, 50.0, -300.0) if name.startswith("sound") else (0.0, -50.0, 300.0):
        result = dampkit.analyse(run_of(logs[name], offset_n, zero_known=False), spec)
        said.append((levels(result), {n.code for n in result.not_looked_for}, result.verdict.action))
    assert said[1:] == [said[0]] * 2
    assert set(said[0][0]) == (set() if name.startswith("sound") else {name.split()[0]})
