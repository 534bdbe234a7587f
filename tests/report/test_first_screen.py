"""The first screen: three reasons, the picture that shows them with its mark, and a word for the owner."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest

from dampkit.app.analyse import summary
from dampkit.outcome.decision_record import Action, RequirementRecord, SpanRecord
from dampkit.outcome.result import Result
from dampkit.report import customer_words, words
from dampkit.report.fault_loop import fault_picture
from dampkit.report.faults_told import TOLD
from dampkit.report.figure_file import thumbnail
from dampkit.report.first import first_picture, for_owner, reasons
from dampkit.report.numbers import Writer
from dampkit.report.page import render
from dampkit.report.picture import Line, in_imperial
from dampkit.report.pictures import loops_picture
from dampkit.report.simplify import kept, simplified
from dampkit.report.tables import stages_table
from dampkit.store.batch_page import ORDER
from tests.report.made_up import ALL, around, late, low_oil, sound, verdict
from tests.report.side_by_side import choice


def with_spans(*spans: tuple[str, float], stage: int = 4) -> Result:
    result = low_oil()
    records = tuple(SpanRecord.model_validate({"after": after, "length_m": 1e-3 * mm}) for after, mm in spans)
    item = late(8.0).model_copy(update={"spans": records, "stage_index": stage})
    fault = result.faults[0].model_copy(update={"evidence": (item,)})
    return result.model_copy(update={"faults": (fault,)})


def test_the_first_picture_is_the_loop_of_the_fault_else_the_forces() -> None:
    fault, forces = first_picture(low_oil()), first_picture(sound())
    assert fault is not None
    assert forces is not None
    assert (fault.id, forces.id) == ("first", "force")


@pytest.mark.parametrize(
    ("spans", "ends"),
    [
        ([("compression", 8.0)], [(25.0, 17.0)]),
        ([("rebound", 8.0)], [(-25.0, -17.0)]),
        ([("compression", 8.0), ("rebound", 8.0)], [(25.0, 17.0), (-25.0, -17.0)]),
        ([("compression", 3.0), ("compression", 8.0)], [(25.0, 17.0)]),
        ([], []),
    ],
)
def test_lost_motion_is_marked_from_the_end_of_stroke_where_it_begins(
    spans: list[tuple[str, float]], ends: list[tuple[float, float]]
) -> None:
    result = with_spans(*spans)
    picture = fault_picture(result, result.faults[0], "p")
    assert picture is not None
    assert [(s.x_from, s.x_to) for s in picture.spans] == [pytest.approx(pair, abs=0.02) for pair in ends]
    assert all(span.text == "8\u00a0mm" for span in picture.spans)
    assert bool(ends) == ("Marked" in picture.alt)


def test_a_mark_of_another_stage_is_not_drawn_on_this_loop() -> None:
    result = with_spans(("compression", 8.0), stage=2)
    picture = fault_picture(result, result.faults[0], "p")
    assert picture is not None
    assert picture.spans == ()


def test_a_mark_is_never_longer_than_the_stroke() -> None:
    result = with_spans(("compression", 400.0))
    picture = fault_picture(result, result.faults[0], "p")
    assert picture is not None
    assert picture.spans[0].x_to == pytest.approx(-25.0, abs=0.05)
    assert picture.spans[0].text == "50\u00a0mm"


def test_few_stored_reasons_are_filled_up_to_three_by_what_was_measured() -> None:
    asked = RequirementRecord(
        name="friction", answer="out", probability=0.01, measured=around(80.0), limit_low=None, limit_high=55.0,
        guard_band=1.0, unit="N", basis="made up",
    )  # fmt: skip
    verdict = low_oil().verdict.model_copy(update={"reasons": ("Oil level low.",)})
    first, more = reasons(low_oil().model_copy(update={"verdict": verdict, "requirements": (asked,)}), Writer())
    assert first[0] == "Oil level low."
    assert first[1] == "Besides: 0 of 6 forces are inside the tolerance of the known-good unit; 6 outside."
    assert first[2].replace("\u00a0", " ") == "Besides: friction is 80 N, outside what is allowed (at most 55 N)."
    assert more == []


@pytest.mark.parametrize("name", list(ALL))
def test_the_owner_gets_plain_words(name: str) -> None:
    said = " ".join(for_owner(ALL[name]()))
    assert 40 < len(said) < 400
    for term in ("rebound", "compression", "blow-off", "bleed", "hysteresis", "lost motion", " N ", "m/s"):
        assert term not in said


def test_every_verdict_has_its_words_wherever_verdicts_are_listed() -> None:
    actions = set(get_args(Action))
    assert actions == set(words.VERDICTS) == set(customer_words.ANSWERS) == set(words.VERDICTS_SHOWN)
    assert set(ORDER) == {"not analysed", *actions}


def test_a_simplified_line_stays_within_its_tolerance_and_keeps_its_ends() -> None:
    x = np.linspace(0.0, 1.0, 400)
    y = np.where(x < 0.3, 0.0, np.sin(3 * x))
    keep = kept(x, y, 1e-3)
    assert keep[0]
    assert keep[-1]
    assert keep.sum() < 60
    assert float(np.abs(np.interp(x, x[keep], y[keep]) - y).max()) < 5e-3  # upright distance, on a slope up to 3
    assert kept(x, 2 * x, 1e-9).sum() == 2


def test_a_closed_loop_is_not_simplified_away() -> None:
    angle = np.linspace(0.0, 2 * np.pi, 200)
    picture = first_picture(low_oil())
    assert picture is not None
    layer = simplified(picture).layers[0]
    assert isinstance(layer, Line)
    assert layer.x.size > 20
    assert kept(np.cos(angle), np.sin(angle), 0.01).sum() > 15


def test_imperial_pictures_hold_the_same_curve_in_pounds_and_inches() -> None:
    """NIST SP 811 (2008), app. B.8: 1 lbf = 4.448222 N, 1 in = 25.4 mm exactly."""
    picture = first_picture(low_oil(), Writer(imperial=True))
    assert picture is not None
    turned = in_imperial(picture)
    before, after = picture.layers[0], turned.layers[0]
    assert isinstance(before, Line)
    assert isinstance(after, Line)
    np.testing.assert_allclose(after.x * 25.4, before.x)
    np.testing.assert_allclose(after.y * 4.448222, before.y, rtol=1e-6)
    assert turned.x_axis.text.startswith("Displacement (in)")
    assert turned.y_axis.text.startswith("Force (lbf)")
    assert turned.spans[0].text == "0.315\u00a0in"


def test_a_thumbnail_is_small_says_what_it_is_and_may_be_empty() -> None:
    for make in ALL.values():
        drawn = thumbnail(make())
        assert len(drawn) < 3000
        assert drawn == "" or "<title>" in drawn
    assert thumbnail(ALL["empty"]()) == ""


def test_a_sweep_names_the_setting_that_lies_nearest_the_middle() -> None:
    """The made-up window is centred on the middle setting, so that one is chosen."""
    best = choice().options[0]
    assert best.setting == 4.0
    assert best.inside


def test_what_a_fault_says_is_not_said_again_by_a_requirement() -> None:
    asked = RequirementRecord(
        key="warming", name="warming", answer="out", probability=0.01, measured=around(9.0), limit_low=None,
        limit_high=2.0, guard_band=1.0, unit="K", basis="made up",
    )  # fmt: skip
    result = low_oil().model_copy(update={"requirements": (asked,)})
    short = result.verdict.model_copy(update={"reasons": ("Oil level low.",)})
    assert "warming" in {item.key for item in result.faults[0].evidence}
    first, _ = reasons(result.model_copy(update={"verdict": short}), Writer())
    assert not any("warming" in line for line in first)
    other = asked.model_copy(update={"key": "friction"})
    first, _ = reasons(result.model_copy(update={"verdict": short, "requirements": (other,)}), Writer())
    assert any("warming is" in line for line in first)


def test_stages_are_counted_from_one_as_look_counts_them() -> None:
    """In the picture's legend and in the table; the result keeps its index from nought."""
    count = len(sound().run.stages)
    picture = loops_picture(sound())
    assert picture is not None
    names = [layer.name for layer in picture.layers if isinstance(layer, Line) and layer.name]
    assert [f"(stage {n + 1})" in name for n, name in enumerate(names)] == [True] * count
    assert [row[0] for row in stages_table(sound(), Writer()).rows] == [str(n + 1) for n in range(count)]


@pytest.mark.parametrize("step", ["data", "which_way_is_out"])
def test_a_fault_is_neither_sure_nor_told_to_the_owner_before_it_is_judged(step: str) -> None:
    judged, open_yet = low_oil(), low_oil().model_copy(update={"verdict": verdict("undecided", step)})
    plain = TOLD["low_oil"].plain
    assert plain in for_owner(judged)
    assert plain not in for_owner(open_yet)
    for said in (render(open_yet), repr(open_yet), "\n".join(summary(open_yet))):
        assert "not judged yet" in said.lower()
        assert "likelihood" not in said
        assert "% sure" not in said
