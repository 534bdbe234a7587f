"""What each kind of unit is, as data: one row a kind, one column a question. Code asks the row, never for a kind's name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Literal, get_args

from dampkit.frozen import frozen

Kind = Literal["twin-tube", "monotube", "lever-arm", "friction-disc", "steering-damper"]
Duty = Literal["car", "strut", "truck"]  # a strut carries side load; published figures are of cars
Known = Literal["published", "common practice"]
Gas = Literal["none", "low", "charge", "unknown"]

STRUT_SIDE_N = (300.0, 1200.0)  # side load for which the published friction of a strut holds [qct491]
# Of car telescopics 55 N at up to 5 mm/s over a 20 mm stroke, no side load, and 150 N under a strut's side load [qct491]
CAR_N, STRUT_N = 55.0, 150.0
TELESCOPIC_N: Mapping[Duty, tuple[float, Known]] = {"car": (CAR_N, "published"), "strut": (STRUT_N, "published")}


@frozen
class KindFacts:
    """One kind of unit.

    oil: it has valves; without, it is a dry joint whose force has no direction. gas: none; low, which only fills what the
    rod leaves; or a charge that holds the oil together. most_gas_pa: beyond it a reading is no gas force. foot_valve:
    compression's oil is what the rod displaces (True), the annulus (False), not known of the kind (None).
    any_posture: its reserve draws no air lying or on its head. friction_limit_n: by duty, of a sound one, and where that
    comes from. late_limit_mm: lost motion that a sound one may show. arm: force is taken at an
    arm's end, and its torque is what the unit makes. damps_wheel: it is asked for a damping ratio. alike_share: how far
    its weaker direction may be under its stronger one where no reference says otherwise; None: they need not be alike.
    """

    oil: bool = True
    gas: Gas = "none"
    most_gas_pa: float | None = None  # common practice, no source
    foot_valve: bool | None = None
    any_posture: bool = True
    friction_limit_n: Mapping[Duty, tuple[float, Known]] = field(default_factory=dict)
    late_limit_mm: float = 3.0  # common practice, no source: over 3 mm beyond spring and bushes wants investigating
    arm: bool = False
    damps_wheel: bool = True
    alike_share: float | None = None

    def limits(self) -> dict[str, float]:
        """Every number that a unit of the kind is held against, by name."""
        plain = {"late_limit_mm": self.late_limit_mm}
        rubbing = {f"friction_limit_n.{duty}": limit for duty, (limit, _) in self.friction_limit_n.items()}
        return plain | rubbing | ({} if self.alike_share is None else {"alike_share": self.alike_share})


KINDS: Mapping[Kind, KindFacts] = {
    "twin-tube": KindFacts(
        gas="low", most_gas_pa=1.5e6, foot_valve=True, any_posture=False, friction_limit_n=TELESCOPIC_N
    ),
    "monotube": KindFacts(gas="charge", most_gas_pa=6e6, foot_valve=False, friction_limit_n=TELESCOPIC_N),
    # 10 lbf at its ball-pin turned a shaft in tight new bearings [testmemos1913]
    "lever-arm": KindFacts(friction_limit_n={"car": (44.5, "published")}, arm=True),
    "friction-disc": KindFacts(oil=False, arm=True),
    # All of a steering damper is common practice, no source: it lies flat, holds next to no gas, is as firm to the left as
    # to the right, must not rub so that the wheel fails to come back, and must not let the wheel shimmy in a dead travel.
    "steering-damper": KindFacts(
        gas="low", most_gas_pa=1.5e6, friction_limit_n={"car": (40.0, "common practice")},
        late_limit_mm=2.0, damps_wheel=False, alike_share=0.2,
    ),
}  # fmt: skip
UNKNOWN = KindFacts(gas="unknown")  # of no declared kind
assert set(KINDS) == set(get_args(Kind))

# Kinds that a key matters to
HYDRAULIC = tuple(kind for kind, facts in KINDS.items() if facts.oil)
DISCS = tuple(kind for kind, facts in KINDS.items() if not facts.oil)
LEVERS = tuple(kind for kind, facts in KINDS.items() if facts.oil and facts.arm)
WITH_ARM = (*LEVERS, *DISCS)
WITH_ROD = tuple(kind for kind in HYDRAULIC if kind not in LEVERS)
CARRY_SIDE_LOAD = tuple(kind for kind in WITH_ROD if "strut" in KINDS[kind].friction_limit_n)
MONOTUBES = tuple(kind for kind, facts in KINDS.items() if facts.gas == "charge")
TUBES = tuple(kind for kind, facts in KINDS.items() if not facts.any_posture)
STEERING = tuple(kind for kind, facts in KINDS.items() if facts.alike_share is not None)


def facts_of(kind: Kind | None) -> KindFacts:
    """The row of a kind; without one, of a unit that may be any."""
    return UNKNOWN if kind is None else KINDS[kind]
