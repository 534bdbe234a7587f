"""Stored arrays, rounded to what they are worth."""

from __future__ import annotations

import math

import numpy as np

from dampkit.quantities import Array

CURVE_DIGITS = 6  # significant digits of stored arrays


def short(values: Array) -> tuple[float, ...]:
    """Rounded to a few significant digits of the largest, as a stored curve needs no more."""
    largest = float(np.abs(values).max(initial=0.0))
    digits = CURVE_DIGITS - 1 - math.floor(math.log10(largest)) if largest > 0 else 0
    return tuple(np.round(values, digits).tolist())
