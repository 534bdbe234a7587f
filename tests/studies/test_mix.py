"""Units of the mixed study that were once read wrongly, kept as regression data: the same draw, the same log."""

from __future__ import annotations

import pytest

from dampkit.analyse import analyse_job
from dampkit.studies.mix_runs import job_of, log_of, plan
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
