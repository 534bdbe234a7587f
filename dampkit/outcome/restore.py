"""Where a valve is at fault: what the part is when good, so that it is put back to that and not tuned round."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from dampkit.damper.areas import orifice_area_mm2_per_bleed
from dampkit.expected.differs import Differs, Part
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
    """The good part of each valve fault found or suspected, from the valve that makes the reference's forces; empty without one."""
    return tuple(_restored(test, findings))


def _restored(test: UnderTest, findings: Sequence[Finding]) -> Iterator[RestoreRecord]:
    for finding in findings:
        part = PART_AT_FAULT.get(finding.code)
        if part is None:
            continue
        for found in test.differs.values():
            if part in found.changed:
                yield _record(test, found, part).model_copy(update={"sure": finding.level == "found"})


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
