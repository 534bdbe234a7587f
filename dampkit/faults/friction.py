"""Friction: too high, or tied to a place in the stroke."""

from __future__ import annotations

from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case, Measure, finding

# 55 N at up to 5 mm/s over a 20 mm stroke, no side load; [qct491]
LIMIT_N = 55.0


def high_friction(case: Case) -> Finding | None:
    """Friction of the rod and piston above the published limit, equal in both directions. Source: [qct491]."""
    friction = case.damper.friction_force_n
    if friction is None or (case.spec is not None and case.spec.damper.kind == "friction-disc"):
        return None
    measure = Measure(
        "friction",
        friction.value,
        friction.half_width / 1.96,
        "N",
        LIMIT_N,
        "published: requirement for telescopic dampers",
    )
    sentence = f"Friction high: {friction.value:.0f} N in both directions (gland, guide, rod or side load)"
    return finding("high_friction", [measure], sentence, 0)
