"""Oil temperature from work and from a late probe, against the closed forms of an energy balance."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.declared import DamperSpec
from dampkit.damper.heat import BODY_J_K, COOLING_W_K, OilHeat, oil_heat
from dampkit.quantities import Array, read_only

SECONDS, RATE_HZ, SPEED_M_S, FORCE_N = 60.0, 200.0, 0.5, 200.0  # a triangle: steady power of 100 W
POWER_W = SPEED_M_S * FORCE_N


def heat_of(probe_c: Array | None, capacity_j_k: float | None = None) -> OilHeat:
    """Of a minute of steady power, as one stage."""
    t = np.arange(0.0, SECONDS, 1 / RATE_HZ)
    way = np.where(np.floor(t * 5.0) % 2 == 0, 1.0, -1.0)
    x = np.concatenate([[0.0], np.cumsum(way[1:] * SPEED_M_S / RATE_HZ)])
    run = Run("made", "0" * 64, t.size, read_only(t), read_only(x), read_only(way * FORCE_N),
              temperature_c=None if probe_c is None else read_only(probe_c))  # fmt: skip
    stage = Stage(0, 0, t.size, 2.5, 150, 0.1)
    loop = Loop(stage, x[:80], way[:80], np.zeros(80), np.ones((1, 80)), 1)
    spec = DamperSpec.model_validate({"damper": {} if capacity_j_k is None else {"heat_capacity_j_k": capacity_j_k}})
    found = oil_heat(Curves(run, (loop,)), spec)
    assert found is not None
    return found


def rise_k(capacity_j_k: float, cooling_w_k: float, at_s: Array | float = SECONDS) -> Array:
    """Of a body that takes up steady power and loses heat in proportion to its rise: first-order approach."""
    return np.asarray(POWER_W / cooling_w_k * -np.expm1(-cooling_w_k / capacity_j_k * np.asarray(at_s)))


def test_without_a_probe_the_interval_holds_every_usual_body() -> None:
    heat = heat_of(None)
    value, error = heat.rise(0.0, SECONDS)
    least, most = (float(rise_k(c, k)) for c, k in zip(reversed(BODY_J_K), (1.5, 1.5), strict=True))
    assert value - 1.96 * error < least < value < most < value + 1.96 * error
    assert not heat.measured
    assert heat.at(0.0) == pytest.approx((20.0, 5.0))


def test_a_declared_heat_capacity_narrows_it() -> None:
    value, error = heat_of(None, 500.0).rise(0.0, SECONDS)
    mean = np.mean([rise_k(500.0, k) for k in COOLING_W_K])
    assert value == pytest.approx(float(mean), rel=0.03)  # 1/C of a spread C is a little more than 1 over its mean
    assert error < 0.15 * value
    assert error < 0.7 * heat_of(None).rise(0.0, SECONDS)[1]


def test_a_probe_that_follows_at_once_is_the_oil() -> None:
    t = np.arange(0.0, SECONDS, 1 / RATE_HZ)
    true = 22.0 + rise_k(500.0, 1.5, t)
    heat = heat_of(true)
    for at in (20.0, 40.0, 59.0):
        value, error = heat.at(at)
        assert value == pytest.approx(22.0 + float(rise_k(500.0, 1.5, at)), abs=0.5)
        assert error < 1.0


@pytest.mark.parametrize("lag_s", [8.0, 16.0])
def test_what_a_late_probe_lags_behind_is_added(lag_s: float) -> None:
    """First-order lag behind a straight rise: behind by lag times rate, once settled."""
    t = np.arange(0.0, SECONDS, 1 / RATE_HZ)
    rate = POWER_W / 500.0
    probe = 22.0 + rate * (t - lag_s * -np.expm1(-t / lag_s))
    value, error = heat_of(probe).at(59.0)
    assert abs(value - (22.0 + 59.0 * rate)) < 1.96 * error
    assert value > float(np.interp(59.0, t, probe)) + 0.4 * lag_s * rate


def test_a_declared_capacity_tells_the_lag_better() -> None:
    t = np.arange(0.0, SECONDS, 1 / RATE_HZ)
    probe = 22.0 + 0.2 * (t - 16.0 * -np.expm1(-t / 16.0))
    value, error = heat_of(probe, 500.0).at(59.0)
    assert value == pytest.approx(22.0 + 0.2 * 59.0, abs=1.0)
    assert error <= heat_of(probe).at(59.0)[1]
