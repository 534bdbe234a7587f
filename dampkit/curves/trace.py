"""A run becomes its loops; the parts of a run each on its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dampkit.bench.points import Points
from dampkit.bench.run import Quality, Run
from dampkit.bench.test import Test
from dampkit.curves.fold import fold
from dampkit.curves.loop import Curves, Loop, RowSpan, Stage
from dampkit.curves.loop_checks import loop_checks
from dampkit.curves.rows import row_spans
from dampkit.curves.stages import find_motion
from dampkit.errors import BadSettings, CannotAnalyse
from dampkit.frozen import frozen
from dampkit.quantities import number, quantiles

NEAR_MIDDLE = 0.05  # of the stroke, to each side
FASTER = 1.2  # ratio to the fastest stage from which motion outside of the stages is told; own choice
SPEED_OVER_S = 0.01  # over which the speed of such motion is read; own choice
NOT_BOTH_WAYS = "does not pass the middle of its stroke both ways"


@frozen
class Traced:
    """Loops and rows of one recording, both counted from its own first one; `why_not` where it has no loops."""

    run: Run
    loops: tuple[Loop, ...]
    rows: tuple[RowSpan, ...]
    why_not: CannotAnalyse | None = None


def measured_of(record: Run | Points | Test) -> Curves | Points:
    """What the rooms after this one work on: loops, or the points of a table or a test by hand. Raises as `trace`.

    And BadSettings for what is no record.
    """
    found = record.record if isinstance(record, Test) else record
    if not isinstance(found, Run | Points):
        what, do = f"found a {type(found).__name__}", "read it first: dampkit.read_run or dampkit.read_test"
        raise BadSettings("what was given as a test", what, "what read_run or read_test gives", do)
    return found if isinstance(found, Points) else trace(found)


def trace(run: Run) -> Curves:
    """Find the stages of a run and fold each on its cycles.

    A part without a stage is told and passed over. Raises CannotAnalyse where there is no full cycle of steady motion
    at all, or no force that changes.
    """
    if not np.ptp(run.force_n) > 0:
        raise CannotAnalyse(
            run.file,
            f"the force reads {number(float(run.force_n[0]))} N in every row",
            "a force that changes with the motion",
            "check plug, cable and range of the load cell, and test again",
        )
    if not run.parts:
        traced: tuple[Traced, ...] = (_one(run),)
    else:
        traced = tuple(_if_any(part) for part in run.parts)
    reasons = [t.why_not for t in traced if t.why_not is not None]
    if len(reasons) == len(traced):
        raise reasons[0]
    loops = _renumbered(traced)
    said = (*_passed_over(reasons), *_faster_than_stages(traced, loops), *_remarks(run, loops))
    return Curves(run, loops, said, _rows(traced))


def _one(run: Run) -> Traced:
    if run.closed_hz is not None:
        stage = _closed_stage(run, run.closed_hz)
        turns = "1 closed turn" if stage.cycles == 1 else f"{stage.cycles} closed turns"
        return Traced(run, (fold(run, stage),), (RowSpan(0, run.rows_used, "stage", turns, 0),))
    motion = find_motion(run)
    folded = [fold(run, stage) for stage in motion.stages]
    loops = [loop for loop in folded if _goes_both_ways(loop)]
    if not loops:
        raise CannotAnalyse(run.file, NOT_BOTH_WAYS, "whole strokes out and back", "run three cycles or more a speed")
    place = {loop.stage.index: i for i, loop in enumerate(loops)}
    return Traced(run, tuple(loops), tuple(_placed(span, place) for span in row_spans(run, motion)))


def _goes_both_ways(loop: Loop) -> bool:
    """Whether the loop passes its middle out and back; a bench that is moved by hand to a new place may not."""
    x = loop.displacement_m
    near = np.abs(x - 0.5 * (x.max() + x.min())) < NEAR_MIDDLE * np.ptp(x)
    return bool((loop.velocity_m_s[near] > 0).any() and (loop.velocity_m_s[near] < 0).any())


def _placed(span: RowSpan, place: dict[int, int]) -> RowSpan:
    """A span with its stage as it is counted once those that are no loop are left out."""
    if span.stage is None:
        return span
    if span.stage not in place:
        return replace(span, use="not used", why=NOT_BOTH_WAYS, stage=None)
    return replace(span, stage=place[span.stage])


def _closed_stage(run: Run, frequency_hz: float) -> Stage:
    """All rows of a closed loop: whole turns, the last row one step before the first comes again."""
    turns = max(1, round(float(run.time_s[-1]) * frequency_hz))
    temperature = None if run.temperature_c is None else float(np.mean(run.temperature_c))
    return Stage(0, 0, run.rows_used, frequency_hz, turns, float(np.ptp(run.displacement_m)), temperature)


def _if_any(run: Run) -> Traced:
    try:
        return _one(run)
    except CannotAnalyse as error:
        return Traced(run, (), (RowSpan(0, run.rows_used, "not used", error.found),), error)


def _renumbered(traced: Sequence[Traced]) -> tuple[Loop, ...]:
    """All loops with their stages counted, and their rows placed, in the run as a whole."""
    loops: list[Loop] = []
    offset = 0
    for one in traced:
        for loop in one.loops:
            s = loop.stage
            stage = replace(s, index=len(loops), start=s.start + offset, stop=s.stop + offset)
            loops.append(replace(loop, stage=stage))
        offset += one.run.rows_used
    return tuple(loops)


def _rows(traced: Sequence[Traced]) -> tuple[RowSpan, ...]:
    """Every row's use, counted within its file; stages counted in the test."""
    rows: list[RowSpan] = []
    before: dict[tuple[str, str], int] = {}
    stages = 0
    for one in traced:
        key = (one.run.file, one.run.sha256)
        at = before.get(key, 0)
        for span in one.rows:
            stage = None if span.stage is None else span.stage + stages
            rows.append(
                replace(span, from_row=span.from_row + at, to_row=span.to_row + at, stage=stage, file=one.run.file)
            )
        stages += len(one.loops)
        before[key] = at + one.run.rows_used
    return tuple(rows)


def _passed_over(reasons: Sequence[CannotAnalyse]) -> list[Quality]:
    return [
        Quality("part_not_used", "warning", f"{why.where}: {why.found}, so this recording was passed over.")
        for why in reasons
    ]


def _faster_than_stages(traced: Sequence[Traced], loops: Sequence[Loop]) -> list[Quality]:
    """The fastest motion that is in no stage, where it is faster than all of them: it was run, and is not seen."""
    spans = [(_speed_m_s(t.run, s), t.run, s) for t in traced for s in t.rows if s.use == "not used"]
    top, run, span = max(spans, key=lambda found: found[0], default=(0.0, None, None))
    if run is None or span is None or top < FASTER * max(loop.peak_velocity_m_s for loop in loops):
        return []
    begin, end = (number(float(run.time_s[row])) for row in (span.from_row, span.to_row - 1))
    message = (
        f"From {begin} to {end} s of {run.file} it moved at up to {number(top, 2)} m/s, faster than in any stage, but these"
        f" rows could not be used: {span.why}. There are {number(1 / run.sample_interval_s)} rows a second."
    )
    return [Quality("motion_not_used", "warning", message, "measure")]


def _speed_m_s(run: Run, span: RowSpan) -> float:
    """Of nearly the fastest of the rows, over so long that noise counts little."""
    lag = max(1, round(SPEED_OVER_S / run.sample_interval_s))
    x = run.displacement_m[span.from_row : span.to_row]
    moved = np.abs(x[lag:] - x[:-lag])
    return float(quantiles(moved, [0.95])[0]) / (lag * run.sample_interval_s) if moved.size else 0.0


def _remarks(run: Run, loops: tuple[Loop, ...]) -> list[Quality]:
    out = []
    if len(loops) == 1:
        out.append(
            Quality(
                "one_stage",
                "warning",
                "The log has one stage only: valve, friction and lag are not told apart. Run a slow pass and three or more speeds.",
            )
        )
    return [*out, *loop_checks(run, loops)]
