"""Every fault by its code: what shows it, against which limit, what it needs of a test, what to do, and where to take care."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from dampkit.damper.kinds import CARRY_SIDE_LOAD, KINDS, STRUT_SIDE_N, Kind
from dampkit.faults.causes import CAUSES, Cause
from dampkit.faults.diagnose import FOUND, SUSPECTED
from dampkit.faults.discs import GREASE_LIMIT, STICK_LIMIT
from dampkit.faults.fade import LEAST_RISE_K, LIMIT_SHARE
from dampkit.faults.finding import Basis
from dampkit.faults.friction import TIGHT_N, TIGHT_SHARE
from dampkit.faults.gas import YIELDS_MM
from dampkit.faults.late import (
    ABOVE_LIMIT_RATIO,
    AFTER_LIMIT,
    CLEARS_LIMIT_MM,
    RISES_LIMIT,
    SOFT_LIMIT_RATIO,
    WITH_PLACE_LIMIT,
)
from dampkit.faults.play import PLAY_LIMIT_MM
from dampkit.faults.valves import EARLY_RATIO, OPEN_RATIO, SWAP_GAIN
from dampkit.frozen import frozen
from dampkit.report.fault_words import BASES, MEASURES, NEEDS
from dampkit.report.faults_told import TOLD, remedy
from dampkit.report.words import CAUTIONS


@frozen
class Limit:
    """What is abnormal, in words with the figure that the fault room holds it against, and where that comes from."""

    said: str
    basis: Basis | None  # None where it hangs on what is declared


ALLOWANCE = Limit("more than the allowance of the reference", "own reference")
LIMITS: Mapping[str, Limit] = {
    "friction": Limit("over `friction_limit_n` where declared, else over the limit of its kind, above", None),
    "even_excess": Limit("over the least allowance of the reference", "own reference"),
    "tight_place": Limit(f"over {TIGHT_N:g} N, or {100 * TIGHT_SHARE:g} % of the usual friction where that is more", "common practice"),
    "play": Limit(f"over {PLAY_LIMIT_MM:g} mm", "common practice"),
    "late": Limit("over the limit of its kind, above", "common practice"),
    "soft": Limit(f"over {100 * SOFT_LIMIT_RATIO:g} % of what the other direction stores; of a twin tube with declared sizes {100 * ABOVE_LIMIT_RATIO:g} %", "statistical"),
    "with_place": Limit(f"over {WITH_PLACE_LIMIT:g} of what a void would change by", "statistical"),
    "still_rises": Limit(f"over {100 * RISES_LIMIT:.0f} % of the valve's force", "statistical"),
    "comes_after": Limit(f"over {100 * AFTER_LIMIT:g} %, and what an unknown channel delay makes", "statistical"),
    "late_grows": Limit("over the limit of lost motion of its kind, and what an unknown channel delay makes", "common practice"),
    "late_clears": Limit(f"over {CLEARS_LIMIT_MM:g} mm", "common practice"),
    "gas_pressure": Limit("under the charge declared, less its tolerance", "declared"),
    "gas_short": Limit("under the drop over the piston in compression", "expected of this unit"),
    "gas_yields": Limit(f"over {YIELDS_MM:g} mm", "statistical"),
    "work_lost": Limit(f"over {100 * LIMIT_SHARE:g} % beyond what its own oil and leak make of its warming", "expected of this unit"),
    "warming": Limit(f"over {LEAST_RISE_K:g} K", "common practice"),
    "short_when_cold": ALLOWANCE,
    "force_low": ALLOWANCE,
    "force_high": ALLOWANCE,
    "leak_takes": ALLOWANCE,
    "bleed_adds": ALLOWANCE,
    "narrow_adds": ALLOWANCE,
    "bleed_takes": ALLOWANCE,
    "blowoff_takes": ALLOWANCE,
    "short_of_rubbing": ALLOWANCE,
    "opens_at": Limit(f"under {EARLY_RATIO:g} times", "common practice"),
    "bleed_ratio": Limit(f"over {OPEN_RATIO:g} times", "statistical"),
    "off_own": ALLOWANCE,
    "off_other": Limit("within the allowance", "own reference"),
    "own_over_other": Limit(f"over {SWAP_GAIN:g} times", "statistical"),
    "unlike": Limit(f"over {100 * (KINDS['steering-damper'].alike_share or 0):.0f} %", "common practice"),
    "breakaway": Limit(f"over {STICK_LIMIT:g} times", "common practice"),
    "rises_with_speed": Limit(f"over {100 * GREASE_LIMIT:g} % for each m/s", "statistical"),
    "sliding_force": Limit("under the reference less its tolerance", "own reference"),
}  # fmt: skip
PLACEHOLDERS = {"{direction}": "its direction", "{velocity}": "one speed"}


def fault_codes() -> str:
    codes = dict.fromkeys(cause.code for cause in CAUSES)
    parts = "\n".join(_fault(code) for code in codes)
    return f"{_HEAD}\n{_kinds()}\n{parts}"


_HEAD = f"""# Faults and their limits

Every fault that is looked for: what shows it, the limit and where that limit comes from, what the test must hold, what to do.

A fault is *found* from a probability of {FOUND:g}, where a measure is read off the record itself and not off the valve's model
alone, and where all was measured that tells it from what looks alike. Less than that is *suspected*, where its surest measure is
beyond its limit with a probability of {SUSPECTED:g} or more. A fault that needs what the test does not
hold is listed as not looked for: that is neither a pass nor a fault. The allowance of a reference is its tolerance in percent
or its floor in newtons, whichever is more.

Limits marked "common practice" or "statistical" are no standard: they are this package's own, in the open.
"""


def _kinds() -> str:
    rows = [
        "## Limits by kind", "", "| kind | friction at most | from | lost motion at most |", "|---|---|---|---|",
    ]  # fmt: skip
    for kind, facts in KINDS.items():
        told = {("" if duty == "car" else f", {duty}"): limit for duty, limit in facts.friction_limit_n.items()}
        for duty, (limit_n, source) in told.items():
            rows.append(f"| {kind}{duty} | {limit_n:g} N | {source} | {facts.late_limit_mm:g} mm |")
        if not told:
            rows.append(f"| {kind} | none known | | {f'{facts.late_limit_mm:g} mm' if facts.oil else 'not asked'} |")
    low, high = STRUT_SIDE_N
    text = (
        f'A strut ({", ".join(CARRY_SIDE_LOAD)} with `duty = "strut"`) is held to its own figure under a side load of'
        f" {low:g} to {high:g} N and less, to the car's where it is pulled straight, to none beyond; a truck's unit to none."
        " `[damper] friction_limit_n` goes before all of them. Lost motion is common practice, no source."
    )
    return "\n".join([*rows, "", text, ""])


def _fault(code: str) -> str:
    ways = [cause for cause in CAUSES if cause.code == code]
    kinds = tuple(dict.fromkeys(kind for way in ways for kind in way.kinds))
    told = TOLD[code]
    lines = [f"## `{code}`", "", f"**{told.name.capitalize()}.** {told.plain} *Of:* {', '.join(kinds)}.", ""]
    lines += _evidence(ways)
    why, step = remedy(code)
    lines += ["", f"**Do:** {step} ({why[0].upper()}{why[1:]}.)", ""]
    lines += [f"**Take care:** {'; '.join(cautions_of(kinds))}: `dampkit guide cautions`.", ""]
    return "\n".join(lines)


def _evidence(ways: list[Cause]) -> Iterator[str]:
    for way in ways:
        of = f" ({', '.join(way.kinds)})" if len({one.kinds for one in ways}) > 1 else ""
        yield f"- **Shown by**{of} " + "; and ".join(_measure(key) for key in way.moves) + "."
        if way.expects:
            yield "  As a rule also " + "; ".join(_measure(key) for key in way.expects) + "."
        if way.needs:
            yield f"  It needs {'; '.join(NEEDS[need] for need in way.needs)}."


def _measure(key: str) -> str:
    limit = LIMITS[key.rstrip("+-")]
    text = MEASURES[key.rstrip("+-")]
    for placeholder, words in PLACEHOLDERS.items():
        other = "the other direction" if key.endswith("-") and placeholder == "{direction}" else words
        text = text.replace(placeholder, other)
    basis = "" if limit.basis is None else f" ({BASES[limit.basis]})"
    return f"{text}: {limit.said}{basis}"


def cautions_of(kinds: tuple[Kind, ...]) -> list[str]:
    """Titles of the cautions for whoever opens a unit of one of these kinds."""
    facts = [KINDS[kind] for kind in kinds]
    wanted = {
        "Gas-charged units": any(fact.gas in ("low", "charge") for fact in facts),
        "Stored spring energy": True,
        "Bench: crushing and ejection": True,
        "Hot oil and fluid injection": any(fact.oil for fact in facts),
        "Asbestos in old linings and packings": any(fact.arm for fact in facts),
        "Oil and solvents": any(fact.oil for fact in facts),
        "Suspension is safety-critical": True,
    }
    return [title for title, _ in CAUTIONS if wanted.get(title)]
