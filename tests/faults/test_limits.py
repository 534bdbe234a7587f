"""No limit is changed without the study's table being remade."""

from __future__ import annotations

import json
from pathlib import Path

from dampkit.faults.limits import limits, limits_hash

TABLE = Path(__file__).parents[2] / "reports" / "fault_study.json"


def test_the_study_was_made_with_these_limits() -> None:
    recorded = json.loads(TABLE.read_text(encoding="utf-8"))
    changed = {k: (v, recorded["limits"].get(k)) for k, v in limits().items() if recorded["limits"].get(k) != v}
    assert recorded["limits_hash"] == limits_hash(), (
        f"remake it with `python -m dampkit.studies faults`; changed: {changed}"
    )
