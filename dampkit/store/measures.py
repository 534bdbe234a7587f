"""The few numbers of a result that are followed over a unit's years, with their intervals."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from dampkit.quantities import Estimate


class Measure(NamedTuple):
    """Where a followed number stands in a result, and how a person reads it."""

    path: tuple[str, ...]
    title: str
    unit: str


MEASURES: dict[str, Measure] = {
    "bleed_rebound_mm2": Measure(("valve", "rebound", "bleed_area_mm2"), "Bleed area, rebound", "mm²"),
    "bleed_compression_mm2": Measure(("valve", "compression", "bleed_area_mm2"), "Bleed area, compression", "mm²"),
    "friction_n": Measure(("statics", "friction_force_n"), "Friction", "N"),
    "lost_motion_rebound_mm": Measure(("lag", "lost_motion_mm", "rebound"), "Lost motion entering rebound", "mm"),
    "lost_motion_compression_mm": Measure(
        ("lag", "lost_motion_mm", "compression"), "Lost motion entering compression", "mm"
    ),
    "gas_force_n": Measure(("statics", "gas_force_n"), "Gas force", "N"),
    "blowoff_rebound_n": Measure(("valve", "rebound", "blowoff_force_n"), "Blow-off force, rebound", "N"),
    "blowoff_compression_n": Measure(("valve", "compression", "blowoff_force_n"), "Blow-off force, compression", "N"),
}


def measured(result: dict[str, Any]) -> Iterator[tuple[str, Estimate]]:
    """Each followed number that a stored result establishes; those it does not are left out."""
    for name, measure in MEASURES.items():
        found: Any = result
        for key in measure.path:
            found = None if found is None else found.get(key)
        if found is not None:
            yield name, Estimate(found["value"], found["low"], found["high"])
