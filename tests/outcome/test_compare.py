"""Units side by side, with differences that are known by construction."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import numpy as np
import pytest

from dampkit.damper.declared import Damper, DamperSpec
from dampkit.damper.unit import Reading, Side
from dampkit.damper.warmth import brought_to
from dampkit.errors import BadSettings
from dampkit.expected.known_good import damper_toml, known_good
from dampkit.expected.reference import against_reference
from dampkit.outcome.change.aim import Aim
from dampkit.outcome.choice import options, sweep
from dampkit.outcome.compare import Tested as OneRun
from dampkit.outcome.compare import against_others, differences, matched, well_matched, which_to_change
from dampkit.quantities import Array
from tests.outcome.made import damper_fit, shifted, straight_side

GOOD = damper_fit()
SPEEDS = (0.1, 0.3, 0.6, 1.0)


def test_equal_units_match() -> None:
    found = differences(GOOD, GOOD, SPEEDS)
    assert matched(found) == "in"
    assert not any(d.significant for d in found)


def test_a_small_sure_difference_is_real_but_does_not_matter() -> None:
    """5 % apart with 1 % doubt: seen, and within the allowance. The two questions are kept apart."""
    found = [d for d in differences(GOOD, shifted(GOOD, 1.05), SPEEDS) if d.direction == "rebound"]
    assert all(d.significant and d.answer == "in" for d in found if d.velocity_m_s > 0.1)


def test_a_large_difference_matters() -> None:
    found = differences(GOOD, shifted(GOOD, 0.7), SPEEDS)
    assert matched(found) == "out"
    at_half = next(d for d in found if d.velocity_m_s == 0.6 and d.direction == "rebound")
    assert at_half.gap_n.value == pytest.approx(0.3 * 1200)  # 2000 N s/m x 0.6 m/s, 30 % less


def test_a_doubtful_difference_is_not_established() -> None:
    unsure = replace(GOOD, rebound=straight_side("rebound", 2300.0, spread=0.3))
    assert matched(differences(GOOD, unsure, SPEEDS)) == "not established"


def test_nothing_in_common_is_not_matched() -> None:
    nothing = replace(GOOD, rebound=Side("rebound"), compression=Side("compression"))
    assert matched(differences(GOOD, nothing, SPEEDS)) == "not established"


def test_the_top_speed_that_both_reached_is_compared_whatever_speeds_are_usual() -> None:
    """37 % apart at 0.9 m/s and alike below: no list of usual speeds holds 0.9."""
    v = np.array([0.05, 0.1, 0.3, 0.6, 0.9])
    weak = replace(
        straight_side("rebound", 2000.0, top_m_s=0.9), reading=_read(v, np.array([1.0, 1.0, 1.0, 1.0, 0.63]))
    )
    good = replace(straight_side("rebound", 2000.0, top_m_s=0.9), reading=_read(v, np.ones(5)))
    found = differences(replace(GOOD, rebound=good), replace(GOOD, rebound=weak), ())
    assert matched(found) == "out"
    assert [d.velocity_m_s for d in found if d.answer == "out"] == [0.9]


def test_small_forces_may_differ_by_what_a_hand_does_not_feel() -> None:
    """A quarter apart, but 20 N at most: within the 25 N that a window of a tenth has at least, and a good match."""
    soft = [
        replace(GOOD, rebound=straight_side("rebound", f), compression=straight_side("compression", f))
        for f in (80.0, 60.0)
    ]
    found = differences(soft[0], soft[1], SPEEDS)
    assert max(abs(d.gap_percent) for d in found) > 15.0
    assert matched(found) == "in"
    assert well_matched(found)


def _read(v: Array, share: Array) -> Reading:
    force = share * 2000.0 * v + 20.0
    return Reading(v, force, 0.99 * force, 1.01 * force, (0, 1, 2, 3, 4))


def test_a_pair_may_differ_by_a_tenth_and_not_by_an_eighth() -> None:
    """10 % of the mean, the tighter practice: common practice, no source."""
    answers = [matched(differences(GOOD, shifted(GOOD, f), SPEEDS)) for f in (0.95, 0.875)]
    assert answers == ["in", "out"]
    assert well_matched(differences(GOOD, shifted(GOOD, 0.97), SPEEDS))
    assert not well_matched(differences(GOOD, shifted(GOOD, 0.92), SPEEDS))


def test_a_cold_unit_is_brought_to_the_warm_ones_temperature_and_doubted_where_no_probe_was_on() -> None:
    """A clearance's force goes with viscosity ([merritt1967] ch. 3): the same unit, run 20 K warmer, reads less by that."""
    warmer = brought_to(GOOD, 40.0)
    assert warmer.rebound.reading is not None
    assert warmer.rebound.reading.force_n[-1] < 0.8 * GOOD.rebound.reading.force_n[-1]  # type: ignore[union-attr]
    at_top = [d for d in differences(GOOD, warmer, ()) if d.velocity_m_s == 1.0]
    assert all(abs(d.gap_percent) < 1 for d in at_top)
    unknown = replace(GOOD, temperature_c=None)
    assert matched(differences(GOOD, unknown, SPEEDS)) == "not established"


def test_no_match_on_a_fit_that_did_not_settle_or_on_bad_data() -> None:
    assert GOOD.rebound.law is not None
    loose = replace(GOOD, rebound=replace(GOOD.rebound, law=replace(GOOD.rebound.law, converged=False)))
    assert matched(differences(GOOD, loose, SPEEDS)) == "not established"
    assert matched(differences(GOOD, GOOD, SPEEDS), bad_data=True) == "not established"


def test_which_unit_to_change() -> None:
    other = shifted(GOOD, 0.7)
    found = differences(GOOD, other, SPEEDS)
    near, far = OneRun("left", GOOD, "fit", 0.2), OneRun("right", other, "adjust", 2.0)
    assert "Change right" in which_to_change(near, far, found)
    assert "Change right" in which_to_change(OneRun("left", GOOD, "retest"), OneRun("right", other, "rebuild"), found)
    assert "not known which is right" in which_to_change(
        OneRun("left", GOOD, "retest"), OneRun("right", other, "retest"), found
    )
    assert "right is the weaker" in which_to_change(
        OneRun("left", GOOD, "retest"), OneRun("right", other, "retest"), found
    )


def test_the_odd_one_of_a_batch_stands_out() -> None:
    batch = [GOOD, shifted(GOOD, 1.02), shifted(GOOD, 0.98), shifted(GOOD, 0.6)]
    answers = [matched(against_others(batch, i, SPEEDS, 15.0)) for i in range(4)]
    assert answers == ["in", "in", "in", "out"]


def test_reference_from_known_good_units() -> None:
    """Mean and k s by hand; what is written is read back as a damper file with that window."""
    units = [shifted(GOOD, f) for f in (0.97, 0.99, 1.0, 1.01, 1.03)]
    found = known_good(units, (0.3, 1.0))
    forces = np.array([2000 * f * 0.3 + 20 for f in (0.97, 0.99, 1.0, 1.01, 1.03)])
    assert found.mean_n["rebound"][0] == pytest.approx(forces.mean())
    assert found.tolerance_n("rebound")[0] == pytest.approx(5.077 * forces.std(ddof=1), rel=1e-3)  # ISO 16269-6, n = 5
    text = damper_toml(found, Damper(kind="monotube", serial="A-1"))
    spec = DamperSpec.model_validate(tomllib.loads(text))
    assert spec.damper.serial is None
    points = against_reference(GOOD, spec)
    assert points is not None
    window = next(p for p in points if p.direction == "rebound" and p.velocity_m_s == 0.3)
    assert window.high_n - window.wanted_n == pytest.approx(found.tolerance_n("rebound")[0], abs=0.06)


def test_a_reference_written_into_a_damper_file_leaves_the_rest_of_it() -> None:
    found = known_good([shifted(GOOD, f) for f in (0.97, 1.0, 1.03)], (0.3, 1.0))
    mine = (
        '# rear, blue estate\n[damper]\nserial = "A-1"\nkind = "monotube"  # stamped on it\n[reference]\n# of 1998\n'
        "velocity_m_s = [0.1]\nrebound_force_n = [1.0]\ncompression_force_n = [1.0]\n[gas]\npressure_bar = 25.0\n"
    )
    once = damper_toml(found, Damper(kind="monotube"), mine)
    assert once.startswith('# rear, blue estate\n[damper]\nkind = "monotube"  # stamped on it\n')
    assert "of 1998" not in once
    assert "pressure_bar = 25.0" in once
    assert "From 3 known-good units" in once
    again = damper_toml(found, Damper(kind="monotube"), once)
    assert tomllib.loads(again) == tomllib.loads(once)
    assert again.count("known-good units") == 1


def test_one_unit_is_no_reference() -> None:
    with pytest.raises(BadSettings, match="at least two"):
        known_good([GOOD])


def test_a_sweep_finds_the_setting_in_between() -> None:
    """Force straight in the setting: 0 gives 0.5, 10 gives 1.5 of the good unit; 5 is wanted."""
    fits = [damper_fit() for _ in range(2)]
    fits = [
        replace(f, rebound=straight_side("rebound", 2000.0 * s), compression=straight_side("compression", 1000.0 * s))
        for f, s in zip(fits, (0.5, 1.5), strict=True)
    ]
    v = np.array([0.3, 1.0])
    wanted = 2000 * v + 20
    aim = Aim("rebound", v, wanted, 0.85 * wanted, 1.15 * wanted, centred=True)
    best = options(sweep((0.0, 10.0), fits), [aim], 1.0, 0.3)
    assert best[0].setting == 5.0
    assert best[0].inside
    assert best[0].damping_n_s_m is not None
    assert best[0].damping_n_s_m.value == pytest.approx(
        1500 + 4 * 20 / (np.pi * 0.3), rel=0.01
    )  # viscous mean plus Coulomb


def test_a_setting_that_was_run_is_known_and_one_far_outside_suits_no_one() -> None:
    """Force straight in the setting: 0 gives 0.5, 10 gives 0.8 of what is wanted, so none comes inside 15 %."""
    sides = [(straight_side("rebound", 2000.0 * s), straight_side("compression", 1000.0 * s)) for s in (0.5, 0.8)]
    fits = [replace(damper_fit(), rebound=r, compression=c) for r, c in sides]
    v = np.array([0.3, 1.0])
    wanted = 2000 * v + 20
    aim = Aim("rebound", v, wanted, 0.85 * wanted, 1.15 * wanted, centred=True)
    best = options(sweep((0.0, 10.0), fits), [aim], 1.0, 0.3)[0]
    assert (best.setting, best.logged, best.inside) == (10.0, True, False)
    assert best.plain == pytest.approx(0.2 * 2000 / (0.15 * 2020), rel=0.02)  # at 1 m/s: a fifth off, 15 % allowed


@pytest.mark.parametrize("given", [(1.0,), (2.0, 2.0)])
def test_a_sweep_needs_two_settings(given: tuple[float, ...]) -> None:
    with pytest.raises(BadSettings, match="two settings"):
        sweep(given, [GOOD] * len(given))
