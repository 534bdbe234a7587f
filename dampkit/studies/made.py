"""A made-up unit's log as a run, and the damper file that a workshop would have of it."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import dampkit
from dampkit.bench.run import Run
from dampkit.damper.declared import DamperSpec
from dampkit.quantities import Array, read_only
from dampkit.virtual.dialects import Dialect, bench_toml, write_csv
from dampkit.virtual.oil import ATMOSPHERE_PA
from dampkit.virtual.plant import Plant
from dampkit.virtual.rig import Log, Rig
from dampkit.virtual.truth import bench_reading

ARM_MM = 160.0


def as_run(log: Log, rig: Rig, zero_n: float | None = 0.0) -> Run:
    """Straight into a run, with no file between; the bench knows its zero, unless that is None."""
    return Run(
        "made up",
        "0" * 64,
        log.time_s.size,
        read_only(log.time_s),
        read_only(log.displacement_m),
        read_only(log.force_n - (zero_n or 0.0)),
        temperature_c=None if log.temperature_c is None else read_only(log.temperature_c),
        zero_known=zero_n is not None,
        force_resolution_n=rig.force_step_n,
        displacement_resolution_m=rig.displacement_step_m,
    )


def through_file(log: Log, dialect: Dialect, bench_text: str = "") -> Run:
    """Written as a bench would and read back, with the dialect's own bench.toml or another one."""
    with tempfile.TemporaryDirectory(prefix="dampkit-") as folder:
        csv, bench = Path(folder) / "run.csv", Path(folder) / "bench.toml"
        csv.write_bytes(write_csv(log, dialect))
        bench.write_text(bench_text or bench_toml(dialect), encoding="utf-8")
        return dampkit.read_run(csv, bench)


def sizes(unit: Plant) -> dict[str, Any]:
    """What a calliper finds: the keys of a damper file's section [damper]."""
    found: dict[str, Any] = {"kind": unit.kind}
    if unit.has_oil:
        found["piston_diameter_mm"] = 1e3 * unit.piston_diameter_m
    if unit.has_oil and unit.kind != "lever-arm":
        found["rod_diameter_mm"] = 1e3 * unit.rod_diameter_m
    if unit.kind == "lever-arm":
        found |= {"arm_length_mm": ARM_MM, "piston_arm_mm": ARM_MM * unit.arm_ratio}
    return found


def with_reference(
    damper: dict[str, Any], unit: Plant, velocity_m_s: Array, temperature_c: float, **window: float
) -> DamperSpec:
    """A damper file whose reference is what the unit truly reads at a temperature, to a tenth of a newton."""
    forces = {
        f"{way}_force_n": bench_reading(unit, way, velocity_m_s, temperature_c).round(1).tolist()
        for way in ("rebound", "compression")
    }
    spec: dict[str, Any] = {"damper": damper, "reference": {"velocity_m_s": velocity_m_s.tolist(), **forces, **window}}
    if unit.kind == "monotube":
        charge = 1e-5 * (unit.gas_pressure_pa - ATMOSPHERE_PA)
        spec["gas"] = {"pressure_bar": charge, "temperature_c": unit.start_c}
    return DamperSpec.model_validate(spec)
