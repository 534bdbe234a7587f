"""Valves as they are made: the same force at the knee and at the top, another way between and below."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.frozen import frozen
from dampkit.virtual.oil import Oil
from dampkit.virtual.plant import Groove, Opening, Plant, preloaded_check

TOP_LIFT = 1.0 / 3.0  # lift at the top speed of a valve that was sized by its aim


@frozen
class ValveShape:
    """How both valves open, how oil comes back in, and whether the bore has a groove."""

    exponent: float = 1.0
    knee: float = 0.05  # width of the soft crack over the span
    half_at_reynolds: float = 0.0
    check_crack_pa: float = 0.0  # 0 leaves plain refill valves
    groove_share: float = 0.0  # groove area over the bleed area of the rebound valve
    groove_m: tuple[float, float] = (-0.008, 0.008)


SHAPES: dict[str, ValveShape] = {
    "linear": ValveShape(),
    "preloaded shims": ValveShape(exponent=0.5, knee=0.02),
    "soft shims": ValveShape(exponent=1.4, knee=0.4),
    "progressive shims": ValveShape(exponent=2.0, knee=0.1),
    "narrow passages": ValveShape(half_at_reynolds=150.0),
    "preloaded checks": ValveShape(exponent=0.8, check_crack_pa=2e4),
    "bypass groove": ValveShape(groove_share=0.35),
}


def shaped(plant: Plant, shape: ValveShape) -> Plant:
    """The plant with its valves, checks and bore of a shape; a friction damper and a groove it cannot have left out."""
    if not plant.has_oil:
        return plant
    made = replace(
        plant,
        rebound=_opening(plant.rebound, shape, plant.oil),
        compression=_opening(plant.compression, shape, plant.oil),
    )
    if shape.check_crack_pa and plant.kind != "monotube":
        check = preloaded_check(shape.check_crack_pa)
        made = replace(made, piston_intake=check, foot_intake=check)
    if shape.groove_share and plant.kind != "lever-arm":
        start, end = shape.groove_m
        made = replace(made, groove=Groove(shape.groove_share * plant.rebound.bleed_m2, start, end))
    return made


def _opening(opening: Opening, shape: ValveShape, oil: Oil) -> Opening:
    """The opening with areas that keep its flow at the crack and at a third of its span, at 20 degC."""
    made = replace(opening, exponent=shape.exponent, knee=shape.knee, half_at_reynolds=shape.half_at_reynolds)
    knee, top = (
        1.0 / discharge_share(made, oil, p) for p in (opening.crack_pa, opening.crack_pa + TOP_LIFT * opening.span_pa)
    )
    bleed = made.bleed_m2 * knee
    at_top = (made.bleed_m2 + made.open_m2 * TOP_LIFT) * top
    return replace(made, bleed_m2=bleed, open_m2=(at_top - bleed) / TOP_LIFT**shape.exponent)


def discharge_share(opening: Opening, oil: Oil, drop_pa: float, temperature_c: float = 20.0) -> float:
    """Discharge coefficient over its turbulent value: Re / (Re + Re_half), Re = d sqrt(2 dp/rho) / nu. Source: own."""
    jet = float(np.sqrt(2.0 * drop_pa / oil.density_kg_m3(temperature_c)))
    reynolds = jet * opening.passage_m / (1e-6 * float(oil.viscosity_mm2_s(temperature_c)))
    return reynolds / (reynolds + opening.half_at_reynolds)
