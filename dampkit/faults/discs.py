"""Measures of friction-disc dampers: sliding force against the reference, force to start, growth with speed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from dampkit.curves.loop import Loop
from dampkit.damper.reading import REPEATS
from dampkit.expected.window import window
from dampkit.faults.finding import Measure
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS

STICK_LIMIT = 1.3  # common practice, from memory: force to start over sliding force of about 1.2 to 1.3 is sticking
GREASE_LIMIT = 0.10  # own: share of the force gained per metre a second; a dry pair hardly changes with speed
STARTS_M_S = 2e-3  # below it discs that stick pull more than sliding; common practice, no source
STARTS_SHARE = 0.05  # of a slow pass that must be slower, or its loop hides the force to start; own choice
READING_SHARE = 0.02  # of a force: standard uncertainty
LEAST_STAGES = 3


def disc_measures(test: UnderTest) -> Iterator[Measure]:
    """F = sliding + rise v over the moving stages, both directions averaged; breakaway from the slow pass.

    Dry friction is independent of speed, so a force that grows with it is an oily film; one that is low at every speed is
    a glazed face or a slack clamp. Source: own, after trade practice; [rao] ch. 2 for Coulomb friction.
    """
    line = _line(test)
    if line is None:
        return
    base, rise, error = line
    yield Measure("rises_with_speed", rise / base, error / base, "s/m", GREASE_LIMIT, "statistical")
    if test.slow_pass is not None:
        started = _start_n(test.slow_pass) / base
        stage = test.slow_pass.stage.index
        yield Measure("breakaway", started, READING_SHARE, "", STICK_LIMIT, "common practice", stage=stage)
    reference = None if test.spec is None else test.spec.reference
    if reference is not None:
        windows = [window(reference, d) for d in DIRECTIONS]
        wanted = float(np.mean([w.wanted_n for w in windows]))
        room = float(np.mean([w.allowance_n / w.wanted_n for w in windows]))
        made = float(np.mean(base + rise * windows[0].velocity_m_s)) / wanted
        yield Measure("sliding_force", made, READING_SHARE, "", 1 - room, "own reference", "below")


def shows_start(test: UnderTest) -> bool:
    """Whether the slow pass stays about a standstill for a while, as a crank's does, or shows a force to start anyway.

    A triangle's corner is over at once, and the force to start with it.
    """
    loop, line = test.slow_pass, _line(test)
    if loop is None or line is None:
        return True
    slow = float(np.mean(np.abs(loop.velocity_m_s) < STARTS_M_S))
    return slow >= STARTS_SHARE or _start_n(loop) > STICK_LIMIT * line[0]


def _line(test: UnderTest) -> tuple[float, float, float] | None:
    """Sliding force at rest [N], its rise with speed [N s/m] and the standard uncertainty of that; None of too few stages."""
    sliding = test.unit.sliding
    if test.facts.oil or sliding is None:
        return None
    moving = sliding.velocity_m_s >= 0.02
    v, force = sliding.velocity_m_s[moving], sliding.force_n[moving]
    if v.size < LEAST_STAGES:
        return None
    design = np.stack([np.ones_like(v), v], axis=1)
    solved, *_ = np.linalg.lstsq(design, force, rcond=None)
    rest = force - design @ solved
    variance = max(float(rest @ rest) / (v.size - 2), float(REPEATS * solved[0]) ** 2)
    error = float(np.sqrt(variance * np.linalg.inv(design.T @ design)[1, 1]))
    return float(solved[0]), float(solved[1]), error


def _start_n(loop: Loop) -> float:
    """Half the difference of the greatest force out and in: breakaway stands just after each turn."""
    force = loop.mean_force_n
    return 0.5 * float(np.partition(force, -3)[-3] - np.partition(force, 2)[2])
