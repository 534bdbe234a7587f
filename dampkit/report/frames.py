"""The numbers of a result as DataFrames: SI, the unit is the tail of each column's name."""

from __future__ import annotations

from collections.abc import Sequence
from types import UnionType
from typing import TYPE_CHECKING, Any, get_args, get_origin

from pydantic import BaseModel

from dampkit.outcome.result import (
    BandRecord,
    CoverageRecord,
    EstimateRecord,
    EvidenceRecord,
    FactRecord,
    FaultRecord,
    NotLookedForRecord,
    QualityRecord,
    RatioRecord,
    ReferencePoint,
    RequirementRecord,
    Result,
    RowsRecord,
    StageRecord,
)
from dampkit.outcome.vehicle_record import NeedResult
from dampkit.report.number_tables import number_tables

if TYPE_CHECKING:
    import pandas as pd


def frames(result: Result) -> dict[str, pd.DataFrame]:
    """Those of `number_tables`, and readings, faults, their evidence, ratios, coverage, quality, and what became of rows.

    Every name and every column is there in every result; a frame without rows says that this test holds nothing of the kind.
    """
    import pandas as pd

    tables = number_tables(result)
    made = {name: pd.DataFrame(table.rows, columns=list(table.columns)) for name, table in tables.items()}
    made["measures"] = made.pop("values")
    evidence = [{"fault": fault.code, **_flat(e)} for fault in result.faults for e in fault.evidence]
    return {
        **made,
        "stages": _frame(result.run.stages, StageRecord),
        "reference": _frame(result.reference or (), ReferencePoint),
        "readings": _readings(result),
        "faults": _frame(result.faults, FaultRecord),
        "evidence": pd.DataFrame(evidence, columns=["fault", *_columns(EvidenceRecord)]),
        "not_looked_for": _frame(result.not_looked_for, NotLookedForRecord),
        "ratios": _frame(result.vehicle.ratios if result.vehicle is not None else (), RatioRecord),
        "coverage": _frame(result.coverage, CoverageRecord),
        "quality": _frame(result.quality, QualityRecord),
        "requirements": _frame(result.requirements, RequirementRecord),
        "rows": _frame(result.run.rows, RowsRecord),
    }


def need_frames(result: NeedResult) -> dict[str, pd.DataFrame]:
    """`need`: the band of forces that the vehicle needs, by speed; empty without a target. `facts`: a row a figure."""
    import pandas as pd

    need = result.vehicle.need
    names = [name for name in BandRecord.model_fields if name != "basis"]
    band = {name: () if need is None else getattr(need, name) for name in names}
    return {"need": pd.DataFrame(band), "facts": _frame(result.vehicle.facts, FactRecord)}


def _readings(result: Result) -> pd.DataFrame:
    import pandas as pd

    columns = ["direction", "velocity_m_s", "force_n", "low_n", "high_n"]
    parts = []
    for way in ("rebound", "compression"):
        reading = getattr(result.valve, way).reading
        if reading is not None:
            parts.append(pd.DataFrame({"direction": way, **reading.model_dump()})[columns])
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)


def _frame(records: Sequence[BaseModel], kind: type[BaseModel]) -> pd.DataFrame:
    """A row a record; an estimate is three columns: `name`, `name_low`, `name_high`. What is a table itself is left out."""
    import pandas as pd

    return pd.DataFrame([_flat(record) for record in records], columns=_columns(kind))


def _columns(kind: type[BaseModel]) -> list[str]:
    named = ((name, field.annotation) for name, field in kind.model_fields.items() if _plain(field.annotation))
    return [column for name, held in named for column in ((name, *_ends(name)) if _estimate(held) else (name,))]


def _flat(record: BaseModel) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for name, value in record:
        flat |= {name: value}
        if isinstance(value, EstimateRecord):
            flat |= dict(zip((name, *_ends(name)), (value.value, value.low, value.high), strict=True))
    return flat


def _ends(name: str) -> tuple[str, str]:
    return f"{name}_low", f"{name}_high"


def _kinds(annotation: Any) -> tuple[Any, ...]:
    """The types that a field may have, of `X | None` too."""
    return get_args(annotation) if isinstance(annotation, UnionType) else (annotation,)


def _estimate(annotation: Any) -> bool:
    return EstimateRecord in _kinds(annotation)


def _plain(annotation: Any) -> bool:
    """No list, mapping or record of its own, but an estimate."""
    return not any(
        get_origin(kind) in (tuple, dict)
        or (isinstance(kind, type) and issubclass(kind, BaseModel) and kind is not EstimateRecord)
        for kind in _kinds(annotation)
    )
