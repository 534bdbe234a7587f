"""Units of the mixed study that were once read wrongly, kept as regression data: the same draw, the same log."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.analyse import analyse_job
from dampkit.outcome.result import Result
from dampkit.studies.mix_runs import _drawn, job_of, log_of, plan
from dampkit.virtual.mixed import mixed_cases

SEED = 41
PLATEAUS = (
    158,
    1363,
)  # sound lever-arms on a triangle drive, whose blow-off force came out at the plateau of the top stage


@pytest.mark.slow
@pytest.mark.parametrize("number", PLATEAUS)
def test_a_plateau_at_the_top_speed_makes_no_air_and_no_starving(number: int) -> None:
    run = plan(number + 1, 0, SEED)[number]
    case = mixed_cases([run.wanted])[0]
    assert not case.truth.faults
    result = analyse_job(log_of(run, case), job_of(run, case))
    assert [fault.code for fault in result.faults if fault.level == "found"] == []


def drawn(seed: int, kind: str, number: int) -> Result:
    run = _drawn(seed, number, kind == "faulty")
    case = mixed_cases([run.wanted])[0]
    return analyse_job(log_of(run, case), job_of(run, case))


def test_a_parameter_that_moves_next_to_nothing_makes_no_reading_that_is_no_number() -> None:
    """A lift far above all forces, of a column of the Jacobian whose square is no number any more."""
    result = drawn(83, "sound", 1724)
    read = [side.reading for side in (result.valve.rebound, result.valve.compression)]
    ends = [value for one in read if one is not None for value in (*one.low_n, *one.high_n)]
    assert ends
    assert np.isfinite(ends).all()


def test_play_of_a_dry_joint_opens_where_the_spring_of_its_arm_has_let_go() -> None:
    """Not at the turn but 0.9 mm after it, and noise parts it in two: passed once. A sound one of that kind still is."""
    loose = drawn(83, "faulty", 1036)
    named = {fault.code for fault in loose.faults} | {one.code for one in loose.not_looked_for}
    assert loose.verdict.action != "fit"
    assert "loose_mount" in named
    assert drawn(91, "sound", 27).verdict.action == "fit"
