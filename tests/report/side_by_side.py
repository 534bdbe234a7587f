"""Made-up pairs and sweeps for their pages: numbers chosen to look like a bench day, nothing in them was measured."""

from __future__ import annotations

import numpy as np

from dampkit.outcome.change.aim import Aim
from dampkit.outcome.choice import Settings, Sweep, options
from dampkit.outcome.compare import Difference
from dampkit.quantities import Estimate
from dampkit.report.document import Look
from dampkit.report.pair_page import Kind, Runs
from dampkit.report.settings_page import render_settings
from tests.report.made_up import force, low_oil, sound, unclear


def difference(speed: float, first: float, second: float, answer: str) -> Difference:
    gap = first - second
    return Difference(
        "rebound", speed, first, second, Estimate(gap, gap - 12.0, gap + 12.0), 0.15 * first, abs(gap) > 12.0,
        answer, 0.5,  # type: ignore[arg-type]
    )  # fmt: skip


def runs(kind: Kind, names: tuple[str, ...] | None = None) -> Runs:
    """A sound unit, one low on oil and, in a batch, one with poor data."""
    found = (difference(0.1, 330.0, 260.0, "out"), difference(0.3, 1305.0, 1290.0, "in"))
    advice = "Change A-1043: its own verdict is rebuild."
    results = (sound(), low_oil(), unclear())
    if kind == "batch":
        return Runs(kind, names or ("A-1042", "A-1043", "A-1044"), results, (found, found[1:], ()), advice, 15.0)
    usual = ("before", "after") if kind == "before-after" else ("A-1042", "A-1043")
    return Runs(kind, names or usual, results[:2], (found,), advice, 15.0)


def choice() -> Settings:
    """Three logged settings, each firmer than the one before; the window lies about the middle one."""
    v = np.linspace(1e-3, 1.0, 81)
    share = np.array([[0.7], [1.0], [1.3]])
    table = {way: share * force(v, way) for way in ("rebound", "compression")}
    half = {way: np.full((3, 81), 8.0) for way in table}
    found = Sweep(np.array([0.0, 4.0, 8.0]), v, table, half)  # type: ignore[arg-type]
    at = np.array([0.1, 0.3, 0.6])
    aims = tuple(
        Aim(way, at, middle, 0.85 * middle, 1.15 * middle, centred=True)  # type: ignore[arg-type]
        for way in table
        for middle in (force(at, way),)  # type: ignore[arg-type]
    )
    return Settings((), found, aims, options(found, aims, 1.0, 0.3), Estimate(0.28, 0.27, 0.29))


def choice_page(look: Look, unit: str = "A-1042") -> str:
    return render_settings(choice(), look, unit=unit, logs=("click0.csv", "click4.csv", "click8.csv"))
