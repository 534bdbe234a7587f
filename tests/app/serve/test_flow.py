"""From a record to an entry of the book by plain forms, as a browser without scripts sends them."""

from __future__ import annotations

import io
import json
import re
import time
import tomllib
from concurrent.futures import Future
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

import dampkit
from dampkit.app.serve.house import Begun
from dampkit.app.serve.judged import judge
from dampkit.app.serve.run import seen
from dampkit.app.serve.the_book import open_jobs
from dampkit.app.serve.watch import STILL_S, Watched
from dampkit.app.serve.workers import Workers
from dampkit.errors import CannotAnalyse
from dampkit.store.book import book_at
from dampkit.store.record import Entry
from tests.app.serve.desk import SAMPLES, Desk, house_in, words

PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 40  # what begins as a PNG; nothing here draws it
TABLE = ("drawing_table.csv", "drawing_table.damper.toml", "drawing_table.vehicle.toml")  # quick to analyse
LOW_OIL = ("low_oil.csv", "low_oil.bench.toml", "low_oil.damper.toml", "low_oil.vehicle.toml")


def test_what_is_kept_is_what_the_analysis_gives(desk: Desk) -> None:
    """The stored result, records and settings are those of the same files without any page."""
    work = desk.begun(*LOW_OIL)
    assert "Rebuild" in words(desk.get(f"{work}/verdict"))
    said = {"job": "blue estate, rear", "customer": "customer 77", "technician": "made-up fitter", "note": "one\ntwo"}
    answer = desk.send(
        f"{work}/keep",
        {**said, "tested_on": "2024-05-31", "tested_at": "14:05", "go": "keep"},
        [("photos", ("seal.png", PNG))],
    )
    assert "Entry 1" in words(answer)
    declared = {kind: SAMPLES / f"low_oil.{kind}.toml" for kind in ("bench", "damper", "vehicle")}
    alone = dampkit.analyse(
        dampkit.read_test([SAMPLES / "low_oil.csv"], declared["bench"]), declared["damper"], declared["vehicle"]
    )
    with book_at(desk.house.book) as book:
        assert book.result(1) == alone.to_dict()
        assert book.log(1) == (SAMPLES / "low_oil.csv").read_bytes()
        assert book.settings(1).damper == declared["damper"].read_text(encoding="utf-8")
        standing = book.standing(1)
        assert [note.text for note in book.notes(1)] == ["one\ntwo"]
        assert [book.content(photo.sha256) for photo in book.photos(1)] == [PNG]
    assert alone.damper.serial is not None
    assert standing == {"serial": alone.damper.serial, "job": "blue estate, rear", "tested_on": "2024-05-31",
                        "tested_at": "14:05", "customer": "customer 77", "technician": "made-up fitter"}  # fmt: skip


def test_sent_twice_it_is_one_entry(desk: Desk) -> None:
    work = desk.begun(*TABLE)
    desk.get(f"{work}/verdict")
    for _ in range(2):
        assert "Entry 1" in words(desk.send(f"{work}/keep", {"go": "keep"}))
    with book_at(desk.house.book) as book, pytest.raises(dampkit.BadSettings):
        book.entry(2)


def test_stopped_before_it_was_said_it_is_kept_once(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """The book had it all when the server went, and the browser had no answer: what is sent again adds nothing."""
    work = desk.begun(*TABLE)
    desk.get(f"{work}/verdict")
    said = {"go": "keep", "note": "one"}

    def stopped(*_: object) -> None:
        raise RuntimeError("no power")

    with monkeypatch.context() as patched:
        patched.setattr(desk.house.feed, "tell", stopped)
        change = desk.house.drafts.change
        patched.setattr(
            desk.house.drafts,
            "change",
            lambda of, how: stopped() if how(desk.house.drafts.get(of)).entry else change(of, how),
        )
        assert desk.send(f"{work}/keep", said, [("photos", ("seal.png", PNG))]).status_code == 500
    with book_at(desk.house.book) as book:
        assert len(book.notes(1)) == 1
    assert "Entry 1" in words(desk.send(f"{work}/keep", said, [("photos", ("seal.png", PNG))]))
    with book_at(desk.house.book) as book:
        assert [note.text for note in book.notes(1)] == ["one"]
        assert len(book.photos(1)) == 1


def test_what_failed_outside_the_record_can_be_tried_again(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    work = desk.begun(*TABLE)

    def failing(*_: object) -> Future[dict[str, Any]]:
        future: Future[dict[str, Any]] = Future()
        future.set_exception(CannotAnalyse("the analysis", "it took more than 180 seconds", "a record", "wait"))
        return future

    with monkeypatch.context() as patched:
        patched.setattr(desk.house.workers, "begin", failing)
        assert "took more than" in words(desk.get(f"{work}/verdict"))
    answer = desk.get(f"{work}/verdict")
    assert "took more than" in words(answer)
    assert 'href="?again=1"' in answer.text
    assert 'id="verdict"' in desk.get(f"{work}/verdict?again=1").text


def test_what_the_bench_writes_is_analysed_before_anybody_asks(desk: Desk, tmp_path: Path) -> None:
    logs, now = tmp_path / "logs", [0.0]
    logs.mkdir()
    watched = Watched(logs, desk.house.drafts, lambda number: seen(desk.house, number), lambda: now[0])
    (logs / "run.csv").write_bytes((SAMPLES / "drawing_table.csv").read_bytes())
    watched.look()
    now[0] += STILL_S
    watched.look()
    (draft,) = desk.house.drafts.all()
    under_way = [one.work for one in desk.house.begun.values()]
    assert under_way or desk.house.heard_of(draft)
    for work in under_way:
        work.result()
    while not desk.house.heard_of(draft).endswith("."):
        time.sleep(0.01)
    assert "Ready: 16 points found. Verdict: undecided." in words(desk.get("/"))
    desk.send(f"/draft/{draft.id}/unit", {"damper.serial": "A-1"})
    assert "Verdict: undecided" not in words(desk.get("/"))  # it is of what was declared before


def test_a_page_that_waits_says_how_long(desk: Desk) -> None:
    work = desk.begun("drawing_table.csv")
    desk.get(f"{work}/verdict")
    (draft,) = desk.house.drafts.all()
    assert desk.house.progress(draft, "verdict", judge) is None  # it is done
    usual_s = desk.house.workers.usual_s(judge)
    assert usual_s is not None
    waiting: Future[dict[str, Any]] = Future()
    desk.house.begun[f"{draft.id}/verdict/x"] = Begun(waiting, time.monotonic(), 2)
    found = desk.house.progress(draft, "verdict", judge)
    assert found is not None
    assert found[1] == 3 * usual_s  # of one process, with two before it


def test_the_same_record_for_another_unit_is_asked_about(desk: Desk) -> None:
    for serial in ("A-1", "A-2"):
        work = desk.begun("drawing_table.csv")
        desk.get(f"{work}/verdict")
        answer = desk.send(f"{work}/keep", {"go": "keep", "serial": serial})
    assert answer.status_code == 422
    assert "Entry 1 of unit A-1 is this very record" in words(answer)
    assert "Entry 2" in words(desk.send(f"{work}/keep", {"go": "keep", "serial": "A-2", "even_so": "1"}))


@pytest.mark.parametrize(
    ("way", "signs"), [("as drawn", ("tension", "extension")), ("the other way", ("compression", "compression"))]
)
def test_the_answers_become_the_bench_file(desk: Desk, way: str, signs: tuple[str, str]) -> None:
    """The sample's own bench file says which way is right; the question offers it, and the other one."""
    work = desk.begun("low_oil.csv")
    asked = desk.get(f"{work}/record")
    assert re.findall(r"<legend>(.*?)</legend>", asked.text) == [
        "Which way is out?",
        "What does the cell read with nothing fitted?",
    ]
    assert "Not ready" not in words(asked)
    after = desk.send(f"{work}/record", {"way": way, "zero.force_n": "-0,5"})
    assert "<legend>" not in after.text
    bench = tomllib.loads(desk.get(f"{work}/record/file").text)
    assert bench == {
        "signs": {"force_positive": signs[0], "displacement_positive": signs[1]},
        "zero": {"force_n": -0.5},
    }
    if way == "as drawn":
        own = tomllib.loads((SAMPLES / "low_oil.bench.toml").read_text(encoding="utf-8"))
        assert own["signs"]["force_positive"] == signs[0]
        assert own["signs"]["displacement_positive"] == signs[1]


def test_a_record_without_units_asks_for_them(desk: Desk) -> None:
    text = (SAMPLES / "low_oil.csv").read_text(encoding="utf-8")
    bare = "\n".join(["time,displacement,force,temperature", *text.splitlines()[1:]])
    desk.get("/")
    answer = desk.send("/begin", {}, [("records", ("bare.csv", bare.encode()))])
    assert "In which units are the columns?" in words(answer)
    (draft,) = desk.house.drafts.all()
    found = desk.send(f"/draft/{draft.id}/record", {"units.time": "s", "units.displacement": "mm", "units.force": "N"})
    assert "Ready: 8 stages found" in words(found)


def test_a_record_with_strange_headings_asks_which_column_is_which(desk: Desk) -> None:
    text = (SAMPLES / "low_oil.csv").read_text(encoding="utf-8")
    strange = "\n".join(["aa,bb,cc,dd", *text.splitlines()[1:]])
    desk.get("/")
    answer = desk.send("/begin", {}, [("records", ("strange.csv", strange.encode()))])
    assert "Which column is which?" in words(answer)
    assert "column 3: cc" in words(answer)
    (draft,) = desk.house.drafts.all()
    chosen = {"columns.time": "column 1", "columns.displacement": "column 2", "columns.force": "column 3"}
    assert "In which units are the columns?" in words(desk.send(f"/draft/{draft.id}/record", chosen))
    units = {"units.time": "s", "units.displacement": "mm", "units.force": "N"}
    assert "Ready: 8 stages found" in words(desk.send(f"/draft/{draft.id}/record", units))


def _as_spreadsheet(name: str) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    for line in (SAMPLES / name).read_text(encoding="utf-8").splitlines()[1:]:
        book.active.append([float(cell) if cell[:1].isdigit() else cell for cell in line.split(",")])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "found"), [("packed.csv.gz", "5 stages"), ("rows.json", "5 stages"), ("table.xlsx", "16 points")]
)
def test_packed_text_json_and_spreadsheets_are_records_too(desk: Desk, name: str, found: str) -> None:
    content = _as_spreadsheet("drawing_table.csv") if name.endswith("xlsx") else (SAMPLES / name).read_bytes()
    desk.get("/")
    assert f"Ready: {found} found" in words(desk.send("/begin", {}, [("records", (name, content))]))


def test_a_pasted_table_is_a_record(desk: Desk) -> None:
    desk.get("/")
    answer = desk.send("/begin", {"pasted": (SAMPLES / "drawing_table.csv").read_text(encoding="utf-8")})
    assert "pasted.txt" in words(answer)
    assert "points found" in words(answer)


def test_several_records_are_one_test_and_one_can_be_left_out(desk: Desk) -> None:
    names = [f"loop_{n}.csv" for n in range(1, 6)]
    work = desk.begun(*names, "loop.bench.toml")
    assert "Ready: 5 stages found" in words(desk.get(f"{work}/record"))
    (draft,) = desk.house.drafts.all()
    after = desk.send(f"{work}/leave-out", {"sha256": draft.records[2].sha256})
    assert "Ready: 4 stages found" in words(after)


def test_nothing_is_lost_where_the_server_is_started_again(desk: Desk, workers: Workers, tmp_path: Path) -> None:
    """Even what cannot be used yet is shown again as it was typed."""
    work = desk.begun("drawing_table.csv")
    desk.send(f"{work}/unit", {"damper.serial": "A-7", "damper.rod_diameter_mm": "about 12", "go": "on"})
    desk.get(f"{work}/verdict")
    desk.send(f"{work}/keep", {"job": "grey coupe", "go": "later"})
    again = Desk(house_in(tmp_path, workers))
    assert "drawing_table.csv" in words(again.get("/"))
    unit = again.get(f"{work}/unit").text
    assert 'value="A-7"' in unit
    assert 'value="about 12"' in unit
    again.send(f"{work}/unit", {"damper.rod_diameter_mm": "12.4", "go": "on"})
    again.get(f"{work}/verdict")
    assert 'value="grey coupe"' in again.get(f"{work}/keep").text


def test_what_is_wrong_stands_beside_its_field(desk: Desk) -> None:
    work = desk.begun("low_oil.csv")
    answer = desk.send(
        f"{work}/unit", {"damper.piston_diameter_mm": "27 about", "reference.velocity_m_s": "0.1 0.3", "go": "on"}
    )
    fields = dict(
        re.findall(r'<div class="field wrong">.*?name="([^"]+)".*?class="error">(.*?)</p>', answer.text, re.S)
    )
    assert "expected a number" in fields["damper.piston_diameter_mm"]
    assert fields["reference.rebound_force_n"] == "This is needed."
    assert "damper.rod_diameter_mm" not in fields


def test_a_card_of_the_library_is_taken_and_named_in_the_entry(desk: Desk) -> None:
    work = desk.begun(*TABLE)
    kept = desk.send(f"{work}/unit/library", {"name": "12-34", "why": "as measured"})
    assert "From the card 12-34" in words(kept)
    other = desk.begun("hand_test_lever_arm.csv")
    taken = desk.send(f"{other}/unit/card", {"card": "12-34"})
    assert "From the card 12-34" in words(taken)
    card = tomllib.loads(desk.get(f"{other}/unit/file").text)
    assert "serial" not in card["damper"]  # of one unit, not of its type
    assert card["damper"]["kind"] == "twin-tube"
    desk.get(f"{other}/verdict")
    desk.send(f"{other}/keep", {"go": "keep", "serial": "B-9"})
    with book_at(desk.house.book) as book:
        assert book.standing(1)["unit_type"] == "12-34"


def test_the_book_its_units_and_figures_are_found_again(desk: Desk) -> None:
    assert "The book is empty" in words(desk.get("/book"))
    work = desk.begun(*TABLE)
    desk.get(f"{work}/verdict")
    desk.send(f"{work}/keep", {"go": "keep", "job": "blue estate"})
    assert "HM-201" in words(desk.get("/book?words=estate"))
    assert "Open jobs" in words(desk.get("/book"))
    assert "Near it: blue estate" in words(desk.get("/book?words=blue+estatte"))
    assert "Unit HM-201: 1 test" in words(desk.get("/unit?serial=HM-201"))
    figures = words(desk.get("/figures"))
    assert "All units: 1 test" in figures
    assert "<h" not in figures  # no tag is shown as text
    assert desk.get("/book/1/record/0").content == (SAMPLES / "drawing_table.csv").read_bytes()
    noted = desk.send("/book/1/beside", {"note": "new seal", "who": "made-up fitter"}, [("photos", ("a.png", PNG))])
    assert "made-up fitter: new seal" in words(noted)
    desk.send("/book/1/sign", {"who": "made-up foreman", "note": "serial read again"})
    assert "made-up foreman on" in words(desk.get("/book/1"))
    assert "Your damper" in words(desk.get("/book/1/print"))
    right = desk.send("/book/1/put-right", {"customer": "customer 78", "why": "misread", "who": "made-up foreman"})
    assert "customer customer 78; misread" in words(right)
    with book_at(desk.house.book) as book:
        assert book.standing(1)["customer"] == "customer 78"
    about = json.loads(desk.get("/book/1/result").text)["about"]
    assert (about["customer"], about["job"], about["checked_by"]) == ("customer 78", "blue estate", "made-up foreman")


def test_a_bench_and_its_record(desk: Desk) -> None:
    desk.get("/card/new?kind=bench")
    card = desk.send("/card", {"kind": "bench", "name": "bench 1", "text": '[signs]\nforce_positive = "tension"\n'})
    assert "version 1" in words(card)
    assert "not established: no calibration of bench 1 is on record" in words(desk.get("/benches"))
    wrong = desk.send("/bench", {"name": "bench 1"}, [("file", ("calibration.toml", b"[calibration]\n"))])
    assert wrong.status_code == 422
    assert "calibration of bench 1:1, [calibration] on" in words(wrong)
    assert "[[calibration.force]] and below it, with your own values, mass_kg = 20.0, read_n = 196.3" in words(wrong)


def test_a_job_is_open_until_its_last_test_is_fit() -> None:
    def entry(number: int, job: str | None, serial: str, action: str) -> Entry:
        rest: dict[str, Any] = {f.name: None for f in fields(Entry)}
        return Entry(**{**rest, "id": number, "job": job, "serial": serial, "action": action})

    latest_first = [
        entry(5, "blue", "A-1", "fit"), entry(4, "blue", "A-2", "adjust"), entry(3, None, "A-3", "rebuild"),
        entry(2, "blue", "A-1", "rebuild"), entry(1, "grey", "A-1", "retest"),
    ]  # fmt: skip
    assert [one.id for one in open_jobs(latest_first)] == [4, 1]


def test_the_next_test_is_a_file_to_follow(desk: Desk) -> None:
    work = desk.begun(*TABLE)
    desk.get(f"{work}/verdict")
    answer = desk.get(f"{work}/next-test/txt")
    assert answer.headers["content-disposition"] == 'attachment; filename="next_test.txt"'
    assert answer.text.startswith("NEXT TEST")
