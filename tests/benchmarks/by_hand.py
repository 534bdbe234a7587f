"""What a script by hand does with a log: python -m tests.benchmarks.by_hand RUN.csv REFERENCE.toml

The peer of `dampkit analyse` on the same log with the same libraries that anyone would take: pandas reads, scipy finds
the strokes and fits a bleed with a blow-off to the peak forces, the reference is interpolated. No interval, no friction,
no gas, no fault, no temperature, no check of anything.
"""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import curve_fit
from scipy.signal import find_peaks, savgol_filter

from dampkit.quantities import Array


def law(v: Array, c: float, opens: float, rate: float) -> Array:
    """Square below the force at which the blow-off opens, straight above it."""
    knee = np.sqrt(max(opens, 1.0) / max(c, 1.0))
    return np.where(v < knee, c * v**2, opens + rate * (v - knee))


def main(log: Path, reference: Path) -> None:
    table = pd.read_csv(log)
    time, place, force = (
        table["time_s"].to_numpy(),
        table["displacement_mm"].to_numpy() / 1e3,
        table["force_N"].to_numpy(),
    )
    speed = savgol_filter(place, 31, 2, deriv=1, delta=float(np.median(np.diff(time))))
    wanted = tomllib.loads(reference.read_text())["reference"]
    for sign, side in ((1.0, "rebound"), (-1.0, "compression")):
        peaks, _ = find_peaks(sign * speed, height=0.02, distance=20)
        v, f = sign * speed[peaks], sign * force[peaks]
        fitted, _ = curve_fit(law, v, f, p0=(1e4, 300.0, 1e3), maxfev=20_000)
        at = np.array(wanted["velocity_m_s"])
        off = law(at, *fitted) / np.array(wanted[f"{side}_force_n"]) - 1
        print(side, np.round(fitted, 1), np.round(100 * off, 1))


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
