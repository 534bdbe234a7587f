"""What was shown, piece by piece of the speed range."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dampkit.damper.declared import DamperSpec
from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Side, Unit
from dampkit.expected.reference import Compared, against_reference
from dampkit.outcome.coverage import USUAL_KNEE_M_S, coverage, telling
from dampkit.outcome.decision_record import CoverageRecord
from dampkit.outcome.verdict import Known, decide
from dampkit.quantities import DIRECTIONS, Direction, Estimate
from tests.made_loops import COMPRESSION, REBOUND, SPEEDS_M_S, side_of, spec_for, unit_of, with_blowoff

UNIT = unit_of()
REBOUND_KNEE_M_S = 0.0052 * 600.0**0.5  # bleed times root of the blow-off force, by hand: 0.127
COMPRESSION_KNEE_M_S = 0.0055 * 300.0**0.5  # 0.095


def mine(found: tuple[CoverageRecord, ...], direction: Direction = "rebound") -> list[CoverageRecord]:
    return [c for c in found if c.direction == direction]


def answers(found: tuple[CoverageRecord, ...], direction: Direction = "rebound") -> dict[str, str]:
    return {c.piece: c.answer for c in mine(found, direction)}


def point(speed: float, measured_n: float | None = 500.0, low_n: float = 450.0, high_n: float = 550.0) -> Compared:
    """A reading known to 1 N of rebound."""
    read = None if measured_n is None else Estimate(measured_n, measured_n - 1, measured_n + 1)
    return Compared("rebound", speed, read, 0.5 * (low_n + high_n), low_n, high_n)


def reference_at(*speeds: float, percent: float = 15.0) -> tuple[Compared, ...]:
    """The unit against what it reads itself, declared at so many of its speeds."""
    good = spec_for().reference
    assert good is not None
    kept = [SPEEDS_M_S.index(s) for s in speeds]
    spec = DamperSpec.model_validate({"reference": {
        "velocity_m_s": speeds,
        "rebound_force_n": tuple(good.rebound_force_n[i] for i in kept),
        "compression_force_n": tuple(good.compression_force_n[i] for i in kept),
        "tolerance_percent": percent,
    }})  # fmt: skip
    found = against_reference(UNIT, spec)
    assert found is not None
    return found


@given(st.floats(0.3, 2.0), st.lists(st.floats(0.03, 2.0), min_size=1, max_size=8, unique=True))
def test_the_pieces_cover_the_range_once_from_standstill_to_the_top(share: float, speeds: list[float]) -> None:
    """Wherever the knee lies and however fast the test went; up to 1 m/s even where it went slower."""
    unit = unit_of(with_blowoff(REBOUND, share), speeds_m_s=tuple(sorted(speeds)))
    for direction in DIRECTIONS:
        pieces = mine(coverage(unit, None, None), direction)
        assert pieces[0].from_velocity_m_s == 0.0
        assert all(a.to_velocity_m_s == b.from_velocity_m_s for a, b in pairwise(pieces))
        assert pieces[-1].to_velocity_m_s >= max(*speeds, 0.98)
        assert all(c.to_velocity_m_s > c.from_velocity_m_s for c in pieces)


def test_the_cuts_lie_about_the_knee_of_each_direction() -> None:
    found = coverage(UNIT, None, None)
    for direction, knee in (("rebound", REBOUND_KNEE_M_S), ("compression", COMPRESSION_KNEE_M_S)):
        (piece,) = [c for c in found if c.direction == direction and c.piece == "knee"]
        assert (piece.from_velocity_m_s, piece.to_velocity_m_s) == pytest.approx((knee / 1.3, knee * 1.3))
        assert mine(found, piece.direction)[0].to_velocity_m_s == SLOW_M_S


def test_without_a_knee_the_usual_one_cuts() -> None:
    shut = replace(UNIT, rebound=side_of("rebound", replace(REBOUND, blowoff_force=float("inf"), lift_rate=0.0)))
    (piece,) = [c for c in mine(coverage(shut, None, None)) if c.piece == "knee"]
    assert piece.from_velocity_m_s < USUAL_KNEE_M_S < piece.to_velocity_m_s


def test_without_anything_to_compare_a_piece_is_tested_or_not() -> None:
    """Stages at 0.05, 0.1 and 0.2 m/s: nothing slower, nothing faster."""
    unit = unit_of(speeds_m_s=(0.05, 0.1, 0.2))
    assert answers(coverage(unit, None, None)) == {
        "slow pass": "not tested", "below the knee": "not compared", "knee": "not compared",
        "above the knee": "not compared", "top": "not tested",
    }  # fmt: skip


def test_a_direction_without_a_reading_is_not_tested() -> None:
    unit = replace(UNIT, compression=Side("compression"))
    assert set(answers(coverage(unit, reference_at(0.1), None), "compression").values()) <= {"not tested", "in"}
    assert set(answers(coverage(Unit(Side("rebound"), Side("compression")), None, None)).values()) == {"not tested"}


def test_a_whole_reference_covers_every_piece_that_was_tested() -> None:
    found = coverage(UNIT, reference_at(*SPEEDS_M_S), None)
    for direction in DIRECTIONS:
        assert answers(found, direction) == {
            "slow pass": "not tested", "below the knee": "in", "knee": "in", "above the knee": "in", "top": "in",
        }  # fmt: skip
    assert {c.against for c in found if c.answer == "in"} == {"reference"}


@pytest.mark.parametrize(
    ("measured", "answer"),
    [
        ((500, 500), "in"),
        ((500, 700), "out"),
        ((550, 500), "not established"),
        ((550, 700), "out"),
        ((500, None), "in"),
    ],
)
def test_a_piece_is_as_good_as_its_worst_point(measured: tuple[float | None, ...], answer: str) -> None:
    """500 N is in, 700 N out and 550 N on the edge of 450 to 550 N; what was not read says nothing."""
    points = [point(speed, m) for speed, m in zip((0.3, 0.4), measured, strict=True)]
    assert answers(coverage(UNIT, points, None))["above the knee"] == answer


def test_the_reference_is_asked_before_the_vehicle() -> None:
    need = [point(0.3, 700.0), point(0.05, 500.0)]
    found = {c.piece: (c.answer, c.against) for c in mine(coverage(UNIT, [point(0.3)], need))}
    assert found["above the knee"] == ("in", "reference")
    assert found["below the knee"] == ("in", "vehicle")


@pytest.mark.parametrize(
    ("wanted", "room", "tells"),
    [(500.0, 250.0, True), (500.0, 251.0, False), (30.0, 40.0, True), (30.0, 41.0, False), (100.0, 1000.0, False)],
)
def test_a_window_wider_than_half_of_its_force_or_40_n_tells_nothing(wanted: float, room: float, tells: bool) -> None:
    assert telling(point(0.3, wanted, wanted - room, wanted + room)) == tells
    assert not telling(point(0.3, None))


@pytest.mark.parametrize(("percent", "action"), [(15.0, "fit"), (1000.0, "undecided")])
def test_a_tolerance_of_a_thousand_percent_compares_nothing(percent: float, action: str) -> None:
    points = reference_at(*SPEEDS_M_S, percent=percent)
    found = coverage(UNIT, points, None)
    assert {p.answer for p in points} == {"in"}
    assert ("in" in {c.answer for c in found}) == (action == "fit")
    assert decide(Known(coverage=found, reference=points)).action == action


@pytest.mark.parametrize("speeds", [(0.05,), (0.3,), (1.0,)])
def test_a_reference_at_one_speed_alone_is_not_enough_to_fit(speeds: tuple[float, ...]) -> None:
    points = reference_at(*speeds)
    verdict = decide(Known(coverage=coverage(UNIT, points, None), reference=points))
    assert verdict.action == "undecided"
    assert {g.key for g in verdict.grounds} >= {"not_compared"}


def test_a_reference_on_both_sides_of_the_knee_is_enough() -> None:
    points = reference_at(0.05, 0.3)
    assert decide(Known(coverage=coverage(UNIT, points, None), reference=points)).action == "fit"


def test_knees_of_the_made_unit() -> None:
    """The unit's laws hold the knees that this file counts on."""
    laws = [side.law for side in (UNIT.rebound, UNIT.compression)]
    knees = [law.blowoff_velocity_m_s.value for law in laws if law is not None and law.blowoff_velocity_m_s is not None]
    assert knees == pytest.approx([REBOUND_KNEE_M_S, COMPRESSION_KNEE_M_S])
    assert (REBOUND.blowoff_force, COMPRESSION.blowoff_force) == (600.0, 300.0)
