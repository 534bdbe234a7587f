"""What a calibration says: how far force, place and temperature are off, with the uncertainty that tests take on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.store.bench_record import Calibration

# Weight of a mass in air: what the air carries of a steel weight is left out of its force. Source: [iso376], from memory.
AIR_KG_M3, STEEL_KG_M3 = 1.2, 8000.0
IN_AIR = 1.0 - AIR_KG_M3 / STEEL_KG_M3
K95 = 2.0  # coverage factor for 95 % [jcgm100]
# Largest relative error of indication and of repeatability, largest zero error of full scale, in percent. [iso7500]
CLASSES = {"0.5": (0.5, 0.5, 0.05), "1": (1.0, 1.0, 0.1), "2": (2.0, 2.0, 0.2), "3": (3.0, 3.0, 0.3)}


@frozen
class Channel:
    """`error` is the largest found, `uncertainty` the 95 % that a reading is off after it; both in `unit`."""

    error: float
    uncertainty: float
    limit: float
    unit: str

    @property
    def passed(self) -> bool:
        return self.error <= self.limit


@frozen
class Calibrated:
    """`force` in percent of the reading, `zero_n` the empty cell, `force_class` that of ISO 7500-1 or None where none fits.

    None where a channel was not held against anything. `stiffness_n_mm`: bench and link, from the rigid link.
    """

    force: Channel
    zero_n: float
    force_uncertainty_n: float
    repeatability_percent: float
    force_class: str | None
    travel: Channel | None
    temperature: Channel | None
    stiffness_n_mm: float | None

    @property
    def passed(self) -> bool:
        return all(channel.passed for channel in self.channels.values() if channel is not None)

    @property
    def channels(self) -> dict[str, Channel | None]:
        """By what each measures."""
        return {"force": self.force, "travel": self.travel, "temperature": self.temperature}


def weight_n(mass_kg: float, gravity_m_s2: float) -> float:
    """Force of a steel weight hung in air: m g (1 - air density / steel density). Source: [iso376], from memory."""
    return mass_kg * gravity_m_s2 * IN_AIR


def calibrated(sheet: Calibration) -> Calibrated:
    """Errors and uncertainties of one calibration."""
    mass = np.array([weight.mass_kg for weight in sheet.force])
    read = np.array([weight.read_n for weight in sheet.force])
    true = np.array([weight_n(m, sheet.gravity_m_s2) for m in mass])
    zero = float(read[mass == 0].mean()) if (mass == 0).any() else 0.0
    loaded = mass > 0
    relative = 100.0 * (read[loaded] - zero - true[loaded]) / true[loaded]
    repeat = _repeatability(mass[loaded], relative)
    spread = float(np.hypot(sheet.weights_percent / K95, _standard(relative)))
    error = float(np.abs(relative).max())
    zero_spread = float(np.ptp(read[mass == 0])) if (mass == 0).sum() > 1 else 0.0
    return Calibrated(
        Channel(error, K95 * spread, sheet.force_limit_percent, "%"),
        zero,
        zero_spread,
        repeat,
        _class_of(error, repeat, 100.0 * abs(zero_spread) / float(true.max())),
        _difference([(p.gauge_mm, p.read_mm) for p in sheet.travel], sheet.gauge_mm, sheet.travel_limit_mm, "mm"),
        _difference([(w.thermometer_c, w.read_c) for w in sheet.temperature], 0.0, sheet.temperature_limit_k, "K"),
        _stiffness([(f.force_n, f.travel_mm) for f in sheet.flex]),
    )


def _standard(errors: Array) -> float:
    """Standard uncertainty of errors that are not taken out: their root mean square. Source: own, after [jcgm100] F.2.4.5."""
    return float(np.sqrt(np.mean(errors**2)))


def _repeatability(mass: Array, relative: Array) -> float:
    """Largest spread of the errors of one weight, in percent; 0 where none was hung twice. Source: [iso7500], 6.5.2."""
    return max(float(np.ptp(relative[mass == m])) for m in np.unique(mass))


def _class_of(error: float, repeat: float, zero: float) -> str | None:
    """The best class whose limits hold. Source: [iso7500], table 2, from memory."""
    fits = (name for name, most in CLASSES.items() if error <= most[0] and repeat <= most[1] and zero <= most[2])
    return next(fits, None)


def _difference(pairs: Sequence[tuple[float, float]], known: float, limit: float, unit: str) -> Channel | None:
    """Errors of differences from the first place, as a bench's zero of travel is anywhere."""
    if len(pairs) < (2 if unit == "mm" else 1):
        return None
    true, read = np.array(pairs).T
    errors = (read - read[0]) - (true - true[0]) if unit == "mm" else read - true
    return Channel(float(np.abs(errors).max()), K95 * float(np.hypot(known / K95, _standard(errors))), limit, unit)


def _stiffness(pairs: Sequence[tuple[float, float]]) -> float | None:
    """Slope of force over travel on a rigid link, in N/mm; None where it gave no measurable way."""
    if len(pairs) < 2:
        return None
    force, travel = np.array(pairs).T
    moved = travel - travel.mean()
    squares = float(moved @ moved)
    slope = float(moved @ (force - force.mean())) / squares if squares > 0 else 0.0
    return slope if slope > 0 else None
