"""The ride figures of one made-up unit hang together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dampkit.needs.ride import Road
from dampkit.needs.ride_check import FORCE_SHARES, RATE_SHARES, ride_check
from tests.needs.made import SALOON
from tests.outcome.made import damper_fit, valve_fit


def test_the_unit_itself_is_one_point_of_the_trade_off() -> None:
    check = ride_check(damper_fit(), SALOON, Road("A", 15.0))
    assert check is not None
    own = RATE_SHARES.index(1.0), FORCE_SHARES.index(1.0)
    assert check.trade.weighted_acceleration_m_s2[own] == pytest.approx(check.weighted_acceleration_m_s2, rel=0.01)
    assert check.trade.tyre_load_variation_ratio[own] == pytest.approx(check.tyre_load_variation_ratio, rel=0.01)
    assert check.within_test
    assert check.felt == "not uncomfortable"


def test_a_slow_bench_run_does_not_cover_the_road() -> None:
    slow = replace(damper_fit(), rebound=valve_fit(2000.0, top_m_s=0.05))
    check = ride_check(slow, SALOON, Road("C", 20.0))
    assert check is not None
    assert not check.within_test


def test_no_fit_no_ride() -> None:
    assert ride_check(replace(damper_fit(), rebound=None), SALOON) is None
