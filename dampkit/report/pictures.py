"""The pictures of the page, declared from a stored result."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.outcome.measured_record import PointsRecord, StageRecord, ValveRecord
from dampkit.outcome.need_record import BandRecord, VehicleRecord
from dampkit.outcome.result import Result
from dampkit.quantities import Array
from dampkit.report.numbers import Writer, brief
from dampkit.report.picture import Area, Axis, Dash, Layer, Line, Picture, Points, Word

MOST_POINTS = 70  # marks drawn per direction; more would hide the curve
INKS = ("curve", "reference", "need", "ink")
DASHES: tuple[Dash, ...] = ("solid", "dash", "dot", "dashdot")
SIGNS = {"rebound": 1.0, "compression": -1.0}

SI = Writer()
SPEED_AXIS = Axis("Piston speed", "m/s")
FORCE_AXIS = Axis("Force", "N", ": rebound above zero, compression below")
TRAVEL_AXIS = Axis("Displacement", "mm", ", extended to the right")
TENSION_AXIS = Axis("Force", "N", ": tension above zero")


def force_picture(result: Result, writer: Writer = SI) -> Picture | None:
    """Force of the oil against piston speed: what was measured, what was fitted, what is asked for.

    Where no valve was fitted (a friction-disc unit, say), the highest force of each stage instead; None without any.
    """
    both = {"rebound": result.valve.rebound, "compression": result.valve.compression}
    measured = [layer for way, valve in both.items() for layer in _valve_layers(valve, SIGNS[way])]
    title = "Force of the oil against piston speed"
    if not measured:
        measured, title = _peak_layers(result.run.stages), "Highest force of each stage against piston speed"
    if not measured:
        return None
    asked = _asked_layers(result, max(float(layer.x.max()) for layer in measured))
    layers = tuple(sorted((*asked, *measured), key=_depth))
    return with_ways(Picture("force", title, _force_alt(result, writer), SPEED_AXIS, FORCE_AXIS, layers))


def with_ways(picture: Picture) -> Picture:
    """With both ways named beyond what is drawn; a band may be far wider than the curve, so it is cut off there."""
    core = tuple(layer for layer in picture.layers if not isinstance(layer, Area))
    _, right, low, high = replace(picture, layers=core).extent()
    room = 0.14 * (high - low)
    words = (Word("rebound", 0.02 * right, high + 0.5 * room), Word("compression", 0.02 * right, low - 0.8 * room))
    return replace(picture, words=words, view=(low - room, high + room))


def look_of(n: int) -> tuple[str, Dash]:
    """Ink and dash of one of several runs; no two of the first sixteen are alike."""
    return INKS[n % len(INKS)], DASHES[(n + n // len(INKS)) % len(DASHES)]


def loops_picture(result: Result, writer: Writer = SI) -> Picture | None:
    """All loops on one scale; None where there is no stage."""
    if not result.run.stages:
        return None
    layers = tuple(_loop_line(stage, n, writer) for n, stage in enumerate(result.run.stages))
    stages = result.run.stages
    alt = (
        f"{len(stages)} loops, from {_speed(stages[0], writer)} to {_speed(stages[-1], writer)}. "
        "The table of stages gives their highest forces and energies."
    )
    return Picture(
        "loops",
        "Force against displacement, all stages",
        alt,
        TRAVEL_AXIS,
        TENSION_AXIS,
        layers,
    )


def stage_picture(stage: StageRecord, picture_id: str | None = None, writer: Writer = SI) -> Picture:
    """One loop on its own force scale."""
    alt = (
        f"Loop at {_speed(stage, writer)}: up to {writer.drawn(stage.rebound_peak_force_n, 'N')} in rebound and "
        f"{writer.drawn(stage.compression_peak_force_n, 'N')} in compression over "
        f"{writer.drawn(stage.stroke_m * 1e3, 'mm')} of stroke."
    )
    title = f"Stage {stage.index}: force against displacement"
    line = _loop_line(stage, 0, writer)
    return Picture(
        picture_id or f"stage-{stage.index}", title, alt, Axis("Displacement", "mm"), Axis("Force", "N"), (line,)
    )


def ratio_picture(vehicle: VehicleRecord | None, writer: Writer = SI) -> Picture | None:
    """Damping ratio of each stage against speed at the damper, with the target; None without a vehicle or stages."""
    if vehicle is None or not vehicle.ratios:
        return None
    ratios = sorted(vehicle.ratios, key=lambda ratio: ratio.peak_velocity_m_s)
    speed = np.array([ratio.peak_velocity_m_s for ratio in ratios])
    whole, low, high = (np.array([getattr(r.damping_ratio, end) for r in ratios]) for end in ("value", "low", "high"))
    strokes = {way: np.array([getattr(ratio, f"{way}_ratio") for ratio in ratios]) for way in SIGNS}
    layers: list[Layer] = [
        Points("rebound stroke", speed, strokes["rebound"], "curve", "square", hollow=True, size=4.0),
        Points("compression stroke", speed, strokes["compression"], "reference", "diamond", hollow=True, size=3.6),
        Points("whole cycle, with 95 % interval", speed, whole, "ink", "circle", low, high, size=3.6),
    ]
    target = vehicle.target_damping_ratio
    if target is not None:
        ends = np.array([0.0, speed.max() * 1.02])
        layers.insert(0, Line("target", ends, np.full(2, target), "need", "solid"))
    asked = "" if target is None else f" The target is {brief(target)}."
    ends_said = [f"{brief(whole[n])} at {writer.drawn(float(speed[n]), 'm/s')}" for n in (0, -1)]
    alt = f"Damping ratio from {' to '.join(ends_said)}.{asked}"
    return Picture(
        "ratio",
        "Damping ratio against speed",
        alt,
        Axis("Highest speed at the damper", "m/s"),
        Axis("Damping ratio"),
        tuple(layers),
    )


def _valve_layers(valve: ValveRecord, sign: float) -> list[Layer]:
    layers: list[Layer] = []
    if valve.curve is not None:
        v = np.array(valve.curve.velocity_m_s)
        low, high = sign * np.array(valve.curve.low_n), sign * np.array(valve.curve.high_n)
        layers.append(Area("95 % interval of the curve", v, low, high, "curve"))
        layers.append(Line("fitted curve", v, sign * np.array(valve.curve.force_n), "curve"))
    if valve.points is not None and valve.points.velocity_m_s:
        v, force = _thinned(valve.points)
        layers.append(Points("measured", v, sign * force, "ink", "circle", size=2.4, hollow=True))
    return layers


def _thinned(points: PointsRecord) -> tuple[Array, Array]:
    """At most MOST_POINTS of the points: the first at or above each of so many evenly spaced speeds."""
    order = np.argsort(points.velocity_m_s, kind="stable")
    v, force = np.array(points.velocity_m_s)[order], np.array(points.force_n)[order]
    picked = np.unique(np.searchsorted(v, np.linspace(v[0], v[-1], MOST_POINTS)))
    return v[picked], force[picked]


def _peak_layers(stages: tuple[StageRecord, ...]) -> list[Layer]:
    if not stages:
        return []
    v = np.array([stage.peak_velocity_m_s for stage in stages])
    highest = (
        np.array([stage.rebound_peak_force_n for stage in stages]),
        -np.array([stage.compression_peak_force_n for stage in stages]),
    )
    name = "highest force of a stage (friction and gas in)"
    return [Points(name, v, force, "ink", "circle", size=4.0) for force in highest]


def _asked_layers(result: Result, top_speed: float) -> list[Layer]:
    """What the vehicle needs and what the reference gives, with the friction of this unit taken off."""
    friction = drawn_friction_n(result)
    layers: list[Layer] = []
    if result.reference:
        layers += reference_layers(result, "known-good unit with its tolerance", friction)
        top_speed = max(top_speed, *(point.velocity_m_s for point in result.reference))
    if result.vehicle is not None and result.vehicle.need is not None:
        layers += _need_layers(result.vehicle.need, friction, top_speed)
    return layers


def fitted(result: Result) -> bool:
    """Whether a curve of the oil's force is drawn."""
    return result.valve.rebound.curve is not None or result.valve.compression.curve is not None


def drawn_friction_n(result: Result) -> float:
    """What is taken off bands that hold friction, so that they compare with the force of the oil; 0 where unknown."""
    friction = result.statics.friction_force_n
    return friction.value if fitted(result) and friction is not None else 0.0


def _need_layers(need: BandRecord, friction_n: float, top_speed: float) -> list[Layer]:
    v = np.array(need.velocity_m_s)
    seen = v <= top_speed * 1.001
    if seen.sum() < 2:
        return []
    layers: list[Layer] = []
    for way, sign in SIGNS.items():
        low, high = (np.maximum(np.array(getattr(need, f"{way}_{end}_n")) - friction_n, 0.0) for end in ("low", "high"))
        layers.append(
            Area("what the vehicle needs", v[seen], sign * low[seen], sign * high[seen], "need", hatched=True)
        )
    return layers


def reference_layers(result: Result, name: str, friction_n: float = 0.0) -> list[Layer]:
    """Forces of the known-good unit with how far one may be from them, this unit's friction taken off."""
    layers: list[Layer] = []
    for way, sign in SIGNS.items():
        points = [point for point in result.reference or () if point.direction == way]
        if not points:
            continue
        v = np.array([point.velocity_m_s for point in points])
        value, low, high = (
            sign * np.maximum(np.array([getattr(point, name) for point in points]) - friction_n, 0.0)
            for name in ("reference_n", "low_n", "high_n")
        )
        layers.append(Points(name, v, value, "reference", "diamond", low, high, size=4.5))
    return layers


def _depth(layer: Layer) -> int:
    """From back to front: what is asked for as a band, the curve's interval, measured marks, the curve, the reference."""
    kinds = (
        isinstance(layer, Area) and layer.hatched,
        isinstance(layer, Area),
        layer.name == "measured",
        isinstance(layer, Line),
    )
    return next((depth for depth, is_kind in enumerate(kinds) if is_kind), len(kinds))


def _speed(stage: StageRecord, writer: Writer) -> str:
    return writer.drawn(stage.peak_velocity_m_s, "m/s")


def _loop_line(stage: StageRecord, n: int, writer: Writer) -> Line:
    x, y = np.array(stage.loop.displacement_mm), np.array(stage.loop.force_n)
    ink, dash = INKS[n % len(INKS)], DASHES[n // len(INKS) % len(DASHES)]
    name = f"{_speed(stage, writer)} (stage {stage.index + 1})"
    return Line(name, np.append(x, x[0]), np.append(y, y[0]), ink, dash)


def _force_alt(result: Result, writer: Writer) -> str:
    said = []
    for way, valve in (("rebound", result.valve.rebound), ("compression", result.valve.compression)):
        if valve.curve is None:
            said.append(f"No {way} curve was established.")
        else:
            top, force = writer.drawn(valve.curve.velocity_m_s[-1], "m/s"), writer.drawn(valve.curve.force_n[-1], "N")
            said.append(f"At {top} {way} makes {force}.")
    return " ".join([*said, "The table of forces by speed gives the same in numbers."])
