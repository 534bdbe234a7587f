"""Expected cost and break-even against sums done by hand; all prices are invented."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.toml_file import load_toml
from dampkit.errors import BadSettings
from dampkit.outcome.costs import CostSpec
from dampkit.outcome.course_costs import difference, expected_cost, flips, inputs, weigh
from dampkit.outcome.inspection import InspectionSpec, read_sheet
from dampkit.outcome.money import choose
from dampkit.outcome.verdict import Ground, Verdict

PLAIN = {
    "currency": "crowns",
    "labour": {"rate_per_hour": 50.0},
    "rebuild": {"hours": 2.0, "parts": 30.0, "comeback_probability": 0.1, "fails_probability": 0.2},
    "new": {"price": 200.0, "hours": 0.5},
}
REBUILD = Verdict("rebuild", (Ground("fault", "low_oil"),), "remedy:low_oil")


def spec(**changed: object) -> CostSpec:
    return CostSpec.model_validate({**PLAIN, **changed})


def test_expected_cost_by_hand() -> None:
    """Rebuild: outlay 2 x 50 + 30 = 130; comes back in 0.8 x 0.1, done again: 10.4; impossible in 0.2: 225. Sum 185.4."""
    costs = {w.course: w.expected.value for w in weigh(spec())}
    assert costs["new"] == pytest.approx(225.0)
    assert costs["rebuild"] == pytest.approx(130 + 0.8 * 0.1 * 130 + 0.2 * 225)


def test_three_points_are_a_beta_mean_and_deviation() -> None:
    """(low + 4 likely + high) / 6 and (high - low) / 6: Malcolm et al. 1959, from memory."""
    made = spec(new={"price": [120.0, 150.0, 240.0]})
    found = next(w for w in weigh(made) if w.course == "new")
    assert found.expected.value == pytest.approx(160.0)
    assert found.expected.half_width == pytest.approx(1.96 * 20.0, rel=1e-3)


def test_break_even_makes_both_courses_cost_the_same() -> None:
    made = spec()
    means = {name: p.mean for name, p in inputs(made).items()}
    found = flips("rebuild", "new", made)
    assert found
    for flip in found:
        at = {**means, flip.name: flip.breaks_even}
        gap = expected_cost("rebuild", at, made) - expected_cost("new", at, made)
        assert gap == pytest.approx(0.0, abs=1e-6), flip.name


def test_break_even_price_by_hand() -> None:
    """New at price p costs p + 25, rebuild 140.4 + 0.2 (p + 25): equal at p = 150.5."""
    flip = next(f for f in flips("rebuild", "new", spec()) if f.name == "new.price")
    assert flip.breaks_even == pytest.approx(150.5)


def test_the_interval_of_a_difference_agrees_with_drawing() -> None:
    made = spec(
        labour={"rate_per_hour": [40.0, 50.0, 66.0]}, rebuild={"hours": [1.0, 2.0, 3.0], "parts": [20.0, 30.0, 50.0]}
    )
    rng = np.random.default_rng(3)
    points = inputs(made)
    drawn = []
    for _ in range(4000):
        at = {n: rng.normal(p.mean, p.deviation) for n, p in points.items()}
        drawn.append(expected_cost("rebuild", at, made) - expected_cost("new", at, made))
    found = difference("rebuild", "new", made)
    assert found.value == pytest.approx(np.mean(drawn), abs=1.0)
    assert found.half_width == pytest.approx(1.96 * np.std(drawn), rel=0.06)


def test_money_turns_a_rebuild_into_a_replacement_only_beyond_doubt() -> None:
    cheap = choose(REBUILD, spec(new={"price": 60.0}), None)
    assert cheap.verdict.action == "replace"
    assert cheap.courses is not None
    assert cheap.courses.chosen == "new"
    close = choose(REBUILD, spec(new={"price": [60.0, 150.0, 240.0]}), None)
    assert close.verdict.action == "rebuild"
    assert close.courses is not None
    assert "Too close to call" in close.courses.reasons[1]


def test_structure_closes_a_rebuild_whatever_it_costs() -> None:
    seen = read_sheet(InspectionSpec.model_validate({"inspection": {"body": "cracked"}}))
    made = choose(
        Verdict("replace", (Ground("seen", "body: cracked"),), "out_of_use"), spec(new={"price": 9000.0}), seen
    )
    assert made.verdict.action == "replace"
    assert made.courses is not None
    shut = {c.course: c.ruled_out for c in made.courses.courses}
    assert shut["rebuild"] is not None
    assert "cracked" in shut["rebuild"]
    assert made.courses.chosen == "new"


def test_a_course_without_a_table_is_not_weighed() -> None:
    """Only a new unit is priced: that is no reason to throw away one that a rebuild would mend."""
    made = choose(REBUILD, CostSpec.model_validate({k: v for k, v in PLAIN.items() if k != "rebuild"}), None)
    assert made.verdict == REBUILD
    assert made.courses is not None
    assert made.courses.chosen is None
    assert "no table for rebuilding" in made.courses.reasons[0]


def test_without_parts_there_is_no_rebuild() -> None:
    seen = read_sheet(InspectionSpec.model_validate({"inspection": {"parts_available": False}}))
    assert choose(REBUILD, None, seen).verdict.action == "replace"


@pytest.mark.parametrize("action", ["fit", "retest"])
def test_money_says_nothing_where_there_is_nothing_to_choose(action: str) -> None:
    made = choose(Verdict(action, (Ground("no_fault"),), "fit"), spec(), None)  # type: ignore[arg-type]
    assert made.courses is None
    assert made.verdict.action == action


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[rebuild]\nhours = 2.0\n", "labour"),
        ("[labour]\nrate_per_hour = [50.0, 40.0, 60.0]\n", "rate_per_hour"),
        ("[labour]\nrate_per_hour = 50.0\n[new]\ncomeback_probability = 1.5\n", "comeback_probability"),
        ("[labour]\nrate_per_hour = 50.0\n[scrap]\nprice = 1.0\n", "scrap"),
    ],
)
def test_a_wrong_cost_file_is_refused_clearly(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "costs.toml"
    path.write_text(text)
    with pytest.raises(BadSettings, match=words):
        load_toml(path, CostSpec)


ROD = read_sheet(
    InspectionSpec.model_validate({"inspection": {"rod_pitting": "in seal travel", "rod_renewable": True}})
)


@pytest.mark.parametrize(
    ("tables", "action", "chosen"),
    [
        (
            {"rechrome": {"hours": 2.0, "machining": 40.0}, "new_rod": {"hours": 2.0, "parts": 90.0}},
            "rebuild",
            "rechrome",
        ),
        (
            {"rechrome": {"hours": 2.0, "machining": 190.0}, "new_rod": {"hours": 2.0, "parts": 30.0}},
            "rebuild",
            "new_rod",
        ),
        ({"rechrome": {"hours": 2.0, "machining": 500.0}}, "replace", "new"),
        ({}, "rebuild", None),
    ],
)
def test_a_pitted_rod_is_rechromed_renewed_or_replaced_by_what_it_costs(
    tables: dict[str, object], action: str, chosen: str | None
) -> None:
    """At 50 an hour: 140 and 190, 290 and 130, 600, against 225 for a new unit; a plain rebuild does not cure the rod."""
    verdict = Verdict("rebuild", (Ground("seen", "rod_pitting: in seal travel"),), "renew:rod")
    made = choose(verdict, spec(**tables), ROD)
    assert made.verdict.action == action
    assert made.courses is not None
    assert made.courses.chosen == chosen
    closed = {c.course: c.ruled_out for c in made.courses.courses}
    assert closed["rebuild"] is not None
    if chosen is None:
        assert "no table" in made.courses.reasons[0]
