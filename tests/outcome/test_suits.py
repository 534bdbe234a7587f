"""Does the unit suit the car? Viscous loops make every ratio a hand sum."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dampkit.needs.ratio import stage_ratios
from dampkit.needs.requirement import needed_damping
from dampkit.outcome.suits import Suits, suits
from tests.needs.made import SALOON, sine_loop


def judged(share_of_need: float, speeds: tuple[float, ...] = (0.1, 0.2, 0.3)) -> Suits:
    c = share_of_need * needed_damping(SALOON, 0.28)
    loops = [sine_loop(lambda x, v: c * v, speed) for speed in speeds]
    result = suits(stage_ratios(loops, SALOON), SALOON)
    assert result is not None
    return result


@pytest.mark.parametrize(("share", "answer"), [(1.0, "in"), (0.85, "in"), (0.75, "out"), (1.3, "out")])
def test_twenty_percent_either_way(share: float, answer: str) -> None:
    result = judged(share)
    assert result.answer == answer
    assert result.mean_ratio is not None
    assert result.mean_ratio.value == pytest.approx(share * 0.28)


def test_stages_outside_body_speeds_do_not_count() -> None:
    result = judged(1.0, speeds=(0.005, 0.6, 1.0))
    assert result.answer == "not established"
    assert result.mean_ratio is None


def test_a_stage_that_just_misses_the_end_counts() -> None:
    assert judged(1.0, speeds=(0.303,)).answer == "in"


def test_shares_even_for_a_viscous_damper() -> None:
    assert judged(1.0).rebound_share_ratio == pytest.approx(0.5, abs=1e-3)


def test_no_target_no_answer() -> None:
    assert suits((), replace(SALOON, target_ratio=None)) is None
