"""What this log cannot tell, and the cheapest next test that would."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case
from dampkit.faults.oil import SLOW_BAND_M_S

SAME = 0.03  # share within which two stages have one speed or one stroke
FEW_CYCLES = 3
CHARGE_SEEN = ("monotube",)


@dataclass(frozen=True)
class NextTest:
    """`needed` says whether the log, with what was found in it, leaves the question open."""

    needed: Callable[[Case, frozenset[str]], bool]
    sentence: str


def next_tests(case: Case, findings: Sequence[Finding]) -> tuple[str, ...]:
    """Sentences, cheapest test first; empty where the log leaves nothing open that another test would tell."""
    codes = frozenset(f.code for f in findings)
    return tuple(test.sentence for test in TESTS if test.needed(case, codes))


def _is_disc(case: Case) -> bool:
    return case.kind == "friction-disc"


def _no_slow_pass(case: Case, codes: frozenset[str]) -> bool:
    return case.slow_pass is None


def _zero_open(case: Case, codes: frozenset[str]) -> bool:
    return case.kind in CHARGE_SEEN and not case.curves.run.zero_known


def _no_repeat(case: Case, codes: frozenset[str]) -> bool:
    loops = case.moving
    return not any(
        abs(b.peak_velocity_m_s / a.peak_velocity_m_s - 1) < SAME
        and abs(b.stage.stroke_m / a.stage.stroke_m - 1) < SAME
        for i, a in enumerate(loops)
        for b in loops[i + 1 :]
    )


def _few_cycles(case: Case, codes: frozenset[str]) -> bool:
    return bool(case.moving) and case.moving[0].stage.cycles < FEW_CYCLES


def _nothing_slow(case: Case, codes: frozenset[str]) -> bool:
    return not _is_disc(case) and not any(loop.peak_velocity_m_s <= SLOW_BAND_M_S for loop in case.moving)


def _no_reference(case: Case, codes: frozenset[str]) -> bool:
    return case.spec is None or case.spec.reference is None


def _knee_open(case: Case, codes: frozenset[str]) -> bool:
    return any(f is not None and "blow-off" not in f.reached for f in (case.damper.rebound, case.damper.compression))


def _one_stroke(case: Case) -> bool:
    strokes = [loop.stage.stroke_m for loop in case.moving]
    return bool(strokes) and max(strokes) < (1 + SAME) * min(strokes)


TESTS: tuple[NextTest, ...] = (
    NextTest(lambda case, codes: "bent_rod" in codes, "Turn the rod 90 degrees and repeat the slow pass: a bent rod's tight place moves, a scored bore's stays."),
    NextTest(lambda case, codes: bool({"valves_swapped"} & codes), "Push the unit by hand with the log running: it shows which sign is compression, before any valve is touched."),
    NextTest(_no_slow_pass, "Add one slow pass at 5 mm/s: without it friction is uncertain and a bent rod, a scored bore or sticking cannot be seen."),
    NextTest(_zero_open, "Read the cell with nothing fitted and declare it as [zero] force_n: without it the gas pressure is not established."),
    NextTest(_few_cycles, "Run at least five cycles at the first speed: fewer do not show whether air clears."),
    NextTest(_nothing_slow, "Add a stage at 0.05 or 0.1 m/s: a low oil level shows best slow."),
    NextTest(_no_repeat, "Repeat the first speed at the end, warm: it shows fade, and whether the readings hold."),
    NextTest(lambda case, codes: bool({"low_oil", "aerated_oil", "trapped_air"} & codes), "Rest the unit upright for ten minutes and rerun: bubbles go, a low level stays low."),
    NextTest(lambda case, codes: bool({"low_oil", "aerated_oil", "starved_refill"} & codes) and _one_stroke(case), "Add a stage of half the stroke at the same speed: a void from a low level shrinks or goes, bubbles stay."),
    NextTest(lambda case, codes: bool({"loose_mount"} & codes), "Run a rigid link in the same clevises: what play is left is the bench's."),
    NextTest(_no_reference, "Declare the forces of a known-good unit as [reference]: without them a leak, a weak blow-off and a blocked bleed are not established."),
    NextTest(_knee_open, "Add a faster stage: one direction has not reached its blow-off, so a weak one would not show."),
    NextTest(lambda case, codes: case.kind == "twin-tube", "Weigh the unit or measure its oil: up to about a tenth of the oil can be gone before any force shows it."),
)  # fmt: skip
