"""The numbers of a result as tables, SI, the unit is the tail of each column's name: plain ones for a spreadsheet or a script,
and DataFrames.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from types import UnionType
from typing import TYPE_CHECKING, Any, NamedTuple, get_args, get_origin

from pydantic import BaseModel

from dampkit.outcome.decision_record import (
    CoverageRecord,
    EvidenceRecord,
    FaultRecord,
    NotLookedForRecord,
    ReferencePoint,
    RequirementRecord,
)
from dampkit.outcome.measured_record import QualityRecord, RowsRecord, StageRecord
from dampkit.outcome.need_record import BandRecord, FactRecord, RatioRecord
from dampkit.outcome.record import EstimateRecord
from dampkit.outcome.result import Result
from dampkit.outcome.vehicle_record import NeedResult
from dampkit.quantities import DIRECTIONS

if TYPE_CHECKING:
    import pandas as pd

Cell = float | int | str | None
BAND = ("velocity_m_s", "force_n", "low_n", "high_n")
LOOP = ("displacement_mm", "velocity_m_s", "force_n")


class Numbers(NamedTuple):
    columns: tuple[str, ...]
    rows: list[tuple[Cell, ...]]


def number_tables(result: Result) -> dict[str, Numbers]:
    """By name: every value with its interval, fitted curves, measured points, stages, loops, forces of the reference."""
    stages = result.run.stages
    return {
        "values": Numbers(("name", "value", "low", "high"), list(_values(result.model_dump(mode="python")))),
        "curves": _by_way(result, "curve", BAND),
        "points": _by_way(result, "points", BAND[:2]),
        "stages": _listed(stages, ("index",)),
        "loops": Numbers(("stage", *LOOP), [(s.index, *row) for s in stages for row in _rows(s.loop, LOOP)]),
        "reference": _listed(result.reference or (), ("direction", "velocity_m_s", "answer")),
    }


def _values(node: Any, name: str = "") -> Iterator[tuple[Cell, ...]]:
    """Every estimate in the result by its path; the unit is the tail of the name. Not established has no numbers."""
    if isinstance(node, dict):
        if set(node) == set(EstimateRecord.model_fields):
            yield name, node["value"], node["low"], node["high"]
            return
        for key, part in node.items():
            path = f"{name}.{key}".lstrip(".")
            if part is None and path.startswith(ESTIMATED):
                yield path, None, None, None
            yield from _values(part, path)
    elif isinstance(node, (list, tuple)) and node and isinstance(node[0], dict):
        for n, part in enumerate(node):
            yield from _values(part, f"{name}[{n}]")


ESTIMATED = ("statics.", "valve.", "lag.")  # what stands there is an estimate, or None


def _by_way(result: Result, part: str, names: tuple[str, ...]) -> Numbers:
    """A part of each direction's valve, a row a speed."""
    held = {way: getattr(getattr(result.valve, way), part) for way in DIRECTIONS}
    return Numbers(("direction", *names), [(way, *row) for way, one in held.items() for row in _rows(one, names)])


def _rows(lists: Any, names: tuple[str, ...]) -> list[tuple[Cell, ...]]:
    return [] if lists is None else list(zip(*(getattr(lists, name) for name in names), strict=True))


def _listed(records: Sequence[BaseModel], otherwise: tuple[str, ...]) -> Numbers:
    """A row a record, without its loop; columns `otherwise` where there is none."""
    columns = tuple(name for name in type(records[0]).model_fields if name != "loop") if records else otherwise
    return Numbers(columns, [tuple(getattr(record, name) for name in columns) for record in records])


def frames(result: Result) -> dict[str, pd.DataFrame]:
    """Those of `number_tables`, and readings, faults, their evidence, ratios, coverage, quality, and what became of rows.

    Every name and every column is there in every result; a frame without rows says that this test holds nothing of the kind.
    """
    import pandas as pd

    tables = number_tables(result)
    tables |= {"measures": tables.pop("values"), "readings": _by_way(result, "reading", BAND)}
    made = {name: pd.DataFrame(table.rows, columns=list(table.columns)) for name, table in tables.items()}
    evidence = [{"fault": fault.code, **_flat(e)} for fault in result.faults for e in fault.evidence]
    return {
        **made,
        "stages": _frame(result.run.stages, StageRecord),
        "reference": _frame(result.reference or (), ReferencePoint),
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
