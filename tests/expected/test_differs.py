"""Which part of a valve changed: the answer is put in, so the truth is the construction itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.take_up import TakeUp
from dampkit.damper.valve import Valve
from dampkit.expected.differs import LEAST_SPEEDS, Differs, Part, differs
from dampkit.quantities import Direction
from tests import made_loops as made

R = made.REBOUND


def held(
    rebound: Valve, friction_n: float = made.FRICTION_N, speeds: tuple[float, ...] = made.SPEEDS_M_S
) -> dict[Direction, Differs]:
    """A unit with this rebound valve, held against the reference of the usual one."""
    return differs(made.unit_of(rebound, friction_n=friction_n, speeds_m_s=speeds), made.spec_for())


@pytest.mark.parametrize(
    ("now", "part", "ratio"),
    [
        (made.with_blowoff(R, 0.6), "blowoff", 0.6),
        (made.with_blowoff(R, 1.5), "blowoff", 1.5),
        (replace(R, bleed=0.5 * R.bleed), "bleed", 0.5),
        (replace(R, bleed=3.0 * R.bleed), "bleed", 3.0),
    ],
)
def test_the_changed_part_is_named_alone_and_how_much_it_changed_is_measured(
    now: Valve, part: Part, ratio: float
) -> None:
    found = held(now)["rebound"]
    assert found.changed == (part,)
    assert found.ratio(part) == pytest.approx(ratio, rel=0.03)
    assert found.friction_good_n == pytest.approx(made.FRICTION_N, abs=3.0)


def test_a_leak_takes_the_force_that_it_takes() -> None:
    """The effect of a part is the force with it less the force without: the reference's less the unit's own."""
    leaks = replace(R, leak=1.5e-4)
    found = held(leaks)["rebound"]
    assert found.changed == ("leak",)
    wanted = leaks.force(found.velocity_m_s) - R.force(found.velocity_m_s)
    np.testing.assert_allclose(found.effect_n("leak"), wanted, atol=10.0)


def test_two_parts_are_both_named() -> None:
    assert set(held(replace(made.with_blowoff(R, 0.55), bleed=0.5 * R.bleed))["rebound"].changed) == {
        "bleed",
        "blowoff",
    }


@pytest.mark.parametrize("friction_n", [made.FRICTION_N, 120.0])
def test_friction_is_not_taken_for_a_valve(friction_n: float) -> None:
    assert all(d.changed == () or d.friction_good_n < 0.5 * friction_n for d in held(R, friction_n).values())
    assert all(
        np.all(np.abs(d.effect_n(part)) < d.allowance_n) for d in held(R, friction_n).values() for part in d.changed
    )


def test_a_unit_within_half_of_its_tolerance_is_not_asked_for_a_reason() -> None:
    """Forces 4 % off are within a half of 15 %."""
    found = held(replace(R, bleed=1.02 * R.bleed))["rebound"]
    assert float(np.max(np.abs(found.out))) < 0.5
    assert found.changed == ()


def test_a_test_that_reaches_too_few_of_the_reference_speeds_is_not_held_against_it() -> None:
    assert held(R, speeds=made.SPEEDS_M_S[:LEAST_SPEEDS]) != {}
    assert held(R, speeds=made.SPEEDS_M_S[: LEAST_SPEEDS - 1]) == {}


def test_without_a_reference_there_is_no_difference() -> None:
    spec = made.spec_for()
    assert differs(made.unit_of(), None) == {}
    assert differs(made.unit_of(), spec.model_copy(update={"reference": None})) == {}


def taken_up(speed_m_s: float, reached: float) -> TakeUp:
    none = np.zeros(1)
    return TakeUp(0, speed_m_s, made.STROKE_M, 0.0, 0.0, 0.0, reached, 500.0, 0.0, 0, none, none, none, none)


@pytest.mark.parametrize(("speeds", "slowest"), [((0.1, 0.2, 1.0), 0.2), ((0.2, 0.1, 1.0, 0.2), 0.05)])
def test_speeds_at_which_force_comes_late_are_left_out_but_a_hot_repeat_is_not_late(
    speeds: tuple[float, ...], slowest: float
) -> None:
    """The first of a speed counts: 0.1 m/s that never comes up hides the valve, a repeat of 0.2 that lost force does not."""
    unit = made.unit_of()
    reached = [0.4 if i == (0 if slowest > 0.1 else 3) else 1.0 for i in range(len(speeds))]
    seen = replace(unit.rebound, take_ups=tuple(map(taken_up, speeds, reached)))
    found = differs(replace(unit, rebound=seen), made.spec_for())["rebound"]
    assert found.velocity_m_s[0] == pytest.approx(slowest)
