"""Sentences are made from what the result holds, in one place: rewording them changes nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import dampkit
from dampkit.faults.causes import CAUSES
from dampkit.outcome.decision_record import (
    EvidenceRecord,
    FaultRecord,
    GroundRecord,
    NotLookedForRecord,
    RestoreRecord,
    SpanRecord,
)
from dampkit.outcome.ground import FIRST
from dampkit.outcome.result import Result
from dampkit.report import fault_words
from dampkit.report.fault_loop import fault_picture
from dampkit.report.faults_told import TOLD, WITHOUT_READING, Told
from dampkit.report.first import leading_fault
from dampkit.report.numbers import Writer
from dampkit.report.sentences import put_back, worded
from tests.report.made_up import ALL, low_oil, verdict

SAMPLE_RUNS = Path(__file__).parents[2] / "sample_runs"
SAMPLES = ("low_oil", "loose_mount", "weak_blowoff", "sound_friction_disc")  # a mark, two marks, a reference, no valve
TABLES = ("MEASURES", "BASES", "NEEDS", "NEXT_TESTS", "SEEN", "GROUNDS", "STEPS")


@cache
def sample(name: str) -> Result:
    side = {kind: SAMPLE_RUNS / f"{name}.{kind}.toml" for kind in ("damper", "vehicle")}
    return dampkit.analyse(dampkit.read_run(SAMPLE_RUNS / f"{name}.csv", SAMPLE_RUNS / f"{name}.bench.toml"), **side)


def every_fault() -> Result:
    """All faults there are with all measures that they rest on, every ground, everything not looked for."""
    moved = {cause.code: [key.strip("+-") for key in cause.moves] for cause in CAUSES}
    faults = tuple(
        FaultRecord(
            code=code, level="found", likelihood=0.9, sentence="", stage_index=4, direction="rebound",
            evidence=tuple(evidence(key) for key in keys),
            figures={"measured_n": 310.0, "wanted_n": 400.0, "ratio": 1.7, "place_m": -0.011},
        )
        for code, keys in moved.items()
    )  # fmt: skip
    figures = {"velocity_m_s": 0.3, "measured_n": 622.0, "low_n": 317.0, "high_n": 429.0, "low": 0.22, "high": 0.34,
               "ratio": 0.5, "share": 0.1, "count": 6.0, "bar": 10.0, "value": 60.0, "limit": 55.0, "read_n": 610.0, "read_c": 24.0, "to_c": 20.0}  # fmt: skip
    grounds = [GroundRecord(key=key, about="fade", direction="rebound", figures=figures) for key in fault_words.GROUNDS]
    grounds += [GroundRecord(key=key, about=code) for code in moved for key in ("fault", "suspected", "not_judged_yet")]
    lacking = tuple(NotLookedForRecord(code="fade", lacks=(need,), needs="") for need in fault_words.NEEDS)
    made = verdict("rebuild", "remedy:low_oil", *grounds)
    return low_oil().model_copy(update={"faults": faults, "not_looked_for": lacking, "verdict": made})


def evidence(key: str) -> EvidenceRecord:
    return EvidenceRecord(
        key=key, measure="", value=8.02, unit="mm", limit=3.0, basis="common practice", low=7.6, high=8.4,
        direction="rebound", stage_index=4, velocity_m_s=0.3, spans=(SpanRecord(after="rebound", length_m=0.00802),),
    )  # fmt: skip


def shouted(table: dict[str, str]) -> dict[str, str]:
    """The key in capitals in place of its words."""
    return {key: key.upper() for key in table}


def told_otherwise(code: str) -> Told:
    word = code.upper()
    return Told(word, word, word, word, word, word, word)


@pytest.fixture
def other_words(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in TABLES:
        monkeypatch.setattr(fault_words, name, shouted(getattr(fault_words, name)))
    for code in TOLD:
        monkeypatch.setitem(TOLD, code, told_otherwise(code))


def texts(result: Result) -> Iterator[str]:
    """Every sentence that `worded` makes."""
    for fault in result.faults:
        yield fault.sentence
        yield from (text for item in fault.evidence for text in (item.measure, item.basis))
    yield from (n.needs for n in result.not_looked_for)
    yield from (*result.verdict.reasons, result.verdict.next_step, *result.next_tests)
    if result.next_test is not None:
        yield from (step.text for step in result.next_test.steps)


def without_sentences(result: Result) -> dict[str, Any]:
    plain = result.to_dict()
    for fault in plain["faults"]:
        del fault["sentence"]
        for item in fault["evidence"]:
            del item["measure"], item["basis"]
    for entry in plain["not_looked_for"]:
        del entry["needs"]
    del plain["verdict"]["reasons"], plain["verdict"]["next_step"], plain["next_tests"]
    for step in (plain["next_test"] or {"steps": []})["steps"]:
        del step["text"]
    return plain


MADE = {**ALL, "every fault": every_fault}


@pytest.mark.parametrize("name", [*MADE, *SAMPLES])
def test_other_words_change_sentences_and_nothing_else(name: str, request: pytest.FixtureRequest) -> None:
    usual = worded(MADE[name]() if name in MADE else sample(name))
    request.getfixturevalue("other_words")
    other = worded(usual)
    assert without_sentences(other) == without_sentences(usual)
    assert other.verdict.grounds
    assert list(texts(other)) != list(texts(usual))
    marks = [[fault_picture(r, f, "p") for f in r.faults] for r in (usual, other)]
    spans = [[p and [(s.text, s.x_from, s.x_to, s.y) for s in p.spans] for p in drawn] for drawn in marks]
    assert spans[0] == spans[1]


@pytest.mark.parametrize("name", ["low_oil", "loose_mount"])
def test_the_leading_fault_of_a_sample_run_is_marked_on_its_loop(name: str) -> None:
    """So that the comparison of marks above compares some: one end for low oil, both for play."""
    fault = leading_fault(sample(name))
    assert fault is not None
    picture = fault_picture(sample(name), fault, "p")
    assert picture is not None
    assert len(picture.spans) == (1 if name == "low_oil" else 2)


def test_every_cause_and_measure_has_its_words() -> None:
    assert {cause.code for cause in CAUSES} == set(TOLD)
    for code, told in TOLD.items():
        own = [cause for cause in CAUSES if cause.code == code]
        kinds = {kind for cause in own for kind in cause.kinds}
        assert set(told.of_kind) <= kinds
        assert set(told.instead) <= {cause.moves[0].strip("+-") for cause in own} | kinds | {WITHOUT_READING}
    keys = {key.strip("+-") for cause in CAUSES for key in cause.moves}
    assert keys <= set(fault_words.MEASURES)
    assert {need for cause in CAUSES for need in cause.needs} <= set(fault_words.NEEDS)


def test_no_sentence_keeps_a_brace_or_an_empty_figure() -> None:
    for said in texts(worded(every_fault())):
        assert "{" not in said
        assert "  " not in said
        assert said == said.strip()


def test_speeds_of_a_reference_that_were_not_run_are_said_once_a_direction() -> None:
    untested = [
        GroundRecord(key="reference_untested", direction=way, figures={"velocity_m_s": v})
        for way, speeds in (("rebound", (0.05, 0.1, 0.3)), ("compression", (0.3,)))
        for v in speeds
    ]
    said = worded(low_oil().model_copy(update={"verdict": verdict("retest", "cover", *untested)})).verdict.reasons
    assert [text.replace("\u00a0", " ") for text in said] == [
        "Rebound was not tested at 3 speeds of its reference, 0.05 m/s to 0.3 m/s.",
        "Compression was not tested at 0.3 m/s of its reference.",
    ]


def test_a_leak_is_not_said_to_be_all_there_is_beside_other_parts_of_its_valve() -> None:
    leak, spring = (
        RestoreRecord(direction="rebound", part=part, now=1.0, good=good, unit=unit)
        for part, good, unit in (("leak", 1e-3, "m/s per N"), ("spring", 3.7, "times"))
    )
    alone, both = (
        put_back(low_oil().model_copy(update={"restore": parts, "oil": None}), Writer())
        for parts in ((leak,), (leak, spring))
    )
    assert "change no bleed or spring" in alone[0]
    assert not any("change no bleed or spring" in said for said in both)
    assert "3.7 times the rate" in both[1]


@pytest.mark.parametrize(("good", "cleaned"), [(1.6, True), (0.7, False)])
def test_a_bleed_is_cleaned_only_where_that_can_help(good: float, cleaned: bool) -> None:
    """Cleaning makes a passage wider, never narrower."""
    part = RestoreRecord(direction="rebound", part="bleed", now=1.0, good=good, unit="mm2", hole_mm=1.2)
    (said,) = put_back(low_oil().model_copy(update={"restore": (part,), "oil": None}), Writer())
    assert ("Clean or renew it" in said) == cleaned
    assert "enew it to that; drill nothing" in said


@pytest.mark.parametrize(("step", "said"), [("remedy:low_oil", True), *((step, False) for step in FIRST)])
def test_nothing_is_put_back_before_the_data_are_put_right(step: str, said: bool) -> None:
    part = RestoreRecord(direction="rebound", part="leak", now=1.0, good=1e-3, unit="m/s per N")
    changed = {"restore": (part,), "verdict": verdict("undecided", step)}
    assert bool(put_back(low_oil().model_copy(update=changed), Writer())) == said


def test_imperial_sentences_are_made_from_the_values_again() -> None:
    """8.02 mm is said as 8 mm; NIST SP 811 (2008), app. B.8: 1 in = 25.4 mm exactly, so 0.315 in."""
    made = worded(low_oil(), Writer(imperial=True))
    assert "8\u00a0mm [0.315 in] of lost motion" in made.faults[0].sentence
    assert "[0.315 in]" in made.verdict.reasons[0]
    assert worded(made).to_dict() == low_oil().to_dict()


def test_sentences_of_a_result_stored_without_grounds_stay_as_they_are() -> None:
    old = low_oil()
    item = old.faults[0].evidence[0].model_copy(update={"key": "", "measure": "as stored"})
    fault = old.faults[0].model_copy(update={"evidence": (item,), "sentence": "As it was stored"})
    plain = old.verdict.model_copy(update={"grounds": (), "reasons": ("As it was stored.",)})
    old = old.model_copy(update={"faults": (fault,), "verdict": plain})
    again = worded(old, Writer(imperial=True))
    assert again.faults[0].sentence == "As it was stored"
    assert again.verdict.reasons == ("As it was stored.",)


@pytest.mark.parametrize("room", ["report", "outcome", "store"])
def test_no_pattern_of_a_later_room_reads_numbers_out_of_text(room: str) -> None:
    """Numbers reach these rooms as numbers; a pattern for digits would read them out of a sentence."""
    files = list((Path(dampkit.__file__).parent / room).rglob("*.py"))
    assert len(files) > 5
    assert [file.name for file in files if r"\d" in file.read_text(encoding="utf-8")] == []
