"""Friction that is too high, alike over the stroke."""

from __future__ import annotations

from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case, Measure, finding

# 55 N at up to 5 mm/s over a 20 mm stroke, no side load; [qct491]
LIMIT_N = 55.0


def high_friction(case: Case) -> Finding | None:
    """Friction of rod, guide and piston above the published limit, alike in both directions and over the stroke.

    Half the difference of the slow ways out and in; fitted with the valve, which makes no force at rest.
    Source: [qct491]. Confused with a bent rod (tied to a place), a blocked bleed (grows with speed) and a friction-disc
    unit, whose friction is its work.
    """
    friction = case.damper.friction_force_n
    if friction is None or case.kind == "friction-disc":
        return None
    measure = Measure(
        "friction",
        friction.value,
        max(friction.half_width / 1.96, 0.5),
        "N",
        LIMIT_N,
        "published: requirement for telescopic dampers",
    )
    sentence = f"Friction high: {friction.value:.0f} N in both directions (gland, guide, rod or side load)"
    return finding("high_friction", [measure], sentence, 0)
