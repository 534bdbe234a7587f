"""Parsed columns become a Run: rows chosen, units and signs settled, what is missing worked out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.channels import Channels, require_units
from dampkit.bench.clean import note_gaps, usable_rows
from dampkit.bench.copies import Spans, copied_rows
from dampkit.bench.declared import BenchSpec
from dampkit.bench.layout import Layout
from dampkit.bench.motion import displacement_from_velocity, unit_by_behaviour, velocity_over_slope
from dampkit.bench.run import Notes, Run
from dampkit.bench.signs import OUTWARD, Orientation, orient
from dampkit.bench.table import Table
from dampkit.bench.timing import time_axis
from dampkit.bench.units import Kind, factor_of, to_si
from dampkit.frozen import frozen
from dampkit.quantities import Array, distinct, median, number, quantiles

CLEAR_CORRELATION = 0.8
SCALE_AGREES = 0.2
RESOLUTION_ROWS = 100_000


@frozen
class Signals:
    """Rows that are used, in the log's own units and signs, time in seconds from the first; arrays of shape (N,)."""

    time_s: Array
    values: dict[Kind, Array]
    rows_read: int
    copied: Spans


@frozen
class Assembled:
    run: Run
    channels: Channels
    orientation: Orientation


def assemble(
    table: Table,
    channels: Channels,
    layout: Layout,
    spec: BenchSpec,
    *,
    notes: Notes,
    file: str,
    digest: str,
    where: str,
) -> Assembled:
    """The run that a table holds, whose columns go over into it. Raises UnreadableLog where rows, units or time do not suffice."""
    signals = _signals(table, channels, layout, spec, notes, where)
    channels = _units_by_behaviour(signals, channels, notes)
    require_units(channels, where)
    kinds = [k for k in signals.values if channels[k].unit is not None]
    si = {k: to_si(signals.values.pop(k), str(channels[k].unit), k) for k in kinds}
    for kind, channel in channels.items():
        notes.did(f"{kind} from column {channel.heading!r}", channel.how, unit=channel.unit or channel.form)
    if spec.zero.force_n is not None:
        si["force"] = si["force"] - spec.zero.force_n if spec.zero.force_n else si["force"]
        notes.did("cell zero taken off", "declared in bench.toml", force_n=spec.zero.force_n)
    motion, declared_way = _motion(signals.time_s, si, spec, notes)
    orientation = orient(motion, si["force"], spec.signs, declared_way, spec.zero.force_n is not None, notes)
    notes.did("signs settled", orientation.how, motion=orientation.motion, force=orientation.force)
    run = Run(
        file=file,
        sha256=digest,
        rows_read=signals.rows_read,
        time_s=_sealed(signals.time_s),
        displacement_m=_sealed(motion if orientation.motion > 0 else -motion),
        force_n=_sealed(si["force"] if orientation.force > 0 else -si["force"]),
        measured_velocity_m_s=_velocity(si, motion, signals.time_s, orientation, spec, notes),
        temperature_c=_sealed(si["temperature"]) if "temperature" in si else None,
        zero_known=spec.zero.force_n is not None,
        force_percent=spec.uncertainty.force_percent,
        force_uncertainty_n=spec.uncertainty.force_n,
        displacement_uncertainty_m=_in_metres(spec.uncertainty.displacement_mm),
        force_resolution_n=_resolution(si["force"]),
        displacement_resolution_m=_resolution(si["displacement"]) if "displacement" in si else 0.0,
        direction_known=orientation.known,
        copied=signals.copied,
        history=tuple(notes.steps),
        quality=tuple(notes.quality),
    )
    return Assembled(run, channels, orientation)


def _sealed(values: Array) -> Array:
    """Read-only without a copy: nobody else holds arrays made while reading."""
    values.setflags(write=False)
    return values


def _in_metres(millimetres: float | None) -> float | None:
    return None if millimetres is None else 1e-3 * millimetres


def _signals(table: Table, channels: Channels, layout: Layout, spec: BenchSpec, notes: Notes, where: str) -> Signals:
    raw: dict[Kind, Array] = {kind: table.columns.pop(c.column) for kind, c in channels.items()}
    rows = len(raw["force"])
    filled = np.zeros(rows, dtype=bool)
    for values in raw.values():
        filled |= np.isfinite(values)
    time = time_axis(
        raw.pop("time", None), channels.get("time"), layout, spec.timing.sample_rate_hz, rows, notes, where
    )
    needed: dict[str, Array] = {_moved(raw): raw[_moved(raw)], "force": raw["force"]}
    for kind in [k for k, values in raw.items() if not np.isfinite(values).any() and k not in needed]:
        del raw[kind]
    time = np.where(filled, time, np.nan) if not filled.all() else time
    copied = copied_rows(raw[_moved(raw)], raw["force"], layout.first_line, notes)
    time, keep = usable_rows(time, needed, filled, copied, layout.first_line, notes, where)
    if not keep.all():
        time, raw = time[keep], {kind: values[keep] for kind, values in raw.items()}
    for kind, values in raw.items():
        raw[kind] = _gaps_bridged(time, values)
    time = np.subtract(time, time[0], out=time if time.flags.writeable else None)  # fresh memory takes longer than sums
    note_gaps(time, notes)
    return Signals(time, raw, int(filled.sum()), copied)


def _moved(raw: dict[Kind, Array]) -> Kind:
    return "displacement" if "displacement" in raw else "velocity"


def _gaps_bridged(time: Array, values: Array) -> Array:
    """A slow channel that is not there in every row, drawn straight between the rows that have it."""
    there = np.isfinite(values)
    return values if there.all() else np.interp(time, time[there], values[there])


def _units_by_behaviour(signals: Signals, channels: Channels, notes: Notes) -> Channels:
    """Where one of displacement and velocity has no unit, the other shows it: velocity is the slope of displacement."""
    pair: tuple[Kind, Kind] = ("displacement", "velocity")
    if not all(kind in signals.values for kind in pair):
        return channels
    lacking = [kind for kind in pair if channels[kind].unit is None]
    if len(lacking) != 1:
        return channels
    known = pair[1 - pair.index(lacking[0])]
    factor, correlation = velocity_over_slope(signals.time_s, *(signals.values[kind] for kind in pair))
    if not abs(correlation) > CLEAR_CORRELATION:
        return channels
    si = factor_of(str(channels[known].unit), known)
    unit = unit_by_behaviour(lacking[0], factor * si if lacking[0] == "displacement" else si / factor)
    if unit is None:
        return channels
    notes.noticed(
        "unit_by_behaviour",
        "warning",
        f"The log gives no unit for the {lacking[0]}; {unit} was taken because the {known} then is what its"
        " slope demands. State it in bench.toml: [units].",
        "declare",
    )
    how = f"{channels[lacking[0]].how}; unit because velocity is the slope of displacement"
    return {**channels, lacking[0]: replace(channels[lacking[0]], unit=unit, how=how)}


def _motion(time_s: Array, si: dict[Kind, Array], spec: BenchSpec, notes: Notes) -> tuple[Array, str | None]:
    """Displacement in the log's sign, and which way it is declared to count."""
    signs = spec.signs
    if "displacement" in si:
        way = signs.displacement_positive
        if way is None and signs.velocity_positive and "velocity" in si:
            factor, correlation = velocity_over_slope(time_s, si["displacement"], si["velocity"])
            opposite = {"extension": "compression", "compression": "extension"}[signs.velocity_positive]
            way = signs.velocity_positive if factor > 0 else opposite  # type: ignore[assignment]
            way = way if abs(correlation) > CLEAR_CORRELATION else None
        return si["displacement"], way
    integrated = displacement_from_velocity(time_s, si["velocity"])
    notes.did(
        "displacement from velocity",
        "the log has no displacement: trapezoid rule, then drift taken out stroke by stroke",
        offset_m_s=integrated.offset_m_s,
        wander_m=integrated.wander_m,
    )
    notes.noticed(
        "displacement_integrated",
        "note",
        "Displacement was worked out from velocity, so strokes hold what error the velocity has, the middle of the"
        f" strokes counts as zero, and {number(1000 * integrated.wander_m, 2)} mm of slow drift was taken out.",
    )
    return integrated.displacement_m, signs.velocity_positive or signs.displacement_positive


def _velocity(
    si: dict[Kind, Array], motion: Array, time_s: Array, orientation: Orientation, spec: BenchSpec, notes: Notes
) -> Array | None:
    """Measured velocity with the package's sign, checked against the slope of the displacement."""
    if "velocity" not in si:
        return None
    if "displacement" not in si:
        return _sealed(orientation.motion * si["velocity"])
    factor, correlation = velocity_over_slope(time_s, motion, si["velocity"])
    clear = abs(correlation) > CLEAR_CORRELATION
    sign = orientation.motion * (float(np.sign(factor)) if clear else 1.0)
    said = OUTWARD.get(spec.signs.velocity_positive or spec.signs.displacement_positive or "", sign)
    if clear and (abs(abs(factor) - 1) > SCALE_AGREES or said != sign):
        scale = abs(abs(factor) - 1) > SCALE_AGREES
        trouble = f"is {number(abs(factor), 3)} times" if scale else "runs against"
        notes.noticed(
            "velocity_disagrees",
            "bad" if scale else "warning",
            f"The velocity column {trouble} the slope of the displacement. The displacement was used;"
            " check units and signs of both, and whether stroke or half-stroke was entered for the crank.",
            "declare",
        )
    return _sealed(sign * si["velocity"])


def _resolution(values: Array) -> float:
    """The step in which a channel's readings come, from the smallest differences between them; 0 where unknown."""
    levels = distinct(values[:RESOLUTION_ROWS])
    steps = np.diff(levels)
    steps = steps[steps > 1e-9 * max(float(np.ptp(levels)), 1e-300)] if levels.size > 1 else steps
    if not steps.size:
        return 0.0
    return median(steps[steps <= 1.5 * quantiles(steps, [0.05])])
