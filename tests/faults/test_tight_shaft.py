"""A shaft that drags adds the same newtons at every speed and both ways, which no setting does: friction, never a setting.

Forces of a made-up lever-arm, worked out from its sizes; Coulomb friction is the same at every speed ([rao] ch. 2).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import dampkit
from dampkit.bench.points import Points, PointSet
from dampkit.outcome.result import Result
from dampkit.quantities import DIRECTIONS, Array, Direction, read_only
from dampkit.studies.made import sizes, with_reference
from dampkit.virtual.plant import Plant
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import LEVER_ARM

LADDER = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5)
PROGRAMMES = ((0.005, *LADDER), LADDER, (0.1, 0.3, 0.5), (0.005, 0.1, 0.3, 0.5))
REFERENCES = ((0.1, 0.3), (0.1, 0.3, 0.5), LADDER)


def tight(extra_n: float) -> Plant:
    return replace(LEVER_ARM, friction=replace(LEVER_ARM.friction, sliding_n=LEVER_ARM.friction.sliding_n + extra_n))


def judged(
    forces: dict[Direction, Array], speeds: tuple[float, ...], known: tuple[float, ...], *, half_width_n: float = 0.0
) -> Result:
    v = read_only(np.array(speeds))
    none = read_only(np.zeros(v.size))
    sets = [PointSet(v, read_only(forces[d]), none + half_width_n, none) for d in DIRECTIONS]
    points = Points("made up", "0" * 64, "table", v.size, v.size, sets[0], sets[1], zero_known=True)
    return dampkit.analyse(points, with_reference(sizes(LEVER_ARM), LEVER_ARM, np.array(known), 20.0))


def read(unit: Plant, speeds: tuple[float, ...]) -> dict[Direction, Array]:
    return {d: bench_reading(unit, d, np.array(speeds), 20.0) for d in DIRECTIONS}


@pytest.mark.parametrize("known", REFERENCES)
@pytest.mark.parametrize("speeds", PROGRAMMES)
@pytest.mark.parametrize("extra_n", [45.0, 60.0])
def test_a_tight_shaft_is_friction_however_few_speeds_are_known(
    extra_n: float, speeds: tuple[float, ...], known: tuple[float, ...]
) -> None:
    result = judged(read(tight(extra_n), speeds), speeds, known)
    read_between = not set(known) <= set(speeds)  # of the reference's speeds, some are between those tested: less sure
    levels = {"found", "suspected"} if read_between else {"found"}
    assert [f.code for f in result.faults] == ["high_friction"]
    assert result.faults[0].level in levels
    assert result.verdict.action == ("rebuild" if result.faults[0].level == "found" else "retest")
    assert result.advice is None


@pytest.mark.parametrize("known", REFERENCES)
@pytest.mark.parametrize("speeds", PROGRAMMES[1:3])
def test_the_same_share_more_at_every_speed_is_a_setting(speeds: tuple[float, ...], known: tuple[float, ...]) -> None:
    forces = {d: 1.3 * f for d, f in read(LEVER_ARM, speeds).items()}
    assert "high_friction" not in {f.code for f in judged(forces, speeds, known).faults}


@pytest.mark.parametrize("known", REFERENCES)
def test_as_much_more_one_way_only_is_no_friction(known: tuple[float, ...]) -> None:
    forces = read(LEVER_ARM, LADDER)
    forces["rebound"] = forces["rebound"] + 60.0
    assert "high_friction" not in {f.code for f in judged(forces, LADDER, known).faults}


def test_two_speeds_that_read_alike_do_not_tell_friction_from_a_setting() -> None:
    """Of forces as even as a friction damper's, the same newtons and the same share are one thing."""
    forces: dict[Direction, Array] = {d: np.array([345.0, 346.0]) for d in DIRECTIONS}
    v = read_only(np.array([0.1, 0.3]))
    none = read_only(np.zeros(2))
    sets = [PointSet(v, read_only(forces[d]), none, none) for d in DIRECTIONS]
    points = Points("made up", "0" * 64, "table", 2, 2, sets[0], sets[1], zero_known=True)
    reference = {"velocity_m_s": [0.1, 0.3], "rebound_force_n": [285.0, 286.0], "compression_force_n": [285.0, 286.0]}
    result = dampkit.analyse(points, {"damper": {"kind": "lever-arm"}, "reference": reference})
    assert "high_friction" not in {f.code for f in result.faults}


def test_readings_less_sure_than_their_windows_tell_no_friction() -> None:
    """Six of them in each direction, each unsure by twice its window, were averaged into a friction that was found."""
    result = judged(read(tight(200.0), LADDER), LADDER, LADDER, half_width_n=240.0)
    assert not [f for f in result.faults if f.level == "found"]
    assert result.verdict.action == "retest"


def test_no_more_is_laid_to_rubbing_than_the_unit_rubs() -> None:
    """The slow point says what rubs, and it is as good: the same newtons more at every other speed are not that."""
    speeds = (0.005, *LADDER)
    more = np.where(np.array(speeds) > 0.01, 45.0, 0.0)
    result = judged({d: f + more for d, f in read(LEVER_ARM, speeds).items()}, speeds, LADDER)
    assert result.statics.friction_force_n is not None
    assert result.statics.friction_force_n.high < 45.0
    assert "high_friction" not in {f.code for f in result.faults}
