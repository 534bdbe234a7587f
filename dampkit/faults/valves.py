"""Valves against the known-good reference: leak, weak blow-off, blocked bleed, stuck open, changed over."""

from __future__ import annotations

import numpy as np

from dampkit.faults.against import WORTH_ASKING, Compared, Part
from dampkit.faults.finding import Finding
from dampkit.faults.judge import PRACTICE, Case, Measure, finding, surest

BASIS = "the unit's own reference and its tolerance"
OPEN_RATIO = 1.5  # own: a bleed so much larger than when good is a valve held off its seat; drill wear stays far below
EARLY_RATIO = 0.75  # of the good blow-off force: preload is set within 10 to 15 %; common practice, from memory
KNEE_ERROR = (
    0.05  # standard uncertainty of that ratio: knee as fitted, and as drawn from the reference's few points; own
)
SWAP_GAIN = 4.0  # own: the forces fit the other direction's reference so many times better


def internal_leak(case: Case, compared: dict[str, Compared]) -> Finding | None:
    """Oil past the piston or a seat: a clearance beside the valve, so force is missing most at low speed.

    Source: laminar clearance beside orifice and blow-off, [merritt1967] ch. 2 and 3. Confused with a weak blow-off
    (low speed right) and an open valve (an orifice: falls with the square): the parts are fitted side by side.
    """
    return surest([_part("internal_leak", c, "leak", -1) for c in compared.values()])


def weak_blowoff(case: Case, compared: dict[str, Compared]) -> Finding | None:
    """Low-speed force right, the knee at too low a force: a tired or wrong spring. Source: [merritt1967] ch. 3.

    Where the valve is steep above the knee, the force may stay in its window though the spring is far off: then the
    knee itself tells.
    """
    return surest([f for c in compared.values() for f in (_part("weak_blowoff", c, "blowoff", -1), _opens_early(c))])


def blocked_bleed(case: Case, compared: dict[str, Compared]) -> Finding | None:
    """Too much force below the knee, in proportion; right above it: the always-open orifice is smaller.

    Source: [merritt1967] ch. 3. Confused with friction, which is the same at every speed and free in the comparison.
    """
    return surest([_part("blocked_bleed", c, "bleed", +1) for c in compared.values()])


def valve_stuck_open(case: Case, compared: dict[str, Compared]) -> Finding | None:
    """One direction nearly dead: an orifice is open that should not be (grit under a seat). Source: [merritt1967] ch. 3."""
    open_now = [c for c in compared.values() if "bleed" in c.changed and c.ratio("bleed") > OPEN_RATIO]
    return surest([_part("valve_stuck_open", c, "bleed", -1) for c in open_now])


def valves_swapped(case: Case, compared: dict[str, Compared]) -> Finding | None:
    """Each direction makes the other's reference force. A wrong sign in the log looks the same, so that is to be checked.

    Source: own, after factory test memos (a valve found in the wrong side).
    """
    if set(compared) != {"rebound", "compression"}:
        return None
    r, c = compared["rebound"], compared["compression"]
    if r.wanted_n.size != c.wanted_n.size:
        return None
    crossed = [(a.measured_n - b.wanted_n) / b.slack_n for a, b in ((r, c), (c, r))]
    now, swapped = (float(np.sqrt(np.mean(np.concatenate(x) ** 2))) for x in ([r.out, c.out], crossed))
    measures = [
        Measure("forces off their own reference, in tolerances", now, 0.1, "", 1.0, BASIS),
        Measure("forces off the other direction's reference, in tolerances", swapped, 0.1, "", 1.0, BASIS, "below"),
        Measure("the first over the second", now / max(swapped, 1e-3), 0.5, "", SWAP_GAIN, "statistical"),
    ]
    sentence = "Valves changed over: each direction makes the other's force (check the signs of the log first)"
    return finding("valves_swapped", measures, sentence)


NAMES: dict[str, str] = {
    "internal_leak": "Internal leak",
    "weak_blowoff": "Blow-off weak",
    "blocked_bleed": "Bleed blocked",
    "valve_stuck_open": "Valve held open",
}


def _part(code: str, c: Compared, part: Part, sign: int) -> Finding | None:
    """A changed part whose effect on the force is beyond the tolerance at the speed where it is largest."""
    if part not in c.changed:
        return None
    effect = sign * c.effect_n(part)
    at = int(np.argmax(effect / c.slack_n))
    share = 100 / c.wanted_n[at]
    measure = Measure(
        f"{c.direction} force {'added' if sign > 0 else 'lost'} by it at {c.velocity_m_s[at]:g} m/s, of the reference",
        float(share * effect[at]), float(share * np.hypot(c.error_n[at], c.left_n[at])), "%", float(share * c.slack_n[at]), BASIS,
    )  # fmt: skip
    over = "over" if sign > 0 else "under"
    sentence = (
        f"{NAMES[code]}: {c.direction} force at {c.velocity_m_s[at]:g} m/s is "
        f"{abs(share * (c.measured_n[at] - c.wanted_n[at])):.0f} % {over} the reference{_how(code, c)}"
    )
    return finding(code, [measure], sentence)


def _opens_early(c: Compared) -> Finding | None:
    """A knee far under the good one, whose effect on the force is at least half the tolerance."""
    if "blowoff" not in c.changed:
        return None
    lost = -c.effect_n("blowoff") / c.slack_n
    at = int(np.argmax(lost))
    measures = [
        Measure("blow-off force over the good unit's", c.ratio("blowoff"), KNEE_ERROR, "", EARLY_RATIO, PRACTICE, "below"),
        Measure(
            f"{c.direction} force lost by it at {c.velocity_m_s[at]:g} m/s, in tolerances", float(lost[at]),
            float(np.hypot(c.error_n[at], c.left_n[at]) / c.slack_n[at]), "", WORTH_ASKING, BASIS,
        ),
    ]  # fmt: skip
    sentence = (
        f"Blow-off weak: {c.direction} opens at {100 * c.ratio('blowoff'):.0f} % of the good force; the force at"
        f" {c.velocity_m_s[at]:g} m/s is {abs(c.measured_n[at] / c.wanted_n[at] - 1) * 100:.0f} % under the reference"
    )
    return finding("weak_blowoff", measures, sentence)


def _how(code: str, c: Compared) -> str:
    if code == "weak_blowoff":
        return f"; it opens at {100 * c.ratio('blowoff'):.0f} % of the good force"
    if code in ("blocked_bleed", "valve_stuck_open"):
        return f"; the bleed passes {c.ratio('bleed'):.2g} times what it should"
    return ", most of it missing at low speed"
