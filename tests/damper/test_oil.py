"""Walther's equation against the worked example of ASTM D341 practice and ISO 3448-type oils."""

from __future__ import annotations

import pytest

from dampkit.damper.oil import viscosity_mm2_s, walther_constants
from dampkit.outcome.change.oil_choice import oil_ratio
from dampkit.outcome.change.stock import OilGrade


def test_published_example() -> None:
    """32 mm2/s at 40, 5.4 at 100 degC: A 9.5259, B 3.7449, 8.5 mm2/s at 80 degC (T = t + 273 there)."""
    a, b = walther_constants(40.0, 32.0, 100.0, 5.4)
    assert a == pytest.approx(9.5259, rel=1e-3)
    assert b == pytest.approx(3.7449, rel=1e-3)
    assert viscosity_mm2_s((a, b), 80.0) == pytest.approx(8.5, abs=0.05)


@pytest.mark.parametrize(("temperature_c", "viscosity"), [(40.0, 32.0), (100.0, 5.4)])
def test_it_goes_through_its_own_points(temperature_c: float, viscosity: float) -> None:
    assert viscosity_mm2_s(walther_constants(40.0, 32.0, 100.0, 5.4), temperature_c) == pytest.approx(viscosity)


@pytest.mark.parametrize("points", [(40.0, 1.9, 100.0, 1.0), (40.0, 15.0, 40.0, 3.8), (40.0, 15.0, 100.0, 2.0)])
def test_outside_its_range_it_says_so(points: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="2 mm2/s"):
        walther_constants(*points)


def test_thicker_oil_leaks_less_in_proportion() -> None:
    thin = OilGrade(name="thin", viscosity_40_mm2_s=15.0, viscosity_100_mm2_s=3.8)
    thick = OilGrade(name="thick", viscosity_40_mm2_s=32.0, viscosity_100_mm2_s=5.4)
    assert oil_ratio(thin, thick, 40.0) == pytest.approx(15 / 32)
    assert oil_ratio(thin, thin, 10.0) == 1.0
