"""Control charts against published constants and a published example."""

from __future__ import annotations

import numpy as np
import pytest

from dampkit.store.control_chart import D2, D3, D4, LEAST, RUN, TO_LIMIT, chart

# Flow rates and limits of the example in the NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2
# "Individuals Control Charts" (from memory, checked by its own arithmetic: 50.81 +- 3 x 1.8778 / 1.128).
FLOW = np.array([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])


def test_constants_for_two_values_are_those_of_the_tables() -> None:
    """d2 1.128, d3 0.853, D4 3.267, 3/d2 2.660 for n = 2: ASTM MNL 7, table of factors (from memory)."""
    assert (round(D2, 3), round(D3, 3), round(D4, 3)) == (1.128, 0.853, 3.267)
    assert round(TO_LIMIT, 2) == 2.66  # tables print 2.660 because they divide by the rounded d2


def test_the_mean_range_of_two_normal_values_is_d2() -> None:
    """By another route: a large sample."""
    pairs = np.random.default_rng(7).normal(size=(400_000, 2))
    ranges = np.abs(pairs[:, 0] - pairs[:, 1])
    assert ranges.mean() == pytest.approx(D2, rel=0.005)
    assert ranges.std() == pytest.approx(D3, rel=0.005)


def test_the_handbook_example() -> None:
    found = chart(FLOW)
    assert found is not None
    assert found.middle == pytest.approx(50.81, abs=0.005)
    assert found.high == pytest.approx(55.8041, abs=0.002)
    assert found.low == pytest.approx(45.8159, abs=0.002)
    assert found.steady


def test_a_value_far_out_a_jump_and_a_long_run_are_seen() -> None:
    steady = np.tile([10.0, 10.4, 9.6, 10.2, 9.8], 4)
    far = chart(np.append(steady, 13.0))
    assert far is not None
    assert far.out == (20,)
    assert far.jumps == (20,)
    drifted = chart(np.append(steady - 0.25, np.tile([10.6, 10.3], 5)))
    assert drifted is not None
    assert drifted.runs
    assert min(drifted.runs) >= RUN - 1


def test_few_values_or_all_the_same_have_no_limits() -> None:
    assert chart(FLOW[: LEAST - 1]) is None
    assert chart(np.full(20, 3.0)) is None
