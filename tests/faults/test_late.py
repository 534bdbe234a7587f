"""Air that clears: the fall of a stored travel over a few cycles, and when it is not read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import linregress, t

from dampkit.damper.valve import Valve
from dampkit.faults.diagnose import diagnose
from dampkit.faults.late import AFTER_SPEEDS, _comes_after, _fall, late_measures
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, Z95, Estimate
from tests.faults.made_unit import Made, test_of
from tests.made_loops import seen_on


@pytest.mark.parametrize("count", [3, 5, 12])
def test_a_fall_has_the_interval_of_so_few_cycles(count: int) -> None:
    """Against scipy's regression and Student's 97.5 % point."""
    values = 3.0 - 0.2 * np.arange(count) + np.random.default_rng(count).normal(0.0, 0.1, count)
    line = linregress(np.arange(count), values)
    fall, error = _fall(values)
    assert fall == pytest.approx(-line.slope * (count - 1))
    assert Z95 * error == pytest.approx(t.ppf(0.975, count - 2) * line.stderr * (count - 1))


def _clears(test: UnderTest) -> dict[str, float]:
    return {str(m.direction): m.beyond for m in diagnose(test).measures if m.key == "late_clears"}


def test_air_that_clears_is_read() -> None:
    assert _clears(test_of(Made(clears_mm={"rebound": 4.0})))["rebound"] > 0.95


def test_a_force_that_weakens_over_the_cycles_is_no_air_that_clears() -> None:
    """Each cycle of the first stages 3 % weaker than the one before, as oil that warms makes it."""
    whole = test_of(Made())
    weaker = (1.0 - 0.03 * np.arange(5.0))[:, None]
    loops = tuple(
        replace(loop, force_n=loop.force_n * weaker) if loop.stage.cycles == 5 else loop for loop in whole.curves.loops
    )
    assert max(_clears(replace(whole, measured=replace(whole.curves, loops=loops))).values(), default=0.0) < 0.5


@pytest.mark.parametrize(("delay", "grown_mm", "limit_mm"), [
    (None, 9.5, 8.0), (Estimate(1e-3, 0.6e-3, 1.4e-3), 8.5, 3.0), (Estimate(0.0, -8e-3, 8e-3), 9.5, 8.0),
])  # fmt: skip
def test_a_delay_that_is_known_is_all_that_a_channel_makes(
    delay: Estimate | None, grown_mm: float, limit_mm: float
) -> None:
    """A void of 10 mm at 1 m/s, 0.5 mm at the slowest stage; unknown, a channel may make 5 ms of travel."""
    whole = test_of(Made(grows_mm={"compression": 10.0}))
    test = replace(whole, unit=replace(whole.unit, channel_delay_s=delay))
    grows = next(m for m in diagnose(test).measures if (m.key, m.direction) == ("late_grows", "compression"))
    assert grows.value == pytest.approx(grown_mm, abs=0.5)
    assert grows.limit == pytest.approx(limit_mm)


@pytest.mark.parametrize("points", [2, 6, 12])
def test_force_after_mid_stroke_over_that_before_it(points: int) -> None:
    """A force in proportion to speed that lags by an angle d: at a speed of cos(a) it is cos(a + d) before and cos(a - d)
    after mid-stroke, so their difference over their mean is 2 tan(a) tan(d).
    """
    valve = Valve(leak=1e-3, bleed=0.0, blowoff_force=1e6, lift_rate=0.0)
    whole = test_of(
        Made(kind="monotube", rebound=valve, compression=valve, good=(valve, valve), friction_n=0.0, gas_bar=0.0)
    )
    loops = tuple(replace(loop, force_n=np.roll(loop.force_n, points, axis=1)) for loop in whole.curves.loops)
    speeds = np.linspace(*AFTER_SPEEDS, 12)
    lag = 2 * np.pi * points / loops[0].displacement_m.size
    before, after = np.cos(np.arccos(speeds) + lag).mean(), np.cos(np.arccos(speeds) - lag).mean()
    test = replace(whole, measured=replace(whole.curves, loops=loops))
    for direction in DIRECTIONS:
        read = next(m for m in _comes_after(test, direction))
        assert read.value == pytest.approx(2 * (after - before) / (after + before), rel=0.03, abs=0.002)


@pytest.mark.parametrize("void_mm", [0.0, 12.0])
def test_gas_is_no_more_than_fast_stages_leave_room_for(void_mm: float) -> None:
    """Friction taken 8 N too high makes millimetres of gas of a slow stage of 50 N over a charge, and none of a fast one."""
    weak = Valve(bleed=7.1e-3, blowoff_force=1500.0, lift_rate=1e-4)
    plain = test_of(Made(compression=weak, void_mm={"compression": void_mm}, speeds_m_s=(0.005, 0.05, 0.5)))
    taken = replace(plain.unit.taken_out, friction_n=plain.unit.friction_used_n + 8.0)
    unit = seen_on(replace(plain.unit, taken_out=taken, level_error_n=8.0), plain.curves.loops)
    test = replace(plain, unit=replace(unit, gas_force_n=Estimate(45.0, 44.0, 46.0)))  # as over a charge of 4 bar
    (late,) = [m for m in late_measures(test) if m.key == "late" and m.direction == "compression"]
    assert late.beyond > 0.95 if void_mm > 0 else late.beyond < 0.05
