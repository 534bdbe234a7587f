"""The numbers of a result as plain tables, SI, for a spreadsheet or a script."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from pydantic import BaseModel

from dampkit.outcome.result import EstimateRecord, Result

Cell = float | int | str | None


class Numbers(NamedTuple):
    columns: tuple[str, ...]
    rows: list[tuple[Cell, ...]]


def number_tables(result: Result) -> dict[str, Numbers]:
    """By name: every value with its interval, fitted curves, measured points, stages, loops, forces of the reference."""
    return {
        "values": Numbers(("name", "value", "low", "high"), list(_values(result.model_dump(mode="python")))),
        "curves": _curves(result),
        "points": _points(result),
        "stages": _stages(result),
        "loops": _loops(result),
        "reference": _reference(result),
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


def _curves(result: Result) -> Numbers:
    columns = ("direction", "velocity_m_s", "force_n", "low_n", "high_n")
    rows: list[tuple[Cell, ...]] = []
    for way in ("rebound", "compression"):
        curve = getattr(result.valve, way).curve
        if curve is not None:
            table = zip(curve.velocity_m_s, curve.force_n, curve.low_n, curve.high_n, strict=True)
            rows += [(way, *row) for row in table]
    return Numbers(columns, rows)


def _points(result: Result) -> Numbers:
    rows: list[tuple[Cell, ...]] = []
    for way in ("rebound", "compression"):
        points = getattr(result.valve, way).points
        if points is not None:
            rows += [(way, v, force) for v, force in zip(points.velocity_m_s, points.force_n, strict=True)]
    return Numbers(("direction", "velocity_m_s", "force_n"), rows)


def _stages(result: Result) -> Numbers:
    columns = (
        tuple(name for name in _fields(result.run.stages[0]) if name != "loop") if result.run.stages else ("index",)
    )
    return Numbers(columns, [tuple(getattr(stage, name) for name in columns) for stage in result.run.stages])


def _loops(result: Result) -> Numbers:
    rows: list[tuple[Cell, ...]] = []
    for stage in result.run.stages:
        loop = stage.loop
        table = zip(loop.displacement_mm, loop.velocity_m_s, loop.force_n, strict=True)
        rows += [(stage.index, *row) for row in table]
    return Numbers(("stage", "displacement_mm", "velocity_m_s", "force_n"), rows)


def _reference(result: Result) -> Numbers:
    points = result.reference or ()
    columns = tuple(_fields(points[0])) if points else ("direction", "velocity_m_s", "answer")
    return Numbers(columns, [tuple(getattr(point, name) for name in columns) for point in points])


def _fields(record: BaseModel) -> list[str]:
    return list(type(record).model_fields)
