"""Road classes of ISO 8608 and the weighting Wk of ISO 2631-1."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import periodogram

from dampkit.needs.road import (
    bump_m,
    height_density_m2_hz,
    kerb_m,
    random_road_m,
    roughness_m3,
)
from dampkit.needs.weighting import felt_as, weighted_rms_m_s2, wk

# [iso8608] table C.1 (from memory), 1e-6 m^3 at 0.1 cycle/m: class, lower, mean, upper
CLASSES = [
    ("A", 0, 16, 32),
    ("B", 32, 64, 128),
    ("C", 128, 256, 512),
    ("D", 512, 1024, 2048),
    ("E", 2048, 4096, 8192),
    ("F", 8192, 16384, 32768),
    ("G", 32768, 65536, 131072),
    ("H", 131072, 262144, np.inf),
]
# [iso2631] table 3 (from memory, confirmed by the filters of [iso8041]): nominal frequency, 1000 x Wk
WK = [
    (0.5, 418), (0.63, 459), (0.8, 477), (1, 482), (1.25, 484), (1.6, 494), (2, 531), (2.5, 631), (3.15, 804),
    (4, 967), (5, 1039), (6.3, 1054), (8, 1036), (10, 988), (12.5, 902), (16, 768), (20, 636), (25, 513),
    (31.5, 405), (40, 314), (50, 246), (63, 186), (80, 132), (100, 88.7),
]  # fmt: skip


@pytest.mark.parametrize(("name", "low", "mean", "high"), CLASSES)
def test_road_classes(name: str, low: float, mean: float, high: float) -> None:
    assert roughness_m3(name) == pytest.approx(1e-6 * mean)
    assert 0.5 * roughness_m3(name) == pytest.approx(1e-6 * low) or name == "A"
    assert 2.0 * roughness_m3(name) == pytest.approx(1e-6 * high) or name == "H"


def test_unknown_road_class_is_refused() -> None:
    with pytest.raises(ValueError, match="'J'; expected one of A, B"):
        roughness_m3("J")


def test_class_by_velocity_density() -> None:
    """[iso8608] (from memory): Gv = (2 pi n0)^2 Gd is 6.3165e-6 m for A and does not depend on n."""
    n = np.array([0.02, 0.1, 5.0])
    density = height_density_m2_hz(20 * n, roughness_m3("A"), 20.0) * 20.0  # back to spatial
    assert (2 * np.pi * n) ** 2 * density == pytest.approx(np.full(3, 6.3165e-6), rel=1e-4)


def test_generated_road_has_the_density_of_its_class() -> None:
    """Estimated by an independent routine (scipy's periodogram), band by band."""
    step, speed = 0.001, 20.0
    road = random_road_m(20_000, step, roughness_m3("C"), speed)
    frequency, density = periodogram(road, 1 / step, detrend=False)
    n = frequency / speed
    band = (n > 0.011) & (n < 9.9)
    slope, level = np.polyfit(np.log(n[band] / 0.1), np.log(density[band] * speed), 1)
    assert slope == pytest.approx(-2.0, abs=1e-6)
    assert np.exp(level) == pytest.approx(256e-6, rel=1e-6)
    assert density[band] * speed == pytest.approx(256e-6 * (n[band] / 0.1) ** -2, rel=0.05)  # line by line


def test_roads_repeat_with_their_seed_alone() -> None:
    one, same, other = (random_road_m(1000, 0.002, 64e-6, 20.0, seed) for seed in (1, 1, 2))
    assert (one == same).all()
    assert not np.allclose(one, other)
    assert one.std() == pytest.approx(other.std(), rel=1e-9)


def test_kerb_and_bump_have_their_heights_and_ends() -> None:
    t = np.linspace(0, 1, 2001)
    kerb, bump = kerb_m(t, 0.08, 5.0), bump_m(t, 0.05, 0.5, 5.0)
    assert (kerb[0], kerb[-1], kerb.max()) == pytest.approx((0, 0.08, 0.08))
    assert (bump[0], bump[-1], bump.max()) == pytest.approx((0, 0, 0.05), abs=1e-12)
    assert (bump > 1e-9).mean() == pytest.approx(0.1, abs=0.002)  # 0.5 m at 5 m/s of one second


@pytest.mark.parametrize(("hertz", "thousandths"), WK)
def test_weighting_table(hertz: float, thousandths: float) -> None:
    assert 1000 * wk(np.array([hertz]))[0] == pytest.approx(thousandths, rel=0.02)


def test_weighted_sine() -> None:
    """A sine of 1 m/s^2 peak at 4 Hz: 0.967/sqrt 2 by the table."""
    t = np.arange(4000) * 0.001
    weighted = weighted_rms_m_s2(np.sin(2 * np.pi * 4 * t)[:, None], 0.001)
    assert weighted[0] == pytest.approx(0.967 / np.sqrt(2), rel=0.005)


@pytest.mark.parametrize(
    ("weighted", "words"), [(0.2, "not"), (0.4, "a little"), (0.7, "fairly"), (1.2, "unc"), (2.0, "very"), (3.0, "ext")]
)
def test_comfort_in_words(weighted: float, words: str) -> None:
    """[iso2631] annex C (from memory)."""
    assert felt_as(weighted).startswith(words)
