"""A constant added to the force changes nothing but the zero: every kind, every fault."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.virtual.faulted import FAULTS, faulted
from dampkit.virtual.plant import KINDS, Kind
from dampkit.virtual.programme import standard_programme
from dampkit.virtual.rig import Log, Rig, run_bench
from tests.bench.flawed import UNITS, read

CODES = {kind: ["sound", *(fault.code for fault in FAULTS if kind in fault.kinds)] for kind in KINDS}
SIGNS: dict[str, dict[str, str]] = {
    "declared": {"force_positive": "tension", "displacement_positive": "extension"},
    "declared wrong": {"force_positive": "compression", "displacement_positive": "extension"},
    "motion declared": {"displacement_positive": "compression"},
    "undeclared": {},
}
CASES = [
    (kind, code, signs)
    for kind in KINDS
    for code in CODES[kind]
    for signs in (SIGNS if code == "sound" else ("declared", "undeclared"))
]


@lru_cache
def logs(kind: Kind) -> dict[str, Log]:
    """A short test of a sound unit and of one with each fault."""
    plants = [UNITS[kind] if code == "sound" else faulted(UNITS[kind], code, 3.0) for code in CODES[kind]]
    made = run_bench(
        plants, standard_programme((0.05, 0.2, 0.4)), Rig(sample_rate_hz=250.0), np.random.default_rng(8), 120
    )
    return dict(zip(CODES[kind], made, strict=True))


def decisions(run: Run) -> dict[str, Any]:
    """All that was made of a log but its forces and its zero."""
    return {
        "quality": [q for q in run.quality if q.code not in ("zero_unknown", "zero_offset")],
        "history": [step for step in run.history if "zero" not in step.what],
        "direction": run.direction_known,
        "rows": run.rows_used,
        "copied": run.copied,
        "temperature": None if run.temperature_c is None else run.temperature_c.tolist(),
        "displacement": run.displacement_m.tolist(),
    }


@pytest.mark.parametrize("offsets_n", [(50.0, -300.0), pytest.param((-50.0, 300.0), marks=pytest.mark.slow)])
@pytest.mark.parametrize(("kind", "code", "signs"), CASES)
def test_an_offset_of_the_force_changes_no_decision(
    tmp_path: Path, kind: Kind, code: str, signs: str, offsets_n: tuple[float, float]
) -> None:
    log = logs(kind)[code]
    plain = read(tmp_path, log, signs=SIGNS[signs], zero={})
    for offset_n in offsets_n:
        run = read(tmp_path, replace(log, force_n=log.force_n + offset_n), signs=SIGNS[signs], zero={})
        assert decisions(run) == decisions(plain)
        moved = run.force_n - plain.force_n
        np.testing.assert_allclose(moved, moved[0], atol=0.11)  # the log has one decimal
        assert abs(abs(moved[0]) - abs(offset_n)) < 0.11
