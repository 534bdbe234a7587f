"""Which part of a valve changed: the answer is put in, so the truth is the construction itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dampkit.damper.valve import Valve
from dampkit.expected.differs import compare
from dampkit.faults.diagnose import diagnose
from dampkit.faults.valves import valves_swapped
from tests.faults import made


def codes(rebound: Valve, friction_n: float = made.FRICTION_N) -> set[str]:
    unit = made.damper(rebound, friction_n=friction_n)
    return {f.code for f in diagnose(made.case(unit, made.ladder(unit), made.spec_for())) if f.level == "found"}


@pytest.mark.parametrize(
    ("now", "code"),
    [
        (made.REBOUND, None),
        (replace(made.REBOUND, bleed=0.5 * made.REBOUND.bleed), "blocked_bleed"),
        (replace(made.REBOUND, bleed=4.0 * made.REBOUND.bleed), "valve_stuck_open"),
        (replace(made.REBOUND, leak=1.5e-4), "internal_leak"),
        (made.with_blowoff(made.REBOUND, 0.55), "weak_blowoff"),
    ],
)
def test_the_changed_part_is_named_alone(now: Valve, code: str | None) -> None:
    assert codes(now) == ({code} if code else set())


def test_friction_is_not_taken_for_a_valve() -> None:
    assert codes(made.REBOUND, friction_n=120.0) == {"high_friction"}


def test_how_much_a_part_changed_is_measured() -> None:
    unit = made.damper(made.with_blowoff(made.REBOUND, 0.6))
    seen = compare(made.case(unit, made.ladder(unit), made.spec_for()))["rebound"]
    assert seen.changed == ("blowoff",)
    assert seen.ratio("blowoff") == pytest.approx(0.6, rel=0.02)
    assert seen.friction_good_n == pytest.approx(made.FRICTION_N, abs=3.0)


def test_valves_changed_over_are_seen_as_that() -> None:
    unit = made.damper(made.COMPRESSION, made.REBOUND)
    seen = made.case(unit, made.ladder(unit), made.spec_for())
    finding = valves_swapped(seen, compare(seen))
    assert finding is not None
    assert finding.level == "found"
    assert "internal_leak" not in {f.code for f in diagnose(seen)}


def test_without_a_reference_no_valve_fault_is_named() -> None:
    unit = made.damper(replace(made.REBOUND, leak=3e-4))
    assert diagnose(made.case(unit, made.ladder(unit))) == ()
