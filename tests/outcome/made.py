"""Small inputs to the deciding part, all made up."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

from dampkit.bench.run import Quality
from dampkit.damper.unit import Side, Unit
from dampkit.damper.valve import Valve
from dampkit.expected.conformity import Answer
from dampkit.expected.reference import Compared
from dampkit.faults.finding import Finding
from dampkit.outcome.decision_record import CoverageRecord, Piece, PieceAnswer, RequirementRecord
from dampkit.outcome.requirements import requirement
from dampkit.outcome.target import TargetAnswer
from dampkit.quantities import DIRECTIONS, Direction, Estimate
from tests.made_loops import side_of

BAD_DATA = Quality("clipped_force", "bad", "The force channel is cut off at 2000 N")
SPEEDS_M_S = (0.05, 0.1, 0.3, 0.6, 1.0)
FRICTION_N = 20.0


def straight_side(direction: Direction, slope_n_s_m: float, spread: float = 0.01, top_m_s: float = 1.0) -> Side:
    """A straight force curve with a relative half-width of `spread`; the bench reads 20 N of friction on top."""
    speeds = [v for v in SPEEDS_M_S if v <= top_m_s]
    return side_of(direction, Valve(leak=1 / slope_n_s_m), FRICTION_N, top_m_s, spread, speeds)


def damper_fit(friction: Estimate | None = Estimate(20.0, 18.0, 22.0)) -> Unit:  # noqa: B008
    """2000 N s/m in rebound, 1000 in compression; without an estimate friction was still taken out as 20 N."""
    return Unit(
        straight_side("rebound", 2000.0),
        straight_side("compression", 1000.0),
        friction_force_n=friction,
        friction_at_most_n=24.0,
        friction_used_n=FRICTION_N,
        temperature_c=20.0,
    )


def shifted(fit: Unit, factor: float) -> Unit:
    """The same unit with all rebound forces of the valve times a factor."""
    return replace(fit, rebound=straight_side("rebound", 2000.0 * factor))


def finding(code: str, likelihood: float = 0.9, level: Literal["found", "suspected"] = "found") -> Finding:
    return Finding(code, level, likelihood, ())


def point(answer: Answer, direction: Direction = "rebound", velocity_m_s: float = 0.1) -> Compared:
    """A reading of 100 N, known to 2 N, in a window of 90 to 110 N, out of one of 120 to 140, or none taken."""
    low, high = (90.0, 110.0) if answer != "out" else (120.0, 140.0)
    measured = None if answer == "not established" else Estimate(100.0, 98.0, 102.0)
    return Compared(direction, velocity_m_s, measured, 0.5 * (low + high), low, high)


def piece_of(direction: Direction, piece: Piece, low: float, high: float, answer: PieceAnswer) -> CoverageRecord:
    """Held against the reference."""
    return CoverageRecord(
        direction=direction,
        piece=piece,
        from_velocity_m_s=low,
        to_velocity_m_s=high,
        answer=answer,
        against="reference",
    )


def covered(below: Answer = "in", above: Answer = "in") -> tuple[CoverageRecord, ...]:
    """Coverage with one piece below the knee and one above it in each direction."""
    pieces: tuple[tuple[Piece, float, float, Answer], ...] = (
        ("below the knee", 0.02, 0.12, below),
        ("above the knee", 0.2, 0.7, above),
    )
    return tuple(piece_of(d, *piece) for d in DIRECTIONS for piece in pieces)


OVER = Estimate(90.0, 88.0, 92.0)


def asked(key: str, value: Estimate = OVER) -> RequirementRecord:
    """Something of which at most 55 is asked of the unit; surely over that unless another value is given."""
    return requirement(key, value, -math.inf, 55.0, "N", "made up", key)


def target(answer: Answer, ratio: float | None = 0.28, share: float = 0.7) -> TargetAnswer:
    estimate = None if ratio is None else Estimate(ratio, ratio - 0.005, ratio + 0.005)
    return TargetAnswer(answer, estimate, 0.28, 0.224, 0.336, share, 0.7)
