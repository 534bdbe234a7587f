"""What each cause does to the measures, as data. Adding a fault is one entry here (and its remedy and its words)."""

from __future__ import annotations

from dampkit.damper.kinds import DISCS, HYDRAULIC, STEERING, Kind
from dampkit.frozen import frozen


@frozen
class Cause:
    """One way in which something is wrong. Measures are named by key; `+` stands for the cause's own direction, `-` for
    the other one, as in `late+`; a key without a sign is of no direction or of both.

    moves: every one of these is abnormal. may: these may be. denies: of those BESIDE others, which need no explanation,
    these are not abnormal where this cause is there and no other that moves them.
    disturbs: these may be as well, but only where force comes late to mid-stroke, in their direction or in any: gas or a
    chamber that fills takes from a valve's force while it does so, and not from one that stands before mid-stroke.
    expects: abnormal as a rule, so that their absence counts against it without ruling it out.
    needs: evidence without which it is not looked for (keys of `needs.py`).
    without_reference: asked only where no reference is declared, which answers it better.
    weight: how common, against others; common practice, no source.
    """

    code: str
    kinds: tuple[Kind, ...]
    moves: tuple[str, ...]
    may: tuple[str, ...] = ()
    denies: tuple[str, ...] = ()
    expects: tuple[str, ...] = ()
    disturbs: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    without_reference: bool = False
    weight: float = 1.0


LATE = ("late+", "late-", "soft+", "soft-", "late_grows+", "late_grows-", "gas_yields+", "gas_yields-")
CLEARING = ("late_clears+", "late_clears-")
VALVE = ("leak_takes+", "narrow_adds+", "bleed_adds+", "bleed_takes+", "blowoff_takes+", "opens_at+", "bleed_ratio+")
UNLIKE = ("unlike+", "unlike-")
VALVES = (*UNLIKE, *VALVE, *(key.replace("+", "-") for key in VALVE))
FADE_MAY = (*VALVES, "late_grows+", "late_grows-", *CLEARING)
TAKES = ("bleed_takes+", "leak_takes+")
NARROW = ("narrow_adds+", "narrow_adds-")  # newtons that rub at every speed look like a smaller leak at few of them
REFERENCE = ("reference",)

CAUSES: tuple[Cause, ...] = (
    Cause("bent_rod", HYDRAULIC, ("tight_place",), (*LATE, *CLEARING, *VALVES, "friction", "even_excess", "play", "work_lost"), needs=("loops", "slow_pass",)),
    Cause("high_friction", HYDRAULIC, ("friction",), ("even_excess", *NARROW), needs=("slow_pass", "kind", "friction_limit")),
    Cause("high_friction", HYDRAULIC, ("even_excess",), ("friction", *NARROW), needs=("reference_two_speeds",)),
    Cause("loose_mount", (*HYDRAULIC, *DISCS), ("play",), ("soft+", "soft-"), needs=("loops", "zero_crossing", "two_speeds")),
    Cause("low_oil", ("twin-tube",), ("late+",), ("late-", "late_grows+"), ("still_rises+",), ("with_place+",), TAKES, needs=("loops", "slow_stage", "upright")),
    Cause("low_oil", ("monotube", *STEERING), ("late+",), ("late-", "late_grows+", "gas_yields+", "gas_yields-"), ("soft-",), disturbs=(*UNLIKE, *TAKES), needs=("loops", "slow_stage", "upright")),
    Cause("low_oil", ("lever-arm",), ("late+",), ("late-", "soft+", "soft-", "late_grows+"), disturbs=TAKES, needs=("loops", "slow_stage")),
    Cause("aerated_oil", HYDRAULIC, ("late+", "soft-"), LATE, disturbs=(*VALVES, "work_lost"), needs=("loops", "slow_stage")),
    Cause("aerated_oil", ("twin-tube",), ("late+", "still_rises+"), LATE, disturbs=(*VALVES, "work_lost"), needs=("loops", "slow_stage")),
    Cause("trapped_air", HYDRAULIC, ("late_clears+",), (*LATE, "late_clears-"), disturbs=VALVES, needs=("loops", "first_cycles",)),
    Cause("starved_refill", ("twin-tube", "lever-arm", *STEERING), ("late_grows+",), ("soft+", "soft-"), disturbs=(*VALVES, "play"), needs=("loops", "three_speeds", "slow_stage")),
    Cause("low_gas_pressure", ("monotube",), ("gas_pressure",), (*LATE, *CLEARING), needs=("loops", "kind", "zero", "rod_diameter")),
    Cause("low_gas_pressure", ("monotube",), ("gas_short", "gas_yields+"), (*LATE, *CLEARING), needs=("loops", "kind", "zero", "rod_diameter")),
    Cause("fade", HYDRAULIC, ("work_lost", "warming"), FADE_MAY, ("short_when_cold",), needs=("loops", "repeat", "temperature")),
    Cause("internal_leak", HYDRAULIC, ("leak_takes+", "force_low+"), ("work_lost", "leak_takes-", "opens_at+"), expects=("short_when_cold",), needs=REFERENCE),
    Cause("valve_stuck_open", HYDRAULIC, ("bleed_takes+", "bleed_ratio+", "force_low+"), (*LATE, *VALVE), needs=REFERENCE),
    Cause("weak_blowoff", HYDRAULIC, ("blowoff_takes+", "force_low+"), ("opens_at+",), needs=REFERENCE),
    Cause("weak_blowoff", HYDRAULIC, ("short_of_rubbing+", "opens_at+"), ("blowoff_takes+",), needs=REFERENCE),
    Cause("weak_blowoff", HYDRAULIC, ("opens_at+",), ("blowoff_takes+",), needs=REFERENCE),
    Cause("blocked_bleed", HYDRAULIC, ("bleed_adds+", "force_high+"), ("narrow_adds+",), needs=REFERENCE),
    Cause("blocked_bleed", HYDRAULIC, ("narrow_adds+", "force_high+"), ("bleed_adds+",), needs=REFERENCE, weight=0.5),
    Cause("valves_swapped", HYDRAULIC, ("off_own", "off_other", "own_over_other"), VALVES, needs=REFERENCE, weight=0.5),
    Cause("uneven_sides", STEERING, ("unlike+",), (*LATE, "work_lost"), needs=("two_speeds",), without_reference=True),
    Cause("sticking_discs", DISCS, ("breakaway",), needs=("loops", "slow_pass", "slow_turn", "three_speeds")),
    Cause("greased_discs", DISCS, ("rises_with_speed",), needs=("three_speeds",)),
    Cause("glazed_discs", DISCS, ("sliding_force",), needs=("three_speeds", "reference_declared")),
)  # fmt: skip

# Measures that stand beside another one of the same thing, or that a setting moves as well: unexplained they say nothing
# about a fault. A reading beside its window is the verdict's business. A bleed larger than a setting or a drill makes it,
# and forces that fit the other direction's reference so much better, are no such measures: something must have made them.
BESIDE = frozenset(
    ("force_low", "force_high", "short_of_rubbing", "warming", "short_when_cold", "bleed_takes",
     "off_own", "off_other", "soft", "still_rises", "comes_after", "gas_short")
)  # fmt: skip
