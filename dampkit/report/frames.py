"""The numbers of a result as DataFrames: SI, the unit is the tail of each column's name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from dampkit.outcome.result import Result
from dampkit.outcome.vehicle_record import NeedResult
from dampkit.report.number_tables import number_tables

if TYPE_CHECKING:
    import pandas as pd

ESTIMATE = {"value", "low", "high"}


def frames(result: Result) -> dict[str, pd.DataFrame]:
    """Those of `number_tables`, and readings, faults, their evidence, ratios, coverage, quality, and what became of rows.

    Every name is there in every result; one without rows says that this test holds nothing of the kind.
    """
    import pandas as pd

    tables = number_tables(result)
    made = {name: pd.DataFrame(table.rows, columns=list(table.columns)) for name, table in tables.items()}
    made["measures"] = made.pop("values")
    evidence = [{"fault": f.code, **_flat(e, leave_out=("spans",))} for f in result.faults for e in f.evidence]
    ratios = result.vehicle.ratios if result.vehicle is not None else ()
    return {
        **made,
        "readings": _readings(result),
        "faults": _frame(result.faults, ("evidence", "figures")),
        "evidence": pd.DataFrame(evidence),
        "not_looked_for": _frame(result.not_looked_for, ("lacks",)),
        "ratios": _frame(ratios),
        "coverage": _frame(result.coverage),
        "quality": _frame(result.quality),
        "requirements": _frame(result.requirements),
        "rows": _frame(result.run.rows),
    }


def need_frames(result: NeedResult) -> dict[str, pd.DataFrame]:
    """`need`: the band of forces that the vehicle needs, by speed; empty without a target. `facts`: a row a figure."""
    import pandas as pd

    need = result.vehicle.need
    band = {} if need is None else need.model_dump(exclude={"basis"})
    return {"need": pd.DataFrame(band), "facts": _frame(result.vehicle.facts)}


def _readings(result: Result) -> pd.DataFrame:
    import pandas as pd

    columns = ["direction", "velocity_m_s", "force_n", "low_n", "high_n"]
    parts = []
    for way in ("rebound", "compression"):
        reading = getattr(result.valve, way).reading
        if reading is not None:
            parts.append(pd.DataFrame({"direction": way, **reading.model_dump()})[columns])
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)


def _frame(records: Sequence[BaseModel], leave_out: tuple[str, ...] = ()) -> pd.DataFrame:
    import pandas as pd

    return pd.DataFrame([_flat(record, leave_out) for record in records])


def _flat(record: BaseModel, leave_out: tuple[str, ...] = ()) -> dict[str, Any]:
    """Its fields; an estimate becomes three columns: `name`, `name_low`, `name_high`."""
    flat: dict[str, Any] = {}
    for name, value in record.model_dump().items():
        if isinstance(value, dict) and set(value) == ESTIMATE:
            flat |= {name: value["value"], f"{name}_low": value["low"], f"{name}_high": value["high"]}
        elif name not in leave_out:
            flat[name] = value
    return flat
