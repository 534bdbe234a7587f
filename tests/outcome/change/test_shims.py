"""Shim plates against Roark's table 11.2 (cases 1l, 2l; from memory of the book) and an independent solution of the
plate equation as a boundary-value problem."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from dampkit.outcome.change.shims import (
    Plate,
    beyond_linear,
    choose_stack,
    pressure_deflection_m,
    pressure_moment_n,
    pressure_stress_pa,
    stack_rate,
)
from dampkit.quantities import Array

NU = 0.3
UNIT_THICKNESS = 12 * (1 - NU**2)  # modulus for which D = 1 with t = 1

# b/a: K_y and K_Mrb under pressure (2l). Roark 7th ed. table 11.2, from memory.
TABLE = {
    0.1: (0.0757, 0.9646),
    0.3: (0.0318, 0.4103),
    0.5: (0.0086, 0.1736),
    0.7: (0.0011, 0.0541),
}
WORKED = Plate(0.015, 0.006, 0.30e-3, 206e9, NU)


@pytest.mark.parametrize("ratio", TABLE)
def test_the_constants_of_the_book(ratio: float) -> None:
    plate = Plate(1.0, ratio, 1.0, UNIT_THICKNESS, NU)
    pressure, moment = TABLE[ratio]
    assert pressure_deflection_m(plate, 1.0) == pytest.approx(pressure, abs=6e-5)
    assert pressure_moment_n(plate, 1.0) == pytest.approx(moment, abs=6e-5)


def tip_by_boundary_value(ratio: float) -> float:
    """(1/x d/dx (x d/dx))^2 w = 1 with w = w' = 0 at the clamp, no moment and no force at the rim; a = 1, D = 1."""

    def equations(x: Array, y: Array) -> Array:  # deflection, slope, and the Laplacian of the deflection
        return np.vstack([y[1], y[2] - y[1] / x, -0.5 * (1 - x**2) / x])

    def ends(at_clamp: Array, at_rim: Array) -> Array:
        return np.array([at_clamp[0], at_clamp[1], at_rim[2] - (1 - NU) * at_rim[1]])

    x = np.linspace(ratio, 1.0, 100)
    found = solve_bvp(equations, ends, x, np.zeros((3, x.size)), tol=1e-8, max_nodes=20_000)
    assert found.success
    return abs(float(found.sol(1.0)[0]))


@settings(max_examples=20)
@given(ratio=st.floats(0.1, 0.8), thickness=st.floats(0.1e-3, 0.4e-3), pressure=st.floats(1e4, 1e6))
def test_deflection_agrees_with_a_boundary_value_solution(ratio: float, thickness: float, pressure: float) -> None:
    plate = Plate(0.015, 0.015 * ratio, thickness, 206e9, NU)
    scale = pressure * plate.outer_m**4 / plate.rigidity_n_m
    assert pressure_deflection_m(plate, pressure) == pytest.approx(scale * tip_by_boundary_value(ratio), rel=1e-4)


def test_worked_shim() -> None:
    """15/6 x 0.30 mm, 0.1 MPa: worked out beside the book with a boundary-value solution."""
    assert WORKED.rigidity_n_m == pytest.approx(0.509341, rel=1e-5)
    assert pressure_deflection_m(WORKED, 1e5) == pytest.approx(0.17529e-3, rel=1e-4)
    assert pressure_stress_pa(WORKED, 1e5) == pytest.approx(408.28e6, rel=1e-4)
    assert beyond_linear(WORKED, 0.17529e-3)  # more than half its thickness
    assert not beyond_linear(WORKED, 0.14e-3)


def test_free_sliding_shims_add_their_rigidity() -> None:
    """n equal shims: n times the rate of one, not that of one n times as thick."""
    assert stack_rate([0.2] * 4) == pytest.approx(4 * stack_rate([0.2]))
    assert stack_rate([0.8]) == pytest.approx(64 * stack_rate([0.2]))


@pytest.mark.parametrize("ratio", [0.5, 0.8, 1.0, 1.3, 2.0])
def test_the_stack_named_comes_close(ratio: float) -> None:
    new = choose_stack((0.2, 0.2, 0.15), ratio, (0.1, 0.15, 0.2, 0.25, 0.3), 6)
    assert stack_rate(new) / stack_rate((0.2, 0.2, 0.15)) == pytest.approx(ratio, rel=0.03)
    assert list(new) == sorted(new, reverse=True)
