"""Where a valve is at fault: what the part is when good, so that it is put back to that and not tuned round."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from dampkit.damper.areas import orifice_area_mm2_per_bleed
from dampkit.expected.differs import WORTH_ASKING, Differs, Part
from dampkit.faults.finding import Finding
from dampkit.faults.under_test import UnderTest
from dampkit.outcome.change.bleed import diameter_mm
from dampkit.outcome.change.stock import DISCHARGE
from dampkit.outcome.result import RestoreRecord

# Fault -> the part that is not as when good; the reference says what it is then
PART_AT_FAULT: dict[str, Part] = {
    "blocked_bleed": "bleed",
    "valve_stuck_open": "bleed",
    "weak_blowoff": "blowoff",
    "internal_leak": "leak",
}
NAMES: dict[Part, Literal["leak", "bleed", "blow-off"]] = {"leak": "leak", "bleed": "bleed", "blowoff": "blow-off"}


def restored(test: UnderTest, findings: Sequence[Finding]) -> tuple[RestoreRecord, ...]:
    """Where a valve is at fault, or suspected to be: every part that is not as in the valve which makes the reference's
    forces, each once, the parts at fault first. A unit that is opened for one is put back as a whole. Empty without a
    reference, or where no fault of a valve was named.
    """
    valve = [f for f in findings if f.code in PART_AT_FAULT]
    named = {(PART_AT_FAULT[f.code], f.direction): f.level == "found" for f in reversed(valve)}
    found = [
        _record(test, differs, part).model_copy(
            update={"at_fault": (part, way) in named, "sure": named.get((part, way), any(named.values()))}
        )
        for way, differs in test.differs.items()
        if named
        for part in differs.changed
        if (part, way) in named or _matters(differs, part)
    ]
    return tuple(sorted(found, key=lambda r: (not r.at_fault, not r.sure)))


def _matters(found: Differs, part: Part) -> bool:
    """Whether the part's change moves a force by a good share of what is allowed. To leak less is nothing to put back."""
    if part == "leak" and found.valve.leak <= found.good.leak:
        return False
    return bool(np.any(np.abs(found.effect_n(part)) > WORTH_ASKING * found.allowance_n))


def _record(test: UnderTest, found: Differs, part: Part) -> RestoreRecord:
    name = "blowoff_force" if part == "blowoff" else part
    now, good = (float(getattr(valve, name)) for valve in (found.valve, found.good))
    if part == "blowoff":
        return RestoreRecord(direction=found.direction, part=NAMES[part], now=now, good=good, unit="N")
    if part == "leak":
        return RestoreRecord(direction=found.direction, part=NAMES[part], now=now, good=good, unit="m/s per N")
    per_bleed = orifice_area_mm2_per_bleed(test.spec, found.direction)
    if per_bleed is None:
        return RestoreRecord(direction=found.direction, part=NAMES[part], now=now, good=good, unit="m/s per root N")
    area = per_bleed * good
    return RestoreRecord(
        direction=found.direction, part=NAMES[part], now=per_bleed * now, good=area, unit="mm2",
        hole_mm=diameter_mm(area, DISCHARGE),
    )  # fmt: skip
