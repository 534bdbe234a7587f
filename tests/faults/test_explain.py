"""Joint explanation on tables small enough to be worked out by hand.

A set of causes weighs: prior, times for each measure the probability that it is as the set says it is. With one measure of
probability p and one cause that moves it, the sets are none (1 - p) and the cause (p), so its share is p.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import pytest

from dampkit.damper.declared import Kind
from dampkit.faults.causes import CAUSES, Cause
from dampkit.faults.explain import BESIDE_ANOTHER, BOTH_WAYS, DOUBT, MAY, MOST, NO_SURER, instances, likelihoods
from dampkit.quantities import Direction

ANY: tuple[Kind, ...] = ("twin-tube",)


def cause(code: str, *moves: str, **more: tuple[str, ...]) -> Cause:
    return Cause(code, ANY, moves, **more)  # type: ignore[arg-type]


def shares(causes: Sequence[Cause], **beyond: float) -> dict[str, float]:
    """Share of each code, for measures without direction."""
    asked = instances(causes)
    found = likelihoods(asked, {(key, None): p for key, p in beyond.items()})
    return {i.cause.code: found[i].of_code for i in asked}


@pytest.mark.parametrize("p", [0.02, 0.3, 0.5, 0.9, 0.99])
def test_one_measure_alone_is_as_likely_as_it_is_abnormal(p: float) -> None:
    assert shares([cause("a", "m")], m=p)["a"] == pytest.approx(p)


def test_no_measure_is_surer_than_what_no_table_holds() -> None:
    assert shares([cause("a", "m")], m=1.0)["a"] == pytest.approx(1 - DOUBT)
    assert shares([cause("a", "m")], m=0.0)["a"] == 0.0  # in no set


def test_two_that_explain_the_same_share_it_and_neither_vanishes() -> None:
    """Sets: none 0.1; a 0.9; b 0.9; both 0.05 x 0.9. Each is in 0.945 of 1.945."""
    found = shares([cause("a", "m"), cause("b", "m")], m=0.9)
    both = BESIDE_ANOTHER * 0.9
    assert found["a"] == found["b"] == pytest.approx((0.9 + both) / (0.1 + 1.8 + both))
    assert found["a"] > 0.45


def test_the_rarer_of_two_that_explain_the_same_has_the_smaller_share() -> None:
    """Sets: none 0.1; a 0.9; b 0.45; both 0.05 x 0.45."""
    rare = Cause("b", ANY, ("m",), weight=0.5)
    found = shares([cause("a", "m"), rare], m=0.9)
    total = 0.1 + 0.9 + 0.45 + 0.0225
    assert found["a"] == pytest.approx((0.9 + 0.0225) / total)
    assert found["b"] == pytest.approx((0.45 + 0.0225) / total)


def test_a_denied_measure_that_is_abnormal_rules_out() -> None:
    """n is moved by another cause. Sets: none 0.1 x 0.2; a 0.9 x 0.2; b 0.1 x 0.8; both 0.05 x 0.9 x 0.8, as b moves n."""
    causes = [cause("a", "m", denies=("n",)), cause("b", "n")]
    found = shares(causes, m=0.9, n=0.8)
    total = 0.02 + 0.18 + 0.08 + 0.036
    assert found["a"] == pytest.approx((0.18 + 0.036) / total)
    assert found["b"] == pytest.approx((0.08 + 0.036) / total)


def test_what_stands_beside_another_measure_counts_where_it_is_denied() -> None:
    """`soft` says nothing by itself. Sets of a: 0.9, and with the denial 0.9 x 0.3; none 0.1."""
    assert shares([cause("a", "m")], m=0.9, soft=0.7)["a"] == pytest.approx(0.9)
    assert shares([cause("a", "m", denies=("soft",))], m=0.9, soft=0.7)["a"] == pytest.approx(0.27 / 0.37)
    assert shares([cause("a", "m", may=("soft",))], m=0.9, soft=0.7)["a"] == pytest.approx(0.9)


def test_a_measure_that_it_may_move_counts_by_how_often_it_does() -> None:
    """Sets: none 0.1 x 0.4; a 0.9 x (1 - 0.6 + MAY x 0.6)."""
    weight = 0.9 * (0.4 + MAY * 0.6)
    assert shares([cause("a", "m", may=("n",))], m=0.9, n=0.6)["a"] == pytest.approx(weight / (weight + 0.04))


def test_what_it_may_move_it_moves_together() -> None:
    """Sets: none d^3; a (1 - d) (1 - (1 - MAY) (1 - d)), whether one is moved or two."""
    one = shares([cause("a", "m", may=("n",)), cause("b", "n")], m=1.0, n=1.0)
    two = shares([cause("a", "m", may=("n", "o")), cause("b", "n", "o")], m=1.0, n=1.0, o=1.0)
    assert one["b"] == pytest.approx(two["b"], rel=0.01)


def test_a_cause_whose_measure_is_in_doubt_does_not_take_from_one_that_shows() -> None:
    """Both account for m: a always, b now and then. Sets: none 0; a 0.6; b 0.4 MAY; both 0.05 x 0.4; of b's measure n 0.4."""
    found = shares([cause("a", "m"), cause("b", "n", may=("m",))], m=1.0, n=0.4)
    with_a, alone = 0.6 + BESIDE_ANOTHER * 0.4, 0.4 * MAY
    assert found["a"] == pytest.approx(with_a / (with_a + alone), abs=0.002)


@pytest.mark.parametrize("p", [0.01, 0.9])
def test_an_expected_measure_that_is_missing_counts_against_it_but_does_not_rule_it_out(p: float) -> None:
    """Sets: none 0.1 x (1 - p); a 0.9 x p, at least 0.9 x NO_SURER."""
    weight = 0.9 * max(p, NO_SURER)
    found = shares([cause("a", "m", expects=("n",))], m=0.9, n=p)
    assert found["a"] == pytest.approx(weight / (weight + 0.1 * (1 - p)))


@pytest.mark.parametrize("late", [0.001, 0.4, 0.999, None])
def test_gas_disturbs_a_valve_only_where_force_comes_late_to_mid_stroke(late: float | None) -> None:
    """Sets: none 0.1 x 0.2; a 0.9, the valve moved now and then if late and not moved if not; b 0.1 x 0.8; both 0.05 of it."""
    beyond: dict[tuple[str, Direction | None], float] = {("m", "rebound"): 0.9, ("n", "rebound"): 0.8}
    if late is not None:
        beyond["comes_after", "rebound"] = late
    asked = instances([cause("a", "m+", disturbs=("n+",)), cause("b", "n+")])
    share = next(s for i, s in likelihoods(asked, beyond).items() if (i.cause.code, i.direction) == ("a", "rebound"))
    is_late = 1.0 if late is None else late
    a = 0.9 * (1 - 0.8 * (1 - is_late)) * (1 - (1 - MAY) * 0.8 * is_late)
    both = BESIDE_ANOTHER * 0.9 * 0.8
    assert share.of_code == pytest.approx((a + both) / (0.02 + a + 0.08 + both))


def test_a_pair_that_explains_what_none_alone_does() -> None:
    """Both measures sure (DOUBT apart): none d^2, each alone d(1-d), both 0.05 (1-d)^2."""
    d = DOUBT
    found = shares([cause("a", "m"), cause("b", "n")], m=1.0, n=1.0)
    both = BESIDE_ANOTHER * (1 - d) ** 2
    total = d**2 + 2 * d * (1 - d) + both
    assert found["a"] == found["b"] == pytest.approx((both + d * (1 - d)) / total)
    assert found["a"] > 0.95


def test_the_shares_are_sums_over_all_sets_of_up_to_three() -> None:
    """Four causes with a measure each, worked out by listing the sets anew."""
    p = {"k": 0.9, "l": 0.6, "m": 0.3, "n": 0.7}
    weights = {}
    for count in range(MOST + 1):
        for chosen in combinations(p, count):
            weight = BESIDE_ANOTHER ** max(0, count - 1)
            for key, abnormal in p.items():
                weight *= abnormal if key in chosen else 1 - abnormal
            weights[chosen] = weight
    found = shares([cause(key.upper(), key) for key in p], **p)
    for key in p:
        wanted = sum(w for chosen, w in weights.items() if key in chosen) / sum(weights.values())
        assert found[key.upper()] == pytest.approx(wanted)


def test_variants_of_one_code_count_once() -> None:
    """Moves m, or moves n. Sets: none, either, but never both: 0.1 x 0.2; 0.9 x 0.2; 0.1 x 0.8."""
    found = shares([cause("a", "m"), cause("a", "n")], m=0.9, n=0.8)
    assert found["a"] == pytest.approx((0.18 + 0.08) / (0.02 + 0.18 + 0.08))


def both_ways(**beyond: float) -> dict[Direction | None, tuple[float, float]]:
    asked = instances([cause("a", "m+")])
    p: dict[tuple[str, Direction | None], float] = {
        ("m", "rebound"): beyond["out"],
        ("m", "compression"): beyond["back"],
    }
    found = likelihoods(asked, p)
    return {i.direction: (found[i].of_code, found[i].of_direction) for i in asked}


def test_a_cause_in_both_directions_is_one_cause() -> None:
    """Sets: none 0.1 x 0.2; out 0.9 x 0.2; back 0.1 x 0.8; both 0.5 x 0.9 x 0.8."""
    none, out, back, both = 0.02, 0.18, 0.08, BOTH_WAYS * 0.72
    total = none + out + back + both
    found = both_ways(out=0.9, back=0.8)
    assert found["rebound"] == pytest.approx(((total - none) / total, (out + both) / total))
    assert found["compression"] == pytest.approx(((total - none) / total, (back + both) / total))


def test_what_shows_in_both_directions_is_as_sure_as_in_one() -> None:
    """Late both ways, each direction's cause may move the other: the direction is open, the cause is not.

    Sets: either alone MAY, both BOTH_WAYS: a direction is in (MAY + BOTH_WAYS) / (2 MAY + BOTH_WAYS) = 0.75.
    """
    asked = instances([Cause("a", ANY, ("m+",), may=("m-",))])
    p: dict[tuple[str, Direction | None], float] = {("m", "rebound"): 0.99, ("m", "compression"): 0.99}
    found = likelihoods(asked, p)
    assert {round(found[i].of_code, 3) for i in asked} == {1.0}
    wanted = (MAY + BOTH_WAYS) / (2 * MAY + BOTH_WAYS)
    assert max(found[i].of_direction for i in asked) == pytest.approx(wanted, abs=0.01)


def test_a_cause_that_lacks_a_measure_or_whose_measure_is_normal_is_in_no_set() -> None:
    found = shares([cause("a", "m"), cause("b", "m", "absent"), cause("c", "normal")], m=0.9, normal=0.01)
    assert found == {"a": pytest.approx(0.9), "b": 0.0, "c": 0.0}


def test_the_table_names_every_measure_with_a_sign_alike() -> None:
    """A key has a direction wherever it is named, or nowhere."""
    keys = {key for c in CAUSES for key in c.moves + c.may + c.denies + c.expects}
    assert not {k for k in keys if k[-1] not in "+-"} & {k[:-1] for k in keys if k[-1] in "+-"}


@pytest.mark.parametrize(("short", "likelier"), [(0.01, "fade"), (0.99, "internal_leak")])
def test_a_leak_is_short_from_the_first_stage_on_and_fade_is_not(short: float, likelier: str) -> None:
    """By the table of causes. Forces low as a leak makes them and work lost as fade makes it: the cold stages decide.

    Fade 0.99 x 0.99 x (1 - short), and it may move the leak's measures; leak 0.99 x 0.99 x short, at least NO_SURER, and it
    may lose work, which it does MAY of the time, or does with fade beside it.
    """
    asked = instances([c for c in CAUSES if c.code in ("fade", "internal_leak")])
    p: dict[tuple[str, Direction | None], float] = {
        ("work_lost", None): 0.99, ("warming", None): 0.99, ("short_when_cold", None): short,
        ("leak_takes", "rebound"): 0.99, ("force_low", "rebound"): 0.99,
    }  # fmt: skip
    found = likelihoods(asked, p)
    of = {i.cause.code: found[i].of_code for i in asked if i.direction in (None, "rebound")}
    other = ({"fade", "internal_leak"} - {likelier}).pop()
    assert of[likelier] > 0.9
    assert of[other] < 0.2
