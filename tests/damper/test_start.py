"""Where the fit begins, from loops of closed form."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.damper.start import statics
from dampkit.quantities import Array
from tests.made_loops import sine_loop


def split(x: Array, v: Array) -> Array:
    """Rebound 3000, compression 1000 N s/m, 25 N of friction, 150 N of gas force with a spring of 800 N/m."""
    return np.asarray(np.where(v > 0, 3000.0, 1000.0) * v + 25 * np.sign(v) - 150 + 800 * x)


def test_gas_and_friction_from_a_slow_pass() -> None:
    """Out reads 25 + 15 - 150 N at mid-stroke, in 25 + 5 + 150 the other way: mean and half difference by hand."""
    gas, friction = statics((sine_loop(split, 0.3), sine_loop(split, 0.005)))
    assert gas == pytest.approx(150 - 0.5 * (15 - 5), abs=0.1)
    assert friction == pytest.approx(25 + 0.5 * (15 + 5), abs=0.1)
