"""Which part of a valve changed: the answer is put in, so the truth is the construction itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dampkit.damper.valve import Valve
from dampkit.expected.differs import differs
from dampkit.faults.diagnose import diagnose
from dampkit.quantities import DIRECTIONS
from tests.made_loops import (
    COMPRESSION,
    FRICTION_N,
    REBOUND,
    SPEEDS_M_S,
    ladder,
    spec_for,
    under_test,
    unit_of,
    with_blowoff,
)

OPEN = replace(REBOUND, bleed=4.0 * REBOUND.bleed)
BLOCKED = replace(REBOUND, bleed=0.5 * REBOUND.bleed)
LEAKING = replace(REBOUND, leak=1.5e-4)


def codes(rebound: Valve, friction_n: float = FRICTION_N) -> set[str]:
    unit = unit_of(rebound, friction_n=friction_n)
    found = diagnose(under_test(unit, ladder(unit), spec_for())).findings
    return {f.code for f in found if f.level == "found"}


@pytest.mark.parametrize(
    ("now", "part", "ratio"),
    [
        (BLOCKED, "bleed", 0.5),
        (OPEN, "bleed", 4.0),
        (with_blowoff(REBOUND, 0.6), "blowoff", 0.6),
    ],
)
def test_the_changed_part_is_seen_alone_with_its_ratio(now: Valve, part: str, ratio: float) -> None:
    seen = differs(unit_of(now), spec_for())
    assert seen["rebound"].changed == (part,)
    assert seen["rebound"].ratio("bleed" if part == "bleed" else "blowoff") == pytest.approx(ratio, rel=0.03)
    assert seen["compression"].changed == ()
    assert seen["rebound"].friction_good_n == pytest.approx(FRICTION_N, abs=3.0)


def test_a_leak_beside_the_piston_is_seen_as_a_leak() -> None:
    """Put in: 1.5e-4 m/s per newton where the good unit has none."""
    seen = differs(unit_of(LEAKING), spec_for())["rebound"]
    assert seen.changed == ("leak",)
    assert seen.good.leak == pytest.approx(0.0, abs=1.5e-5)


def test_the_effect_of_a_part_is_the_force_it_takes() -> None:
    """Valve as it is less valve with that part restored, by the valves' own law."""
    seen = differs(unit_of(with_blowoff(REBOUND, 0.6)), spec_for())["rebound"]
    lost = with_blowoff(REBOUND, 0.6).force(seen.velocity_m_s) - REBOUND.force(seen.velocity_m_s)
    assert seen.effect_n("blowoff") == pytest.approx(lost, rel=0.05, abs=3.0)
    assert seen.measured_n - seen.wanted_n == pytest.approx(lost, abs=1.0)


def test_a_good_unit_has_no_changed_part() -> None:
    assert {d: seen.changed for d, seen in differs(unit_of(), spec_for()).items()} == dict.fromkeys(DIRECTIONS, ())


@pytest.mark.parametrize("speeds", [(0.05,), (0.05, 0.1, 0.2)])
def test_too_few_speeds_separate_no_part(speeds: tuple[float, ...]) -> None:
    assert differs(unit_of(OPEN, speeds_m_s=speeds), spec_for()) == {}


@pytest.mark.parametrize(
    ("now", "code"),
    [
        (REBOUND, None),
        (BLOCKED, "blocked_bleed"),
        (OPEN, "valve_stuck_open"),
        (LEAKING, "internal_leak"),
        (with_blowoff(REBOUND, 0.55), "weak_blowoff"),
    ],
)
def test_the_changed_part_is_named_alone(now: Valve, code: str | None) -> None:
    assert codes(now) == ({code} if code else set())


def test_friction_is_not_taken_for_a_valve() -> None:
    unit = unit_of(friction_n=120.0)
    loops = ladder(unit, speeds_m_s=(0.005, *SPEEDS_M_S))
    assert {f.code for f in diagnose(under_test(unit, loops, spec_for())).findings} == {"high_friction"}


def test_valves_changed_over_are_seen_as_that() -> None:
    unit = unit_of(COMPRESSION, REBOUND)
    found = {f.code: f.level for f in diagnose(under_test(unit, ladder(unit), spec_for())).findings}
    assert found["valves_swapped"] == "found"
    assert "internal_leak" not in found


def test_without_a_reference_no_valve_fault_is_named() -> None:
    unit = unit_of(replace(REBOUND, leak=3e-4))
    made = diagnose(under_test(unit, ladder(unit)))
    assert made.findings == ()
    assert {"internal_leak", "weak_blowoff", "valve_stuck_open"} <= {n.code for n in made.not_looked_for}
