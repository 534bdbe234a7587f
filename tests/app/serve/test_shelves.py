"""What stands beside the tests: benches, work sheets, the workshop, drawings, costs, and the book as files."""

from __future__ import annotations

import csv
import io
import re
import sqlite3
import tomllib
from datetime import date
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.app.serve.forms import form_of, sheet
from dampkit.app.serve.workers import Workers
from dampkit.store.benches import bench_state, checks_of
from dampkit.store.book import book_at
from dampkit.store.library import card_of, workshop_of
from dampkit.store.works import work_on
from tests.app.serve.desk import SAMPLES, Desk, house_in, words

PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 40
ATTACK = "\"'><script>alert(1)</script>"
RECORD = (SAMPLES / "drawing_table.csv").read_bytes() + b"# of another unit\n"
BENCH = '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n'
MASTER = """[damper]
kind = "twin-tube"
[reference]
velocity_m_s = [0.05, 0.1, 0.3, 0.6]
rebound_force_n = [180.0, 420.0, 980.0, 1400.0]
compression_force_n = [150.0, 300.0, 520.0, 700.0]
"""


def table_begun(desk: Desk) -> str:
    """A test that is quickly analysed; the address of it."""
    desk.get("/")
    record = ("records", ("drawing_table.csv", RECORD))
    answer = desk.post("/begin", {}, [record, ("records", ("damper.toml", MASTER.encode()))])
    return answer.headers["location"].removesuffix("/record")


def kept_entry(desk: Desk, **said: str) -> int:
    """A test in the book."""
    work = table_begun(desk)
    desk.get(f"{work}/verdict")
    answer = desk.post(f"{work}/keep", {"go": "keep", **said})
    return int(answer.headers["location"].rpartition("/")[2].partition("?")[0])


def with_bench(desk: Desk) -> None:
    desk.get("/card/new?kind=bench")
    desk.send("/card", {"kind": "bench", "name": "bench 1", "text": BENCH})
    desk.send("/card", {"kind": "unit-type", "name": "master", "text": MASTER})


def test_a_calibration_is_filled_in(desk: Desk) -> None:
    """Every weight, less the air that it takes the place of (steel, 8000 kg/m3, in 1.2), reads 0.2 % too much."""
    with_bench(desk)
    weights = [0.0, 20.0, 50.0, 100.0, 50.0, 20.0, 0.0]
    rows = "\n".join(f"{mass:g} {1.002 * mass * 9.80665 * (1 - 1.2 / 8000):.4f}".replace(".", ",") for mass in weights)
    said = {"calibration.on": "2024-03-01", "calibration.due": "2099-03-01", "calibration.by": "made-up fitter"}
    answer = desk.send("/bench", {"name": "bench 1", "who": "made-up fitter", **said, "calibration.force": rows})
    assert "Calibration of 2024-03-01" in words(answer)
    with book_at(desk.house.book) as book:
        state = bench_state(book, "bench 1", date.today().isoformat())
    assert state.calibrated is not None
    assert state.calibrated.force is not None
    assert state.calibrated.force.error == pytest.approx(0.2, rel=1e-3)
    assert "may be believed today" in words(desk.get("/benches"))


def test_a_table_of_a_file_is_shown_in_the_order_of_its_columns() -> None:
    text = "[[calibration.temperature]]\nread_c = 22.0\nthermometer_c = 21.4\n"
    shown = {
        field.name: field
        for section in form_of(sheet("calibration", text), "calibration").sections
        for field in section.fields
    }
    assert shown["calibration.temperature"].value == "21.4 22"
    assert shown["calibration.temperature"].row == "thermometer (degC), read (degC)"
    assert shown["calibration.temperature"].example == "21.4 22"


def test_what_is_wrong_in_a_calibration_stands_beside_its_row(desk: Desk) -> None:
    with_bench(desk)
    assert "This is needed" not in desk.get("/bench?name=bench+1").text
    said = {"calibration.on": "2024-03-01", "calibration.due": "2025-03-01", "calibration.by": "made-up fitter"}
    rows = {"calibration.force": "0 0\n20 196 3\n50 490", "calibration.travel": "0 none"}
    answer = desk.send("/bench", {"name": "bench 1", **said, **rows})
    assert answer.status_code == 422
    wrong = dict(re.findall(r'<div class="field wrong">.*?name="([^"]+)".*?class="error">(.*?)</p>', answer.text, re.S))
    assert wrong.keys() == {"calibration.force", "calibration.travel"}
    assert wrong["calibration.force"].startswith("Row 2: ")
    assert "one value for each column" in wrong["calibration.force"]
    assert "0 0\n20 196 3\n50 490</textarea>" in answer.text  # as it was typed
    with book_at(desk.house.book) as book:
        assert bench_state(book, "bench 1", "2024-06-01").calibration is None


def test_the_master_dampers_test_becomes_a_check(desk: Desk) -> None:
    """A bench that reads 2 % more than the master's record does so on average and at most."""
    with_bench(desk)
    rows = ["velocity m/s,rebound N,compression N"]
    speeds, rebound, compression = (0.05, 0.1, 0.3, 0.6), (180, 420, 980, 1400), (150, 300, 520, 700)
    rows += [f"{v},{1.02 * r:.2f},{1.02 * c:.2f}" for v, r, c in zip(speeds, rebound, compression, strict=True)]
    record = ("records", ("master.csv", "\n".join(rows).encode()))
    assert desk.send("/bench/check", {"name": "bench 1", "unit_type": "master"}).status_code == 422
    begun = desk.post("/bench/check", {"name": "bench 1", "unit_type": "master"}, [record])
    work = begun.headers["location"].removesuffix("/record")
    assert "From the card bench 1" in words(desk.get(f"{work}/record"))
    desk.send(f"{work}/unit", {"reference.velocity_m_s": "1 1.1 1.2 1.3"})
    desk.get(f"{work}/verdict")
    assert "no speed of the reference was tested" in words(desk.send(f"{work}/check", {"serial": "M-1"}))
    desk.send(f"{work}/unit/card", {"card": "master"})
    desk.get(f"{work}/verdict")
    assert "Or keep it as a check of bench 1" in words(desk.get(f"{work}/keep"))
    answer = desk.send(f"{work}/check", {"serial": "M-1", "technician": "made-up fitter", "tested_on": "2024-05-31"})
    assert "M-1 +2.0 % 2.0 % in" in words(answer)
    with book_at(desk.house.book) as book:
        (made,) = checks_of(book, "bench 1")
        assert (made.master, made.done_on, made.who) == ("M-1", "2024-05-31", "made-up fitter")
        assert made.mean_percent == pytest.approx(2.0, abs=0.01)
    assert desk.house.drafts.all() == ()  # no test of a unit is left of it


def test_a_check_without_a_reference_says_what_is_missing(desk: Desk) -> None:
    with_bench(desk)
    work = desk.begun("drawing_table.csv")
    desk.send(f"{work}/record/card", {"card": "bench 1"})
    desk.get(f"{work}/verdict")
    answer = desk.send(f"{work}/check", {"serial": "M-1"})
    assert answer.status_code == 422
    assert "has no reference" in words(answer)


def test_the_work_on_a_unit_is_written_down_and_gone_on_with(desk: Desk) -> None:
    number = kept_entry(desk, serial="A-1")
    desk.get(f"/book/{number}/work")
    first = {"work.rod_runout_mm": "0,04", "work.parts": "rod seal 12.4\nguide bush", "work.as_built.rebound.shims_mm": "18 0.15\n16 0,15"}  # fmt: skip
    answer = desk.send(f"/book/{number}/work", {**first, "who": "made-up fitter", "done_on": "2024-06-01"})
    assert "Parts: rod seal 12.4, guide bush" in words(answer)
    assert "shims 18 x 0.15, 16 x 0.15 mm" in words(answer)
    assert "rod seal 12.4\nguide bush</textarea>" in answer.text  # to go on with
    wrong = desk.send(f"/book/{number}/work", {"work.bore_mm": "wide", "work.notes": "cleaned"})
    assert wrong.status_code == 422
    assert 'value="cleaned"' in wrong.text
    desk.send(f"/book/{number}/work", {"work.bore_mm": "27.06", "who": "made-up fitter", "done_on": "2024-06-02"})
    with book_at(desk.house.book) as book:
        worked = work_on(book, number)
    assert worked is not None
    assert (worked.work.rod_runout_mm, worked.work.bore_mm, worked.done_on) == (0.04, 27.06, "2024-06-02")
    assert worked.work.as_built.rebound.shims_mm == ((18.0, 0.15), (16.0, 0.15))
    empty = kept_entry(desk, serial="A-2", even_so="1")
    assert desk.send(f"/book/{empty}/work", {"who": "made-up fitter"}).status_code == 422


def test_the_workshop_stands_at_the_head_of_what_is_printed(desk: Desk) -> None:
    desk.get("/workshop")
    assert "This is needed" in words(desk.send("/workshop", {"workshop.name": ""}))
    said = {"workshop.name": "Made-up Damper Works", "workshop.address": "1 Invented Street\nNowhere"}
    assert desk.send("/workshop", said, [("mark", ("mark.svg", b"<svg/>"))]).status_code == 422
    shown = desk.send("/workshop", said, [("mark", ("C:\\drawings\\mark.png", PNG))])
    assert "1 Invented Street" in shown.text
    moved = desk.send("/workshop", {"workshop.address": "2 Invented Street", "why": "moved"})
    assert "2 Invented Street" in moved.text
    assert "version 2" in words(moved)
    with book_at(desk.house.book) as book:
        head = workshop_of(book)
    assert head is not None
    assert head.mark is not None  # the mark stays where only the text is changed
    number = kept_entry(desk)
    assert "2 Invented Street" in desk.get(f"/book/{number}/print").text
    assert "<img" not in desk.send("/workshop", {"no_mark": "1"}).text


def test_a_drawing_is_kept_with_its_card_and_handed_out(desk: Desk) -> None:
    desk.get("/card/new?kind=unit-type")
    card = desk.send(
        "/card", {"kind": "unit-type", "name": "12-34", "text": MASTER}, [("drawings", ("valve & seat.pdf", b"%PDF"))]
    )
    (place,) = re.findall(r'href="(/card/drawing[^"]+)"', card.text)
    answer = desk.ask("GET", place.replace("&amp;", "&"))
    assert answer.content == b"%PDF"
    assert answer.headers["content-type"] == "application/octet-stream"
    assert desk.ask("GET", "/card/drawing?kind=unit-type&name=12-34&sha256=" + "0" * 64).status_code == 404


def test_costs_are_said_once_for_all_tests_and_stock_for_one(desk: Desk) -> None:
    work = desk.begun("low_oil.csv", *(f"low_oil.{kind}.toml" for kind in ("bench", "damper", "vehicle")))
    before = words(desk.get(f"{work}/verdict"))
    said = {"labour.rate_per_hour": "62", "currency": "crowns", "rebuild.hours": "1,5 2 3,5", "rebuild.parts": "48", "exchange.price": "290"}  # fmt: skip
    after = words(desk.send(f"{work}/costs", {**said, "go": "on"}))
    desk.send(
        f"{work}/stock", {"oil.stock": "Moon light (made up) 15 4,2", "bleed.drills_mm": "0.8 1 1.2", "go": "stay"}
    )
    assert "[[oil.stock]]" in desk.get(f"{work}/stock/file").text
    assert "crowns" not in before
    assert "crowns" in after
    other = desk.begun("hand_test_lever_arm.csv")
    assert 'value="62"' in desk.get(f"{other}/costs").text
    assert desk.get(f"{other}/stock/file").text == ""


def test_the_book_as_an_archive_a_table_and_a_copy(desk: Desk, tmp_path: Path, workers: Workers) -> None:
    for n in (1, 2):
        kept_entry(desk, serial=f"A-{n}", job=f"job {n}", even_so="1")
    desk.get("/exchange")
    archive = desk.copied({"as": "zip", "job": "job 2"})
    table = desk.copied({"as": "csv"}).decode("utf-8-sig")
    assert [row["serial"] for row in csv.DictReader(io.StringIO(table))] == ["A-1", "A-2"]
    copy = tmp_path / "copy.sqlite"
    copy.write_bytes(desk.copied({"as": "sqlite"}))
    with sqlite3.connect(copy) as opened:
        assert opened.execute("SELECT count(*) FROM entry").fetchone() == (2,)
    opened.close()
    assert "Every byte of the book is as it was added" in words(desk.send("/exchange/check"))
    other = Desk(house_in(tmp_path / "other", workers))
    other.get("/exchange")
    said = {"who": "made-up foreman"}
    assert "1 new, 0 here already" in words(other.send("/exchange/in", said, [("archive", ("../a b.zip", archive))]))
    assert "0 new, 1 here already" in words(other.send("/exchange/in", said, [("archive", ("a.zip", archive))]))
    assert "not a whole archive" in words(other.send("/exchange/in", said, [("archive", ("a.zip", archive[:-30]))]))
    with book_at(other.house.book) as book:
        assert book.entry(1).serial == "A-2"
        assert book.log(1) == RECORD


def test_stock_is_a_card_of_the_library_too(desk: Desk) -> None:
    """Written down once, taken by name for a test, and a file that the commands read."""
    assert "dampkit schema" not in desk.get("/card/new?kind=stock").text  # a page names no command
    shelf = "[bleed]\ndrills_mm = [0.8, 1.0, 1.2]\n"
    card = desk.send("/card", {"kind": "stock", "name": "drawer 1", "text": shelf, "who": "made-up fitter"})
    assert "version 1" in words(card)
    assert "drawer 1" in words(desk.get("/library"))
    wrong = desk.send("/card", {"kind": "stock", "name": "drawer 2", "text": "[bleed]\ndrills_mm = 'many'\n"})
    assert wrong.status_code == 422
    work = desk.begun("drawing_table.csv")
    taken = desk.send(f"{work}/stock/card", {"card": "drawer 1"})
    assert "From the card drawer 1" in words(taken)
    assert ">0.8 1 1.2</textarea>" in taken.text
    desk.send(f"{work}/stock", {"bleed.drills_mm": "0.8 1 1.2 1.5", "go": "stay"})
    assert "version 2" in words(desk.send(f"{work}/stock/library", {"name": "drawer 1", "why": "one more"}))
    assert tomllib.loads(desk.get("/card/file?kind=stock&name=drawer+1").text)["bleed"]["drills_mm"][-1] == 1.5
    assert run_command(["book", "stock", "show", "drawer 1", "--book", str(desk.house.book)]) == 0


def test_a_card_is_filled_in_field_by_field(desk: Desk) -> None:
    """A version changes what is typed and keeps the rest; what is wrong stands beside its field and nothing is kept."""
    desk.get("/card/new?kind=unit-type")
    new = {"kind": "unit-type", "name": "T-1", "of": ""}
    assert "nothing is filled in" in words(desk.send("/card", new))
    monotube = desk.send("/card", {**new, "damper.kind": "monotube", "go": "stay"})
    assert 'name="gas.pressure_bar"' in monotube.text  # a field of that kind
    assert 'name="damper.serial"' not in monotube.text  # that is of one unit
    said = {"damper.kind": "twin-tube", "damper.piston_diameter_mm": "27", "damper.rod_diameter_mm": "x"}
    wrong = desk.send("/card", {**new, **said})
    assert wrong.status_code == 422
    (link,) = re.findall(r'href="#(f-[^"]+)">', wrong.text)  # the list above leads to the field
    assert link == "f-damper-rod_diameter_mm"
    assert f'id="{link}"' in wrong.text
    assert "version 1" in words(desk.send("/card", {**new, **said, "damper.rod_diameter_mm": "12.4"}))
    later = {**new, "of": "1", "damper.rod_diameter_mm": "12.5", "why": "measured again"}
    assert "version 2" in words(desk.send("/card", later))
    with book_at(desk.house.book) as book:
        kept = tomllib.loads(card_of(book, "unit-type", "T-1").text)["damper"]
    assert kept == {"kind": "twin-tube", "piston_diameter_mm": 27.0, "rod_diameter_mm": 12.5}


def test_scripts_in_these_fields_are_shown_as_text_too(desk: Desk) -> None:
    with_bench(desk)
    number = kept_entry(desk, serial="A-1")
    work = {"work.notes": ATTACK, "work.parts": ATTACK, "work.rod_surface": ATTACK, "who": ATTACK}
    pages = [desk.send(f"/book/{number}/work", work)]
    pages.append(
        desk.send("/workshop", {"workshop.name": ATTACK, "workshop.address": ATTACK, "why": ATTACK, "who": ATTACK})
    )
    said = {"calibration.on": ATTACK, "calibration.by": ATTACK, "calibration.force": ATTACK, "who": ATTACK}
    pages.append(desk.send("/bench", {"name": "bench 1", **said}))
    pages.append(
        desk.send("/card", {"kind": "unit-type", "name": ATTACK, "text": MASTER}, [("drawings", (ATTACK, b"x"))])
    )
    pages += [desk.get(path) for path in ("/workshop", "/exchange", "/bench?name=bench+1", f"/book/{number}/print")]
    for page in pages:
        assert "<script>alert" not in page.text, page.url
        assert page.status_code in (200, 422), page.url
