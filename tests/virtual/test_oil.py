"""Oil against ASTM D341 worked values and effective-modulus tables."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.virtual.oil import ATMOSPHERE_PA, Oil, walther


def test_walther_constants_and_viscosity_of_a_worked_example() -> None:
    # worked example for ASTM D341: 32 mm2/s at 40 degC, 5.4 at 100 degC, T = t + 273: A 9.5259, B 3.7449, 8.5 at 80
    a, b = walther((313.0, 32.0), (373.0, 5.4))
    assert a == pytest.approx(9.5259, abs=1e-4)
    assert b == pytest.approx(3.7449, abs=1e-4)
    oil = Oil(viscosity_40_mm2_s=32.0, viscosity_100_mm2_s=5.4)
    assert float(oil.viscosity_mm2_s(80.0)) == pytest.approx(8.5332, abs=1e-4)  # same example with + 273.15


@pytest.mark.parametrize(("celsius", "mm2_s"), [(-20, 309.0), (0, 81.76), (20, 31.04), (60, 8.55), (80, 5.46)])
def test_viscosity_of_a_light_damper_oil(celsius: float, mm2_s: float) -> None:
    # 15 at 40, 3.8 at 100 degC by ASTM D341 with T = t + 273.15, worked out apart from this code
    assert float(Oil().viscosity_mm2_s(celsius)) == pytest.approx(mm2_s, rel=1.5e-3)


def test_density_falls_by_three_quarters_of_a_permille_per_kelvin() -> None:
    # about 0.07 to 0.08 % per K: Dixon, The Shock Absorber Handbook, ch. 5 (from memory)
    oil = Oil()
    assert float(oil.density_kg_m3(30.0) / oil.density_kg_m3(20.0)) == pytest.approx(1.0 / 1.0075, rel=1e-12)


@pytest.mark.parametrize(
    ("fraction", "expected_mpa"),
    [
        (0.001, (129.61, 890.03, 1240.9, 1410.3, 1480.5)),
        (0.01, (14.05, 189.98, 483.38, 914.17, 1324.0)),
        (0.05, (2.83, 41.15, 126.38, 347.0, 887.2)),
    ],
)
def test_effective_modulus_with_entrained_air(fraction: float, expected_mpa: tuple[float, ...]) -> None:
    # definition K = -V dp/dV, K_l 1.5 GPa, n 1.4, p0 1.01325 bar, evaluated apart from this code; that table leaves
    # the liquid's own shrinking out of the volume, worth 0.33 % at 50 bar
    oil = Oil(bulk_modulus_pa=1.5e9, free_gas_ratio=fraction / (1.0 - fraction))
    pressure = np.array([1.01325e5, 5e5, 1e6, 2e6, 5e6])
    assert oil.tangent_modulus_pa(pressure) / 1e6 == pytest.approx(np.array(expected_mpa), rel=4e-3)


def test_tangent_modulus_is_the_slope_of_the_volume() -> None:
    oil, pressure = Oil(free_gas_ratio=0.02), np.array([2e5, 1e6, 8e6])
    step = 1e-4 * pressure
    slope = (oil.volume_ratio(pressure + step) - oil.volume_ratio(pressure - step)) / (2.0 * step)
    assert -oil.volume_ratio(pressure) / slope == pytest.approx(oil.tangent_modulus_pa(pressure), rel=1e-6)
    assert float(oil.volume_ratio(np.array(ATMOSPHERE_PA))) == pytest.approx(1.02)
