"""Calibration arithmetic against published definitions and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import linregress

from dampkit.quantities import GRAVITY_M_S2
from dampkit.store.bench_record import Calibration, Flex, Force, Travel, Warmth
from dampkit.store.calibration import CLASSES, calibrated, weight_n


def sheet(reads: list[tuple[float, float]], **more: object) -> Calibration:
    force = tuple(Force(mass_kg=m, read_n=n) for m, n in reads)
    return Calibration(on="2025-03-01", due="2026-03-01", by="made-up fitter", force=force, **more)  # type: ignore[arg-type]


def hung(
    share: float, zero: float = 0.0, masses: tuple[float, ...] = (5.0, 10.0, 20.0, 50.0)
) -> list[tuple[float, float]]:
    """Readings of a cell that is off by a share, its zero by some newtons."""
    return [(0.0, zero)] + [(m, zero + weight_n(m, GRAVITY_M_S2) * (1.0 + share)) for m in masses]


def test_a_weight_in_air() -> None:
    """10 kg of steel in air weigh 98.0518 N: ISO 376 / ASTM E74, F = m g (1 - d/D) with d 1.2, D 8000 kg/m3 (from memory)."""
    assert weight_n(10.0, GRAVITY_M_S2) == pytest.approx(98.0518, abs=1e-4)


def test_classes_are_those_of_the_standard() -> None:
    """ISO 7500-1, table 2: relative error, repeatability, zero error in percent (from memory)."""
    assert CLASSES == {"0.5": (0.5, 0.5, 0.05), "1": (1.0, 1.0, 0.1), "2": (2.0, 2.0, 0.2), "3": (3.0, 3.0, 0.3)}


@pytest.mark.parametrize(
    ("share", "name", "passed"), [(0.002, "0.5", True), (0.008, "1", True), (-0.015, "2", False), (0.05, None, False)]
)
def test_a_cell_that_is_off_in_proportion(share: float, name: str | None, passed: bool) -> None:
    found = calibrated(sheet(hung(share, zero=2.0)))
    assert found.force.error == pytest.approx(100 * abs(share), rel=1e-9)
    assert (found.force_class, found.force.passed, found.zero_n) == (name, passed, 2.0)
    # by hand: twice the root of (error squared + half of 0.05 % squared)
    assert found.force.uncertainty == pytest.approx(2 * np.hypot(100 * share, 0.025), rel=1e-9)


def test_readings_that_do_not_repeat_cost_the_class() -> None:
    reads = [*hung(0.0), (20.0, weight_n(20.0, GRAVITY_M_S2) * 1.008)]
    found = calibrated(sheet(reads))
    assert found.repeatability_percent == pytest.approx(0.8, rel=1e-6)
    assert found.force_class == "1"


def test_travel_temperature_and_flex() -> None:
    travel = tuple(Travel(gauge_mm=x, read_mm=x * 1.002 + 7.0) for x in (0.0, 25.0, 50.0))
    warmth = (Warmth(thermometer_c=20.0, read_c=21.0), Warmth(thermometer_c=60.0, read_c=64.0))
    pulls = [(500.0, 0.084), (1000.0, 0.167), (2000.0, 0.335)]
    flex = tuple(Flex(force_n=f, travel_mm=x) for f, x in pulls)
    found = calibrated(sheet(hung(0.0), travel=travel, temperature=warmth, flex=flex))
    assert found.travel is not None
    assert found.travel.error == pytest.approx(0.1)
    assert found.temperature is not None
    assert found.temperature.error == pytest.approx(4.0)
    assert not found.temperature.passed
    assert found.stiffness_n_mm == pytest.approx(linregress([x for _, x in pulls], [f for f, _ in pulls]).slope)
    assert not found.passed


def test_what_was_not_held_against_anything_is_not_established() -> None:
    found = calibrated(sheet(hung(0.0)))
    assert (found.travel, found.temperature, found.stiffness_n_mm) == (None, None, None)


@pytest.mark.parametrize("change", [{"due": "2025-03-01"}, {"on": "1.3.2025"}, {"force": ()}])
def test_an_unusable_sheet_is_refused(change: dict[str, object]) -> None:
    whole = {"on": "2025-03-01", "due": "2026-03-01", "by": "x", "force": sheet(hung(0.0)).force}
    with pytest.raises(ValueError, match=r"expected|at least"):
        Calibration(**{**whole, **change})  # type: ignore[arg-type]
