"""What was shown, direction by direction and from standstill to the top speed tested: in, out, not compared, not tested."""

from __future__ import annotations

from collections.abc import Sequence

from dampkit.damper.points import SLOW_M_S
from dampkit.damper.unit import Side, Unit
from dampkit.expected.reference import Compared
from dampkit.outcome.decision_record import Against, CoverageRecord, Piece, PieceAnswer
from dampkit.quantities import DIRECTIONS

USUAL_KNEE_M_S = 0.15  # where a test shows none; common practice, from memory (0.05 to 0.2)
KNEE_WIDTH = 1.3  # ratio of speed on each side that counts as the knee
TOP_SHARE = 0.7  # of the top speed tested, from which a speed counts as the top
TOP_M_S = 1.0  # usual top of a test
TELLS_SHARE, TELLS_N = 0.5, 40.0  # a window wider than this share of its force, and than this, compares nothing
EDGE = 1.02

Held = tuple[tuple[Against, Sequence[Compared]], ...]


def coverage(
    unit: Unit,
    reference: Sequence[Compared] | None,
    needed: Sequence[Compared] | None,
    alike: Sequence[Compared] | None = None,
) -> tuple[CoverageRecord, ...]:
    """Every piece of both directions; the reference is asked first, the other direction where both are to be alike, the
    vehicle's need where there is none there.

    Source: own.
    """
    held: Held = (("reference", reference or ()), ("other direction", alike or ()), ("vehicle", needed or ()))
    return tuple(
        _piece(unit.side(d), piece, low, high, held) for d in DIRECTIONS for piece, low, high in _pieces(unit.side(d))
    )


def _pieces(side: Side) -> list[tuple[Piece, float, float]]:
    """The speeds at which the range of one direction is cut."""
    tested = 0.0 if side.reading is None else float(side.reading.velocity_m_s[-1])
    top = max(tested, TOP_M_S) if tested < TOP_M_S * 0.98 else tested
    knee = USUAL_KNEE_M_S
    if side.law is not None and side.law.blowoff_velocity_m_s is not None:
        knee = side.law.blowoff_velocity_m_s.value
    low, high = max(SLOW_M_S, knee / KNEE_WIDTH), knee * KNEE_WIDTH
    fast = max(TOP_SHARE * top, high)
    cuts: list[tuple[Piece, float, float]] = [
        ("slow pass", 0.0, SLOW_M_S),
        ("below the knee", SLOW_M_S, low),
        ("knee", low, high),
        ("above the knee", high, fast),
        ("top", fast, top * EDGE),
    ]
    return [cut for cut in cuts if cut[2] > cut[1]]


def _piece(side: Side, piece: Piece, low: float, high: float, held: Held) -> CoverageRecord:
    answer, used = "not compared" if _tested(side, low, high) else "not tested", None
    for against, points in held:
        here = [p for p in points if p.direction == side.direction and low <= p.velocity_m_s < high and telling(p)]
        if here:
            answer, used = _worst([p.answer for p in here]), against
            break
    return CoverageRecord(
        direction=side.direction, piece=piece, from_velocity_m_s=low, to_velocity_m_s=high, answer=answer, against=used
    )


def telling(point: Compared) -> bool:
    """The window is narrow enough to say anything, and the speed was tested."""
    room = 0.5 * (point.high_n - point.low_n)
    return point.measured_n is not None and room <= max(TELLS_SHARE * point.wanted_n, TELLS_N)


def _worst(answers: Sequence[str]) -> PieceAnswer:
    if "out" in answers:
        return "out"
    return "not established" if "not established" in answers else "in"


def _tested(side: Side, low: float, high: float) -> bool:
    if side.reading is None:
        return False
    v = side.reading.velocity_m_s
    return bool(((v >= low) & (v < high)).any())
