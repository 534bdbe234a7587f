"""Every signature, asked in turn; what explains another is kept and the other dropped."""

from __future__ import annotations

from collections.abc import Callable

from dampkit.faults import friction, gas, take_up, valves
from dampkit.faults.finding import Finding
from dampkit.faults.judge import Case

SIGNATURES: tuple[Callable[[Case], Finding | None], ...] = (
    take_up.loose_mount,
    take_up.low_oil,
    take_up.aerated_oil,
    gas.low_gas_pressure,
    friction.high_friction,
    valves.internal_leak,
    valves.weak_blowoff,
    valves.blocked_bleed,
)

# A fault on the left makes the loop look as if it had those on the right: then the right one says nothing.
EXPLAINS: dict[str, tuple[str, ...]] = {
    "aerated_oil": ("low_oil", "internal_leak", "weak_blowoff", "blocked_bleed"),
    "low_gas_pressure": ("low_oil", "aerated_oil", "internal_leak", "weak_blowoff", "blocked_bleed"),
    "high_friction": ("blocked_bleed",),
    "loose_mount": ("low_oil", "aerated_oil"),
    "low_oil": ("internal_leak", "blocked_bleed"),
}


def diagnose(case: Case) -> tuple[Finding, ...]:
    """The faults that the log shows, most likely first."""
    if case.damper.rebound is None:
        return ()
    made = [f for f in (signature(case) for signature in SIGNATURES) if f is not None]
    found = {f.code for f in made if f.level == "found"}
    hidden = {code for by in found for code in EXPLAINS.get(by, ())}
    return tuple(sorted((f for f in made if f.code not in hidden), key=lambda f: -f.likelihood))
