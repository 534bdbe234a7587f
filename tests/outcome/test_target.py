"""Does the unit suit the car? Viscous loops make every ratio a hand sum."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.take_up import TakenOut
from dampkit.needs.ratio import stage_ratios
from dampkit.needs.requirement import needed_damping
from dampkit.outcome.target import TargetAnswer, ratio_at, target_answer
from tests.needs.made import SALOON, sine_loop


def judged(share_of_need: float, speeds: tuple[float, ...] = (0.1, 0.2, 0.3)) -> TargetAnswer:
    c = share_of_need * needed_damping(SALOON, 0.28)
    loops = [sine_loop(lambda x, v: c * v, speed) for speed in speeds]
    result = target_answer(stage_ratios(loops, SALOON, TakenOut()), SALOON)
    assert result is not None
    return result


@pytest.mark.parametrize(("share", "answer"), [(1.0, "in"), (0.85, "in"), (0.75, "out"), (1.3, "out")])
def test_twenty_percent_either_way(share: float, answer: str) -> None:
    result = judged(share)
    assert result.answer == answer
    assert result.rated_ratio is not None
    assert result.rated_ratio.value == pytest.approx(share * 0.28)


@pytest.mark.parametrize("speeds", [(), (0.005, 0.1, 0.2), (0.4, 0.6)])
def test_stages_on_one_side_of_the_rated_speed_establish_nothing(speeds: tuple[float, ...]) -> None:
    result = judged(1.0, speeds)
    assert result.answer == "not established"
    assert result.rated_ratio is None


def test_a_stage_that_just_misses_the_rated_speed_counts() -> None:
    assert judged(1.0, speeds=(0.298,)).answer == "in"


def test_between_stages_friction_with_viscous_damping_is_exact() -> None:
    """c_eq = c + 4 F/(pi V) [rao] ch. 3, at a speed that was not run."""
    loops = [sine_loop(lambda x, v: 2000 * v + 60 * np.sign(v), speed) for speed in (0.52, 0.13)]
    wanted = (2000 + 4 * 60 / (math.pi * 0.3)) * 0.64 / SALOON.critical_damping_n_s_m
    found = ratio_at(0.3, stage_ratios(loops, SALOON, TakenOut()))
    assert found is not None
    assert found.value == pytest.approx(wanted, rel=1e-4)


def test_shares_even_for_a_viscous_damper() -> None:
    assert judged(1.0).rebound_share_ratio == pytest.approx(0.5, abs=1e-3)


def test_no_target_no_answer() -> None:
    assert target_answer((), replace(SALOON, target_ratio=None)) is None
