"""Named programmes hold the stages they say."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.errors import BadSettings
from dampkit.virtual.plant import KINDS, Kind
from dampkit.virtual.programmes import DRIVES, LADDERS_M_S, PLANS, programme

STAGES = {  # name: how many stages, with a slow pass, with a repeat
    "ladder": (9, True, True),
    "ladder, no repeat": (8, True, False),
    "ladder, no slow pass": (8, False, True),
    "ladder, no temperature": (9, True, True),
    "ladder, zero not declared": (9, True, True),
    "ten stages": (10, True, True),
    "warming": (9, True, True),
    "one stage": (1, False, False),
    "two stages": (2, False, False),
    "three stages": (3, True, False),
    "three stages, no slow pass": (3, False, False),
    "five stages": (5, True, False),
    "short": (9, True, True),
    "slow pass only": (1, True, False),
    "two strokes": (7, True, False),
    "no rests": (7, False, False),
    "begins within a cycle": (4, False, True),
    "sweep after stages": (4, True, False),
    "sweep alone": (1, False, False),
}


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_programme_has_the_stages_it_says(name: str, kind: Kind) -> None:
    made, (count, slow, repeat) = programme(name, kind), STAGES[name]
    ladder = LADDERS_M_S[kind]
    steady = [d for d in made.drives if d.sweep_from == 1.0]
    peaks = [d.peak_velocity_m_s for d in steady]
    assert len(made.drives) == count
    assert (min(peaks, default=1.0) < 0.006) == slow
    moves = [(round(d.peak_velocity_m_s, 6), d.stroke_m) for d in steady if d.peak_velocity_m_s > 0.006]
    assert (len(set(moves)) < len(moves)) == repeat
    assert set(np.round(peaks, 9)) <= set(np.round(ladder, 9))
    assert made.runs_on == (name == "no rests")
    assert (made.record_from_s > made.starts_s[0]) == (name == "begins within a cycle")
    assert (made.drives[-1].sweep_from < 1.0) == name.startswith("sweep")
    assert len({d.stroke_m for d in made.drives}) == (2 if name == "two strokes" else 1)
    if name == "short":
        assert all(d.cycles <= 2.0 for d in made.drives)


@pytest.mark.parametrize("drive", DRIVES)
def test_every_drive_moves_at_the_speeds_of_the_ladder(drive: str) -> None:
    made = programme("ladder", "twin-tube", DRIVES[drive])
    for index, speed in enumerate((0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)):
        time_s = np.linspace(made.starts_s[index], made.stops_s[index], 40001)
        displacement = made.displacement(time_s)
        fastest = np.abs(np.gradient(displacement, time_s)).max()
        # an in-line slider-crank of r/l 0.25 is up to 3.2 % faster than the sine at its fastest (closed form)
        assert speed * 0.998 < fastest < speed * (1.002 if DRIVES[drive].crank_ratio == 0.0 else 1.035)
        assert np.diff(made.steps(160)).min() > 0.0


def test_an_unknown_programme_is_refused() -> None:
    with pytest.raises(BadSettings, match="not known"):
        programme("no such", "monotube")
