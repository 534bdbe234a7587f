"""Several known-good units become one reference: mean forces and the tolerance interval of such units."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from dampkit.bench.written import written_into
from dampkit.damper.declared import LEAST_TOLERANCE_N, Damper
from dampkit.damper.reading import EDGE, reading_at
from dampkit.damper.unit import Unit
from dampkit.damper.warmth import brought_to
from dampkit.errors import BadSettings
from dampkit.expected.tolerance import two_sided_k
from dampkit.expected.window import USUAL_SPEEDS_M_S
from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, Array, Direction

if TYPE_CHECKING:
    import pandas as pd

LEAST = 2


@frozen
class KnownGood:
    """Arrays (K,) over the speeds; forces are bench readings, friction in and gas out. `tolerance_n` is k s.

    `damper`: what was declared of the first unit, to stand in the damper file; its serial is left out there.

    Examples
    --------
    >>> speeds = {"velocity m/s": [0.05, 0.1, 0.3, 0.6]}
    >>> left = {**speeds, "rebound N": [180, 420, 980, 1400], "compression N": [150, 300, 520, 700]}
    >>> right = {**speeds, "rebound N": [120, 270, 640, 900], "compression N": [150, 300, 520, 700]}
    >>> dampkit.reference([left, right])
    <KnownGood of 2 units, 5 speeds to 0.6 m/s: 95 % with 95 %, k 36.519>
    """

    units: int
    share: float
    confidence: float
    k: float
    velocity_m_s: Array
    mean_n: dict[Direction, Array]
    deviation_n: dict[Direction, Array]
    temperature_c: float | None = None  # mean of the units, where all logs tell it

    damper: Damper | None = None

    def to_toml(self, kept: str = "") -> str:
        """The damper file with this reference in it, as `dampkit reference --save` writes it.

        `kept` is the text of the file that the unit was declared in: all else in it stays, comments too.
        """
        return damper_toml(self, self.damper or Damper(), kept)

    def to_dict(self) -> dict[str, Any]:
        """What `to_toml` says, as a mapping: to be given as `damper` to any call."""
        return tomllib.loads(self.to_toml())

    def frames(self) -> dict[str, pd.DataFrame]:
        """`reference`: a row a direction and speed, SI."""
        import pandas as pd

        rows = [
            pd.DataFrame(
                {
                    "direction": way,
                    "velocity_m_s": self.velocity_m_s,
                    "force_n": self.mean_n[way],
                    "tolerance_n": self.tolerance_n(way),
                    "deviation_n": self.deviation_n[way],
                }
            )
            for way in DIRECTIONS
        ]
        return {"reference": pd.concat(rows, ignore_index=True)}

    def __repr__(self) -> str:
        top = f"{len(self.velocity_m_s)} speeds to {self.velocity_m_s[-1]:g} m/s"
        return f"<KnownGood of {self.units} units, {top}: {100 * self.share:g} % with {100 * self.confidence:g} %, k {self.k:.3f}>"

    def tolerance_n(self, way: Direction) -> Array:
        return self.k * self.deviation_n[way]


def known_good(
    fits: Sequence[Unit], speeds_m_s: Sequence[float] = (), share: float = 0.95, confidence: float = 0.95
) -> KnownGood:
    """The limits that hold `share` of all such units with `confidence`, if their forces are normally distributed.

    Speeds beyond the slowest top speed of the units are left out. The spread holds the measurement's own scatter too, so
    the limits are a little wide rather than narrow. Raises BadSettings for fewer than two units or no speed in common.
    Source: [iso16269].
    """
    for name, value in (("share", share), ("confidence", confidence)):
        if not 0 < value < 1:
            raise BadSettings(name, f"found {value:g}", "a share between 0 and 1, as 0.95", "correct it")
    if len(fits) < LEAST:
        raise BadSettings(
            "reference", f"{len(fits)} run", "at least two known-good units; ten make a useful band", "test more units"
        )
    tops = [valve.velocity_m_s[-1] for fit in fits for valve in (side.law for side in fit.sides) if valve is not None]
    top = min(tops, default=0.0) * (1 + EDGE)
    v = np.array([s for s in (speeds_m_s or USUAL_SPEEDS_M_S) if s <= top])
    temperatures = [fit.temperature_c for fit in fits if fit.temperature_c is not None]
    warm = float(np.mean(temperatures)) if len(temperatures) == len(fits) else None
    read = {way: _readings(fits, way, v, warm) for way in DIRECTIONS}
    reached = ~np.any([np.isnan(forces).any(axis=0) for forces in read.values()], axis=0)
    v, read = v[reached], {way: forces[:, reached] for way, forces in read.items()}
    if v.size == 0:
        raise BadSettings(
            "reference",
            "the runs have no speed in common at which every unit has a force in both directions",
            "runs on the same stages, with a slow pass for the friction",
            "test all units on the same programme",
        )
    mean = {way: forces.mean(axis=0) for way, forces in read.items()}
    deviation = {way: forces.std(axis=0, ddof=1) for way, forces in read.items()}
    return KnownGood(len(fits), share, confidence, two_sided_k(len(fits), share, confidence), v, mean, deviation, warm)


def damper_toml(found: KnownGood, damper: Damper, kept: str = "") -> str:
    """A damper file with the reference in it; sizes as declared for the first unit, its serial left out.

    `kept` is the text that `damper` was read from: whatever else is in it stays, comments too.
    """
    reference: dict[str, object] = {"velocity_m_s": _rounded(found.velocity_m_s, 3)}
    if found.temperature_c is not None:
        reference["temperature_c"] = round(found.temperature_c, 1)
    reference |= {f"{way}_force_n": _rounded(found.mean_n[way], 1) for way in DIRECTIONS}
    room = {way: np.maximum(found.tolerance_n(way), LEAST_TOLERANCE_N) for way in DIRECTIONS}
    reference |= {f"{way}_tolerance_n": _rounded(room[way], 1) for way in DIRECTIONS}
    said = [
        f"From {found.units} known-good units: limits that hold {100 * found.share:g} % of such units with",
        f"{100 * found.confidence:g} % confidence, if forces are normally distributed: mean +/- {found.k:.3f} times their standard deviation.",
    ]
    sizes = {} if kept else damper.model_dump(exclude_none=True, exclude_defaults=True, exclude={"serial"})
    drop = (("damper", "serial"), ("reference",))
    sections: dict[tuple[str, ...], dict[str, Any]] = {("damper",): sizes, ("reference",): reference}
    return written_into(kept, sections, drop=drop, notes={("reference",): said})


def _readings(fits: Sequence[Unit], way: Direction, v: Array, to_c: float | None) -> Array:
    """Shape (units, K), all at one temperature where it is known; not a number where a unit has no force."""
    rows = []
    for fit in fits:
        at = fit if to_c is None else brought_to(fit, to_c)
        found = [reading_at(float(s), at, way) for s in v]
        rows.append([np.nan if r is None else r.value for r in found])
    return np.array(rows, dtype=np.float64)


def _rounded(values: Array, places: int) -> list[float]:
    return [round(float(x), places) for x in values]
