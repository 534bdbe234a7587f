"""What another oil from stock would do: it changes the clearances' flow and hardly anything else."""

from __future__ import annotations

from collections.abc import Mapping

from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.damper.oil import viscosity_mm2_s, walther_constants
from dampkit.outcome.change.aim import Aim
from dampkit.outcome.change.levers import Ratios
from dampkit.outcome.change.predict import Changeable
from dampkit.outcome.change.search import worst_miss
from dampkit.outcome.change.stock import OilGrade, Oils
from dampkit.quantities import Direction, number

USUAL_C = 20.0


def oil_ratio(now: OilGrade, new: OilGrade, temperature_c: float) -> float:
    """Leak flow with the new oil over that with the present one: one over the ratio of viscosities.

    Densities count as equal. Source: [astm_d341] for the viscosities, [merritt1967] for the clearance.
    """
    before, after = (
        viscosity_mm2_s(walther_constants(40.0, oil.viscosity_40_mm2_s, 100.0, oil.viscosity_100_mm2_s), temperature_c)
        for oil in (now, new)
    )
    return before / after


def oil_notes(
    oils: Oils | None, aims: Mapping[Direction, Aim], sides: Mapping[Direction, Changeable], record: Run | Points
) -> list[str]:
    """A sentence for each oil in stock: what it does to the leak, and whether it alone would do."""
    if oils is None:
        return []
    temperature = USUAL_C if record.temperature_c is None else float(record.temperature_c.mean())
    lines = []
    for grade in oils.stock:
        ratio = oil_ratio(oils.now, grade, temperature)
        worst = max(worst_miss(sides[way], aim, Ratios(leak=ratio)) for way, aim in aims.items())
        enough = "would bring it into its band by itself" if worst <= 1 else "would not be enough by itself"
        lines.append(
            f"Oil {grade.name} in place of {oils.now.name}: {number(1 / ratio)} times as thick at "
            f"{temperature:.0f} degC, leak times {number(ratio)}; it {enough}. Bleed and blow-off hardly feel it."
        )
    return lines
