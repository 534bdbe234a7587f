"""The one window of a reference: what a known-good unit may read at a speed."""

from __future__ import annotations

import numpy as np

from dampkit.damper.declared import Reference
from dampkit.frozen import frozen
from dampkit.quantities import Array, Direction, read_only

USUAL_SPEEDS_M_S = (0.05, 0.1, 0.2, 0.3, 0.6, 1.0)  # of a test [jaso_c602], with one more below the rated point


@frozen
class Window:
    """Bench readings of the good unit in one direction, friction in and gas out, N; shape (K,), slowest first.

    `allowance_n`: how far a reading may be off on either side.
    """

    direction: Direction
    velocity_m_s: Array
    wanted_n: Array
    allowance_n: Array

    @property
    def low_n(self) -> Array:
        return np.maximum(self.wanted_n - self.allowance_n, 0.0)

    @property
    def high_n(self) -> Array:
        return self.wanted_n + self.allowance_n


def window(reference: Reference, direction: Direction) -> Window:
    """The declared tolerance at each velocity, else the larger of percentage and floor."""
    forces, own = (
        (reference.rebound_force_n, reference.rebound_tolerance_n)
        if direction == "rebound"
        else (reference.compression_force_n, reference.compression_tolerance_n)
    )
    wanted = np.array(forces, dtype=np.float64)
    allowance = np.maximum(0.01 * reference.tolerance_percent * wanted, reference.tolerance_floor_n)
    if own is not None:
        allowance = np.array(own, dtype=np.float64)
    return Window(direction, read_only(reference.velocity_m_s), read_only(wanted), read_only(allowance))
