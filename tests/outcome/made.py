"""Small inputs to the deciding part, all made up."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from dampkit.bench.run import Quality
from dampkit.damper.unit import Unit, Law
from dampkit.damper.valve import Valve
from dampkit.faults.finding import Finding
from dampkit.expected.conformity import Answer
from dampkit.outcome.result import ReferencePoint
from dampkit.outcome.target import TargetAnswer
from dampkit.quantities import Estimate

BAD_DATA = Quality("clipped_force", "bad", "The force channel is cut off at 2000 N")


def valve_fit(slope_n_s_m: float, spread: float = 0.01, top_m_s: float = 1.0) -> Law:
    """A straight force curve with a relative half-width of `spread`."""
    v = np.linspace(0, top_m_s, 51)
    f = slope_n_s_m * v
    empty = np.zeros(0)
    return Law(
        Valve(leak=1 / slope_n_s_m), v, f, (1 - spread) * f, (1 + spread) * f, empty, empty, ("leak",),
        None, None, None, None, None, None, 1.0, True,
    )  # fmt: skip


def damper_fit(friction: Estimate | None = Estimate(20.0, 18.0, 22.0)) -> Unit:  # noqa: B008
    return Unit(valve_fit(2000.0), valve_fit(1000.0), None, friction, None, None, None, None, None, (), {})


def finding(code: str, likelihood: float = 0.9, level: Literal["found", "suspected"] = "found") -> Finding:
    return Finding(code, level, likelihood, f"Signs of {code.replace('_', ' ')}", ())


def point(answer: Answer, measured: float | None = 100.0) -> ReferencePoint:
    low, high = (90.0, 110.0) if answer != "out" else (120.0, 140.0)
    return ReferencePoint(
        direction="rebound",
        velocity_m_s=0.1,
        measured_n=None if answer == "not established" else measured,
        measured_low_n=None,
        measured_high_n=None,
        reference_n=0.5 * (low + high),
        low_n=low,
        high_n=high,
        answer=answer,
    )


def suits_car(answer: Answer, ratio: float | None = 0.28, share: float = 0.7) -> TargetAnswer:
    estimate = None if ratio is None else Estimate(ratio, ratio - 0.005, ratio + 0.005)
    return TargetAnswer(answer, estimate, 0.28, 0.224, 0.336, share, 0.7)


def shifted(fit: Unit, factor: float) -> Unit:
    """The same unit with all rebound forces times a factor."""
    return replace(fit, rebound=valve_fit(2000.0 * factor))
