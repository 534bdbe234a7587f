"""Units against NIST SP 811 (2008), appendix B.8: factors that are exact by definition. Values from memory."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.bench.units import FACTORS, Kind, kinds_with_unit, to_si, unit_named

SP_811: list[tuple[Kind, str, float]] = [
    ("force", "lbf", 4.4482216152605),
    ("force", "kgf", 9.80665),
    ("force", "kN", 1000.0),
    ("force", "daN", 10.0),
    ("displacement", "in", 0.0254),
    ("displacement", "mm", 0.001),
    ("velocity", "in/s", 0.0254),
    ("time", "min", 60.0),
    ("time", "ms", 0.001),
]


@pytest.mark.parametrize(("kind", "unit", "factor"), SP_811)
def test_factors(kind: Kind, unit: str, factor: float) -> None:
    assert FACTORS[kind][unit] == pytest.approx(factor, rel=1e-14)


@pytest.mark.parametrize(
    ("unit", "value", "celsius"), [("degF", 212.0, 100.0), ("degF", -40.0, -40.0), ("K", 273.15, 0.0)]
)
def test_temperatures(unit: str, value: float, celsius: float) -> None:
    """Fixed points of the scales as SP 811 relates them: t/degC = (t/degF - 32)/1.8 = T/K - 273.15."""
    assert to_si(np.array([value]), unit, "temperature")[0] == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "unit"),
    [
        ("[lbs]", "force", "lbf"),
        ("kp", "force", "kgf"),
        ("inches", "displacement", "in"),
        ("mm/sec", "velocity", "mm/s"),
        ("m s-1", "velocity", "m/s"),
        ("°C", "temperature", "degC"),
        ("deg F", "temperature", "degF"),
        ("sec.", "time", "s"),
    ],
)
def test_ways_to_write_a_unit(text: str, kind: Kind, unit: str) -> None:
    assert unit_named(text, kind) == unit


def test_a_unit_of_another_kind_is_none() -> None:
    assert unit_named("mm", "force") is None
    assert unit_named("stone", "force") is None


def test_a_lone_letter_proves_nothing() -> None:
    assert kinds_with_unit("C", bracketed=False) == {}
    assert kinds_with_unit("C") == {"temperature": "degC"}
