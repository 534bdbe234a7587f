"""The study of the advice: few units here, the whole of it in the report that the command writes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.app.advice_page import advice_page, counts
from dampkit.app.advice_study import Pass, Story, off_target, specification, stories, worked_on, worst_miss
from dampkit.outcome.result import AdviceRecord, PartRecord
from dampkit.virtual.units import MONOTUBE, TWIN_TUBE

OFF = Pass(False, False, False, "adjust", 1, 3.0)
IN = Pass(True, True, True, "fit", 0, 0.4)
TOLD = [Story(0, "monotube", (OFF, IN), ("x",)), Story(1, "lever-arm", (OFF, OFF, IN), ("x",)), Story(2, "twin-tube", (OFF,), ())]


def test_units_are_counted_after_each_change() -> None:
    rows = counts(TOLD)
    assert rows[1][1] == "3"
    assert [cell.split()[0] for cell in rows[1][2:]] == ["0", "1", "2"]


def test_the_page_names_units_that_were_not_inside() -> None:
    page = advice_page(TOLD)
    assert "Unit 2, twin-tube" in page
    assert "Unit 1, " not in page
    assert "made up" in page


def test_a_random_unit_is_truly_off_and_a_sound_one_is_not() -> None:
    rng = np.random.default_rng(4)
    assert worst_miss(off_target(TWIN_TUBE, rng), TWIN_TUBE) > 1
    assert worst_miss(TWIN_TUBE, TWIN_TUBE) == 0
    assert specification(MONOTUBE).reference is not None


def test_parts_go_into_the_plant() -> None:
    """Preload half as much again: the opening pressure too, within the scatter of the work."""
    part = PartRecord(direction="rebound", part="preload", ratio=1.5, now=100.0, new=150.0, unit="N", do="so")
    advice = AdviceRecord(aim="reference", parts=(part,), curves=(), damping_ratios=(), answer="in", notes=())
    made = worked_on(MONOTUBE, advice, np.random.default_rng(1))
    assert made.rebound.crack_pa == pytest.approx(1.5 * MONOTUBE.rebound.crack_pa, rel=0.1)
    assert replace(made, rebound=MONOTUBE.rebound) == MONOTUBE


@pytest.mark.slow
def test_the_advised_change_brings_units_into_their_window() -> None:
    """Nine of the study's units, two at most not inside after one change; the report has the whole."""
    told = stories(9)
    assert sum(s.inside_after(0) for s in told) == 0
    assert sum(s.inside_after(1) for s in told) >= 7
