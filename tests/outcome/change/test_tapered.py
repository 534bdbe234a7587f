"""Stacks of unlike shims against the closed form for equal ones, and an independent solution of the plate's equations."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.integrate import solve_ivp

from dampkit.outcome.change.parts import Valving, _stack
from dampkit.outcome.change.shims import Plate, pressure_deflection_m
from dampkit.outcome.change.stock import Stack, Stacks, Stock
from dampkit.outcome.change.tapered import Shim, ShimStack, choose_tapered, rate_pa_m
from dampkit.quantities import Array, number
from tests import made_loops as made

NU, E_PA = 0.3, 206e9
TAPER = ShimStack((Shim(30, 0.2), Shim(30, 0.2), Shim(26, 0.2), Shim(22, 0.15), Shim(18, 0.15)), 12.0)
CROSSED = ShimStack((Shim(30, 0.15), Shim(30, 0.15), Shim(18, 0.1), Shim(28, 0.2), Shim(24, 0.2)), 12.0)


@pytest.mark.parametrize("count", [1, 4])
def test_equal_shims_are_the_closed_form_of_the_book(count: int) -> None:
    """[roark] Table 11.2, case 2l, its rigidity times the number of shims."""
    one = Plate(0.015, 0.006, 0.2e-3, E_PA, NU)
    rate = rate_pa_m(ShimStack((Shim(30, 0.2),) * count, 12.0, E_PA, NU))
    assert rate == pytest.approx(count * 1e5 / pressure_deflection_m(one, 1e5), rel=1e-9)


def lift_by_integration(stack: ShimStack) -> float:
    """Slope and moment of a plate whose rigidity falls in steps, integrated from the clamp ring by ring, so that the rim
    is free of moment; lift of the rim at 1 Pa. Radii over the outer one, rigidity over that at the clamp.
    """
    outer_m = 0.5e-3 * stack.shims[0].diameter_mm
    reach = np.array([s.diameter_mm / stack.shims[0].diameter_mm for s in stack.shims])
    cubes = np.array([s.thickness_mm**3 for s in stack.shims])
    ends = sorted({stack.clamp_mm / stack.shims[0].diameter_mm, *reach.tolist()})

    def at_rim(pressure: float, moment: float) -> Array:
        y = np.array([0.0, 0.0, moment])  # lift, slope, r times radial moment
        for a, b in pairwise(ends):
            d = float(cubes[reach > 0.5 * (a + b)].sum() / cubes.sum())

            def rates(r: float, y: Array, d: float = d) -> list[float]:
                bend = y[2] / (r * d) - NU * y[1] / r
                return [y[1], bend, d * (y[1] / r + NU * bend) - 0.5 * pressure * (1 - r**2)]

            y = solve_ivp(rates, (a, b), y, rtol=1e-10, atol=1e-13).y[:, -1]
        return np.asarray(y)

    loaded, held = at_rim(1.0, 0.0), at_rim(0.0, 1.0)
    lift = loaded[0] - loaded[2] / held[2] * held[0]
    stiff = E_PA * 1e-9 * cubes.sum() / (12 * (1 - NU**2))
    return float(abs(lift) * outer_m**4 / stiff)


def test_a_tapered_stack_agrees_with_the_plates_equations() -> None:
    assert 1 / rate_pa_m(TAPER) == pytest.approx(lift_by_integration(TAPER), rel=1e-6)


@settings(max_examples=30)
@given(sizes=st.lists(st.floats(14.0, 30.0), min_size=1, max_size=5))
def test_a_taper_lies_between_its_face_alone_and_as_many_full_shims(sizes: list[float]) -> None:
    face = Shim(30.0, 0.2)
    taper = ShimStack((face, *(Shim(d, 0.2) for d in sorted(sizes, reverse=True))), 12.0)
    full = ShimStack((face,) * len(taper.shims), 12.0)
    assert rate_pa_m(ShimStack((face,), 12.0)) < rate_pa_m(taper) * (1 + 1e-9)
    assert rate_pa_m(taper) <= rate_pa_m(full) * (1 + 1e-9)


def test_a_crossover_lets_the_face_bend_alone_until_its_gap_closes() -> None:
    assert CROSSED.crossover == 2
    assert CROSSED.gap_mm == 0.1
    alone = ShimStack((Shim(30, 0.15), Shim(30, 0.15)), 18.0)
    assert rate_pa_m(CROSSED) == pytest.approx(rate_pa_m(alone))
    assert TAPER.crossover is None


@pytest.mark.parametrize("stack", [TAPER, CROSSED], ids=["taper", "crossover"])
@pytest.mark.parametrize("ratio", [0.7, 1.0, 1.4])
def test_the_stack_named_comes_close_and_keeps_diameters_and_second_stage(stack: ShimStack, ratio: float) -> None:
    new = choose_tapered(stack, ratio, (0.1, 0.15, 0.2, 0.25, 0.3))
    assert rate_pa_m(new) / rate_pa_m(stack) == pytest.approx(ratio, rel=0.16)
    assert [s.diameter_mm for s in new.shims] == [s.diameter_mm for s in stack.shims]
    assert new.shims[len(stack.face.shims) :] == stack.shims[len(stack.face.shims) :]
    if ratio == 1.0:
        assert new == stack


def stack(**changed: Any) -> Stack:
    given = {
        "outer_diameter_mm": 30.0,
        "clamp_diameter_mm": 12.0,
        "thickness_mm": [s.thickness_mm for s in CROSSED.shims],
        "diameters_mm": [s.diameter_mm for s in CROSSED.shims],
        "stock_mm": [0.1, 0.15, 0.2, 0.25, 0.3],
    }
    return Stack.model_validate({**given, **changed})


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"diameters_mm": [30.0, 26.0]}, "diameters_mm has 2 values, thickness_mm 5"),
        ({"diameters_mm": [26.0, 30.0, 18.0, 28.0, 24.0]}, "the face first and largest"),
        ({"diameters_mm": [30.0, 30.0, 12.0, 28.0, 24.0]}, "all larger than the clamp"),
    ],
)
def test_a_stack_that_cannot_be_is_refused(changed: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        stack(**changed)


def test_the_shims_to_exchange_are_named_from_the_face_on_with_the_crossovers_end() -> None:
    """The gap of 0.1 mm closes at rate times gap, by hand from the face's own rate."""
    side = made.side_of("rebound", made.REBOUND, 20.0)
    law = side.law
    assert law is not None
    stock = Stock(stack=Stacks(rebound=stack()))
    rate, part = _stack(Valving("rebound", law, 4e-4, stock), 1.4)
    assert part is not None
    assert part.ratio == pytest.approx(rate)
    assert not part.irreversible
    assert "from the face (30 mm wide)" in part.do
    new = choose_tapered(CROSSED, 1.4, (0.1, 0.15, 0.2, 0.25, 0.3))
    assert f"about {number(1e-9 * 0.1 * 10 * rate_pa_m(new))} bar" in part.do
