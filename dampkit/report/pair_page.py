"""Runs side by side on one page: left and right, before and after, or a batch against its median."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.outcome.compare import Difference, matched
from dampkit.outcome.measured_record import StageRecord
from dampkit.outcome.result import Result
from dampkit.quantities import Estimate
from dampkit.report import words
from dampkit.report.document import ALONE, Look, page_text
from dampkit.report.numbers import Writer, brief
from dampkit.report.page import in_units, name_of
from dampkit.report.picture import Layer, Line, Picture
from dampkit.report.pictures import FORCE_AXIS, SIGNS, SPEED_AXIS, TENSION_AXIS, TRAVEL_AXIS, look_of, with_ways
from dampkit.report.tables import Table

Kind = Literal["pair", "before-after", "batch"]
LOOP_SPEED_M_S = 0.3  # the loops that are laid over each other are those nearest to it

ANSWERS: dict[Kind, dict[str, tuple[str, str]]] = {
    "pair": {
        "in": ("Matched", "No difference between the two matters. They may work on one axle."),
        "out": ("Not matched", "The two differ by more than is allowed. Do not fit them on one axle as they are."),
        "not established": ("Not established", "This test cannot tell whether the two match. That is not a pass."),
    },
    "before-after": {
        "in": ("No change that matters", "The unit reads the same before and after, within what is allowed."),
        "out": ("Changed", "The unit reads differently after the work. Whether that is right is for its own verdict."),
        "not established": ("Not established", "This test cannot tell whether the unit changed."),
    },
    "batch": {
        "in": ("Alike", "No unit stands apart from the median of the others."),
        "out": ("Not alike", "At least one unit stands apart from the median of the others by more than is allowed."),
        "not established": ("Not established", "It is too close to call for at least one unit. That is not a pass."),
    },
}
TITLES: dict[Kind, str] = {
    "pair": "Two dampers side by side",
    "before-after": "One damper before and after work on it",
    "batch": "Several dampers against their median",
}


@frozen
class Runs:
    """What is held side by side. For a batch `found` holds, run by run, differences from the median of the others.

    `names` are as the reader knows the runs; `pages` are links to their own pages, empty where there are none.
    """

    kind: Kind
    names: tuple[str, ...]
    results: tuple[Result, ...]
    found: tuple[tuple[Difference, ...], ...]
    advice: str
    percent: float
    pages: tuple[str, ...] = ()


def render_pair(runs: Runs, look: Look = ALONE) -> str:
    """The whole page; the same runs always give the same text."""
    answer = _answer(runs)
    word, sentence = ANSWERS[runs.kind][answer]
    runs = replace(runs, results=tuple(in_units(result, look) for result in runs.results))
    drawn = [force_picture(runs, look.writer), loops_picture(runs, look.writer)]
    view: dict[str, Any] = {
        "heading": TITLES[runs.kind],
        "title": _title(runs),
        "word": word,
        "sentence": sentence,
        "answer": answer,
        "reasons": _reasons(runs, look.writer),
        "next_step": runs.advice,
        "lead": drawn[0] and drawn[0].id,
        "differences": [difference_table(runs, n, look.writer) for n in range(len(runs.found))],
        "units": units_table(runs),
        "pages": list(zip(runs.names, runs.pages, strict=True)) if runs.pages else [],
        "quality": _quality(runs),
        "percent": brief(runs.percent),
        "version": runs.results[0].version,
        "logs": [result.run for result in runs.results],
    }
    return page_text("pair.html", look, drawn, view)


def force_picture(runs: Runs, writer: Writer) -> Picture | None:
    """Fitted force of the oil of every run over one another; None where no run has a curve."""
    layers: list[Layer] = []
    for n, (name, result) in enumerate(zip(runs.names, runs.results, strict=True)):
        ink, dash = look_of(n)
        for way, sign in SIGNS.items():
            curve = getattr(result.valve, way).curve
            if curve is not None:
                line = Line(name, np.array(curve.velocity_m_s), sign * np.array(curve.force_n), ink, dash)
                layers.append(line)
    if not layers:
        return None
    title = "Force of the oil against piston speed"
    return with_ways(Picture("force", title, _alt(runs, writer), SPEED_AXIS, FORCE_AXIS, tuple(layers)))


def loops_picture(runs: Runs, writer: Writer) -> Picture | None:
    """One loop of each run, at the speed nearest to LOOP_SPEED_M_S, over one another; None without any."""
    layers: list[Layer] = []
    for n, (name, result) in enumerate(zip(runs.names, runs.results, strict=True)):
        stage = _nearest(result.run.stages)
        if stage is not None:
            x, y = (np.array(v) for v in (stage.loop.displacement_mm, stage.loop.force_n))
            label = f"{name}, {writer.drawn(stage.peak_velocity_m_s, 'm/s')}"
            ink, dash = look_of(n)
            layers.append(Line(label, np.append(x, x[0]), np.append(y, y[0]), ink, dash))
    if not layers:
        return None
    alt = "One loop of each run over the other. The tables give the forces in numbers."
    return Picture(
        "loops", "Loops over one another, friction and gas in", alt, TRAVEL_AXIS, TENSION_AXIS, tuple(layers)
    )


def difference_table(runs: Runs, n: int, writer: Writer) -> Table:
    of_many = runs.kind == "batch"
    first, second = ("This run", "Median of the others") if of_many else runs.names[:2]
    gap = "This run less the median" if of_many else "First less second"
    rows = tuple(
        (
            f"{d.direction.capitalize()}, {writer.given(d.velocity_m_s, 'm/s')}",
            words.MATTERS[d.answer],
            writer.given(d.first_n, "N"),
            writer.given(d.second_n, "N"),
            _signed(d.gap_n, writer),
            writer.given(d.allowed_n, "N"),
        )
        for d in runs.found[n]
    )
    name = f"{runs.names[n]}: difference" if of_many else "Difference"
    head = ("Direction and speed", "Does it matter?", first, second, f"{gap} (95 % interval)", "Allowed")
    return Table(f"{name} at each speed, friction in, gas force out", head, rows, prose=True)


def units_table(runs: Runs) -> Table:
    rows = tuple(
        (
            name,
            words.VERDICTS[result.verdict.action].word,
            "; ".join(fault.sentence for fault in result.faults if fault.level == "found") or "none found",
            result.verdict.next_step,
        )
        for name, result in zip(runs.names, runs.results, strict=True)
    )
    return Table("What each run says by itself", ("Run", "Verdict", "Faults", "What to do next"), rows, prose=True)


def _title(runs: Runs) -> str:
    """What the page is about: the unit where it is one, the runs where they are few, else their number."""
    if runs.kind == "before-after":
        return name_of(runs.results[-1].damper.serial, "no serial given")
    names = [name_of(name, "a run without a name") for name in runs.names]
    return " and ".join(names) if len(names) < 4 else f"{len(names)} dampers"


def _answer(runs: Runs) -> str:
    bad = any(q.severity == "bad" for result in runs.results for q in result.quality)
    answers = [matched(found, bad) for found in runs.found]
    return next((answer for answer in ("out", "not established") if answer in answers), "in")


def _reasons(runs: Runs, writer: Writer) -> list[str]:
    found = [d for run in runs.found for d in run]
    counts = Counter(d.answer for d in found)
    lines = []
    if found:
        worst = max(found, key=lambda d: abs(d.gap_n.value) / d.allowed_n)
        whose = next(name for name, run in zip(runs.names, runs.found, strict=False) if worst in run)
        of = f" of {whose}" if runs.kind == "batch" else ""
        lines.append(
            f"Largest difference for its limit: {worst.direction}{of} at {writer.given(worst.velocity_m_s, 'm/s')}, "
            f"{writer.given(worst.first_n, 'N')} against {writer.given(worst.second_n, 'N')}; "
            f"{writer.given(worst.allowed_n, 'N')} is allowed."
        )
        said = [f"{counts[a]} {words.DIFFER[a]}" for a in ("out", "in", "not established") if counts[a]]
        lines.append(f"Of {len(found)} forces compared, " + "; ".join(said) + ".")
    else:
        lines.append("The runs were not tested at the same speeds, so no force can be compared.")
    verdicts = [f"{name}: {words.VERDICTS[r.verdict.action].word.lower()}" for name, r in _each(runs)]
    lines.append("By themselves: " + "; ".join(verdicts) + "." if len(verdicts) <= 4 else _tally(runs))
    return lines


def _tally(runs: Runs) -> str:
    counts = Counter(words.VERDICTS[result.verdict.action].word.lower() for result in runs.results)
    return "By themselves: " + "; ".join(f"{n} {word}" for word, n in counts.most_common()) + "."


def _each(runs: Runs) -> list[tuple[str, Result]]:
    return list(zip(runs.names, runs.results, strict=True))


def _quality(runs: Runs) -> list[str]:
    """Notes on the data, worst first, said once where they hold for several runs."""
    order = list(words.SEVERITIES)
    notes: dict[tuple[int, str], list[str]] = {}
    for name, result in _each(runs):
        for entry in result.quality:
            notes.setdefault((order.index(entry.severity), entry.message), []).append(name)
    return [
        f"{words.SEVERITIES[order[level]]}. {', '.join(dict.fromkeys(names))}: {message}"
        for (level, message), names in sorted(notes.items(), key=lambda item: item[0][0])
    ]


def _nearest(stages: Sequence[StageRecord]) -> StageRecord | None:
    return min(stages, key=lambda stage: abs(stage.peak_velocity_m_s - LOOP_SPEED_M_S), default=None)


def _alt(runs: Runs, writer: Writer) -> str:
    said = []
    for name, result in _each(runs):
        for way in SIGNS:
            curve = getattr(result.valve, way).curve
            if curve is not None:
                top = f"{writer.drawn(curve.force_n[-1], 'N')} at {writer.drawn(curve.velocity_m_s[-1], 'm/s')}"
                said.append(f"{name}: {way} {top}.")
    return " ".join(said)


def _signed(gap_n: Estimate, writer: Writer) -> str:
    """Whole newtons with their sign and interval; zero has none."""
    value, low, high = (f"{round(end):+d}" if round(end) else "0" for end in (gap_n.value, gap_n.low, gap_n.high))
    return f"{value} N ({low} to {high}){writer.beside(gap_n.value, 'N')}"
