"""A strut's side load: statics of its rod, and which friction it may have under it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from dampkit.bench.run import Run
from dampkit.damper.declared import DamperSpec
from dampkit.damper.declared_checks import declared_checks
from dampkit.damper.side_load import Strut, strut_notes
from dampkit.faults.friction import friction_limit
from dampkit.virtual.plant import SideLoad


@pytest.mark.parametrize(("a", "b"), [(90.0, 190.0), (50.0, 50.0), (10.0, 400.0)])
def test_guide_and_piston_hold_the_rod_in_balance(a: float, b: float) -> None:
    """Independent route: forces and moments of the free body are nothing."""
    strut = Strut(side_load_n=600.0, load_to_guide_mm=a, guide_to_piston_mm=b)
    assert strut.carried_n is not None
    guide, piston = strut.carried_n
    assert 600.0 - guide + piston == pytest.approx(0.0, abs=1e-9)
    assert 600.0 * (a + b) - guide * b == pytest.approx(0.0, abs=1e-6)  # about the piston


def test_where_it_presses_must_be_told_to_share_it_out() -> None:
    assert Strut(side_load_n=600.0).carried_n is None


def test_the_made_up_strut_rubs_of_what_guide_and_piston_carry() -> None:
    side = SideLoad(600.0, to_guide_m=0.09, guide_to_piston_m=0.19, coefficient=0.05)
    carried = Strut(side_load_n=600.0, load_to_guide_mm=90.0, guide_to_piston_mm=190.0).carried_n
    assert carried is not None
    assert float(side.friction_n(0.0)) == pytest.approx(0.05 * sum(carried))
    assert side.friction_n(0.02) > side.friction_n(-0.02)  # further out the piston is nearer to the guide


def limit(strut: dict[str, float] | None, **damper: Any) -> tuple[float, str] | None:
    spec: dict[str, Any] = {"damper": {"kind": "twin-tube", "duty": "strut", **damper}}
    return friction_limit(DamperSpec.model_validate(spec if strut is None else {**spec, "strut": strut}))


@pytest.mark.parametrize(
    ("side_load_n", "wanted"),
    [
        (None, (150.0, "published")),  # not told: what is published for the largest
        (0.0, (55.0, "published")),
        (100.0, (150.0, "published")),
        (300.0, (150.0, "published")),
        (1200.0, (150.0, "published")),
        (1500.0, None),
    ],
)
def test_the_limit_is_the_published_one_for_its_side_load(
    side_load_n: float | None, wanted: tuple[float, str] | None
) -> None:
    """[qct491], from a reprint: 55 N pulled straight, 150 N under 300 to 1200 N. Beyond, none is known."""
    assert limit(None if side_load_n is None else {"side_load_n": side_load_n}) == wanted


def test_a_declared_limit_wins() -> None:
    assert limit({"side_load_n": 1500.0}, friction_limit_n=200.0) == (200.0, "declared")


def test_what_the_side_load_leaves_open_is_said() -> None:
    codes = [[q.code for q in strut_notes(duty, strut)] for duty, strut in
             (("car", None), ("strut", None), ("strut", Strut(side_load_n=0.0)), ("strut", Strut(side_load_n=500.0)))]  # fmt: skip
    assert codes == [[], ["side_load_not_told"], ["no_side_load"], []]


@pytest.mark.parametrize(
    ("kind", "posture", "codes"),
    [
        ("twin-tube", "upright", []),
        ("twin-tube", "inverted", ["posture_in_car"]),
        ("twin-tube", "lying", ["posture_in_car"]),
        ("monotube", "inverted", []),
    ],
)
def test_a_twin_tube_that_does_not_stand_upright_in_the_car_is_said(kind: str, posture: str, codes: list[str]) -> None:
    """It draws air from its reserve however full it is; a free piston keeps a monotube's gas out of its oil."""
    spec = DamperSpec.model_validate({"damper": {"kind": kind}, "oil": {"vehicle_posture": posture}})
    rows = np.arange(4.0)
    assert [q.code for q in declared_checks(Run("made up", "0" * 64, 4, rows, rows, rows), spec)] == codes
