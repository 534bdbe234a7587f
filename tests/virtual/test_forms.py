"""One made-up unit in every form of test: the same curve, the same damping ratios, and no form that says otherwise.

The yardstick is the time series in one file; the limits (1 % of the force, 2 % of the ratio) are what the task asks.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import dampkit
from tests.virtual.forms_cases import ALL_FORMS, ON_A_CRANK, write

pytestmark = pytest.mark.slow  # each writes, reads and analyses a whole test

CAR = {
    "vehicle": {"name": "made up"},
    "corner": {
        "sprung_mass_kg": 340.0,
        "unsprung_mass_kg": 44.0,
        "wheel_rate_n_mm": 24.0,
        "tyre_rate_n_mm": 205.0,
        "damper_motion_ratio": 0.8,
    },
    "target": {"damping_ratio": 0.27, "rebound_share": 0.7},
}
LOOPS = {name for name in ALL_FORMS if "loops" in name or "angle" in name}
SEVERAL_FILES = {"a file a speed", "loops a file, rpm", "loops a file, peak speed", "crank angle", "slider-crank angle"}


@cache
def result(name: str, folder: Path) -> dict[str, Any]:
    return dampkit.analyse(dampkit.read_test(*write(folder, name)), vehicle=CAR).to_dict()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("yardstick")


@pytest.mark.parametrize("name", ALL_FORMS)
def test_every_form_says_what_the_time_series_says(name: str, folder: Path, tmp_path: Path) -> None:
    yardstick = result("one file, slider-crank" if ALL_FORMS[name][1] is ON_A_CRANK else "one file", folder)
    found = result(name, tmp_path)
    for direction in ("rebound", "compression"):
        for kind in ("curve", "reading"):
            one, other = (r["valve"][direction][kind] for r in (yardstick, found))
            speeds = np.linspace(0.02, min(c["velocity_m_s"][-1] for c in (one, other)), 50)
            forces, again = (np.interp(speeds, c["velocity_m_s"], c["force_n"]) for c in (one, other))
            np.testing.assert_allclose(
                again, forces, rtol=0.01, atol=0.01 * forces.max(), err_msg=f"{direction} {kind}"
            )
    ratios, others = ([s["damping_ratio"]["value"] for s in r["vehicle"]["ratios"]] for r in (yardstick, found))
    np.testing.assert_allclose(others, ratios, rtol=0.02)
    assert found["verdict"]["action"] == yardstick["verdict"]["action"]


@pytest.mark.parametrize("name", ALL_FORMS)
def test_every_file_and_row_is_in_the_result(name: str, tmp_path: Path) -> None:
    paths, bench = write(tmp_path, name)
    run = dampkit.analyse(dampkit.read_test(paths, bench)).to_dict()["run"]
    assert [file["file"] for file in run["files"]] == [path.name for path in paths]
    assert len({file["sha256"] for file in run["files"]}) == len(paths)
    assert {file["form"] for file in run["files"]} == {"loops" if name in LOOPS else "time-series"}
    assert (len(paths) > 1) == (name in SEVERAL_FILES)
    for file in run["files"]:
        spans = [(row["from_row"], row["to_row"]) for row in run["rows"] if row["file"] == file["file"]]
        assert [a for a, _ in spans] == [0, *(b for _, b in spans[:-1])]
        assert spans[-1][1] == file["rows_used"] <= file["rows_read"]


def test_enough_forms_are_compared() -> None:
    assert len(ALL_FORMS) >= 15
