"""The page at the bench in a real browser: the whole way by keyboard, two browsers at once, and what everyone can read."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from dampkit.store.book import book_at
from tests.app.serve.desk import SAMPLES, Tablet
from tests.app.serve.test_shelves import kept_entry, table_begun, with_bench
from tests.app.serve.test_side_by_side import table
from tests.report.browsing import Visit, broken_rules

pytestmark = pytest.mark.slow

PATIENCE_MS = 90_000.0  # for an analysis on a busy machine; no check passes or fails by it
SIZES = ((390, 844), (820, 1180), (1280, 800), (1920, 1080))
TARGET_PX = 44.0
TO_TOUCH = "button, .button, .to-tick, .option span, .pages a, .steps a, summary, select, textarea, input:not([type=hidden], [type=radio], [type=checkbox])"
PRESSES = 400  # of the tabulator, at most, to come to anything on a page


@dataclass
class Running:
    """A server as a person starts it, its book and the folder that it watches."""

    address: str
    book: Path
    watched: Path


@contextmanager
def started(place: Path, port: int = 0) -> Iterator[tuple[Running, subprocess.Popen[str]]]:
    book, watched = place / "book.sqlite", place / "logs"
    watched.mkdir(exist_ok=True)
    words = ["serve", "--port", str(port), "--no-browser", "--book", str(book), "--watch", str(watched)]
    process = subprocess.Popen([sys.executable, "-m", "dampkit", *words], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    try:
        yield Running(process.stdout.readline().strip().rstrip("/"), book, watched), process
    finally:
        process.terminate()
        process.communicate()


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with started(tmp_path_factory.mktemp("serve")) as (server, _):
        yield server


@dataclass
class Seen:
    page: Any
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def tab_to(self, selector: str) -> None:
        """With the keyboard alone."""
        for _ in range(PRESSES):
            self.page.keyboard.press("Tab")
            if self.page.evaluate("what => document.activeElement.matches(what)", selector):
                return
        raise AssertionError(f"the tabulator never came to {selector}")

    def press(self, selector: str, key: str = "Enter") -> None:
        self.tab_to(selector)
        self.page.keyboard.press(key)

    def type(self, selector: str, text: str) -> None:
        self.tab_to(selector)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def is_good(self, axe: str) -> None:
        """Nothing too wide, too small to touch, or against the guidelines, in light and dark; nothing complained of."""
        self.page.wait_for_load_state()
        assert self.said == []
        for width, height in SIZES:
            self.page.set_viewport_size({"width": width, "height": height})
            assert self.page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (self.page.url, width)
        small = self.page.evaluate(
            "([what, least]) => [...document.querySelectorAll(what)].filter(e => e.checkVisibility()"
            " && e.getBoundingClientRect().height < least - 0.5 && !e.closest('figure')).map(e => e.outerHTML.slice(0, 120))",
            [TO_TOUCH, TARGET_PX],
        )
        assert small == [], self.page.url
        self.page.evaluate("scrollTo(0, document.body.scrollHeight)")  # where the bar of a form lies over no field
        assert broken_rules(Visit(self.page), axe) == []
        self.page.emulate_media(color_scheme="light")
        self.page.set_viewport_size({"width": 1280, "height": 800})
        self.page.reload()
        self.said.clear()  # axe itself tries styles that the page's policy refuses


@contextmanager
def seen_by(browser: Any, **how: Any) -> Iterator[Seen]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, **how)
    context.set_default_timeout(PATIENCE_MS)
    seen = Seen(context.new_page())
    seen.page.on("console", lambda message: seen.said.append(message.text) if message.type == "error" else None)
    seen.page.on("pageerror", lambda error: seen.said.append(str(error)))
    seen.page.on("request", lambda request: seen.asked.append(request.url))
    try:
        yield seen
    finally:
        context.close()


def test_from_a_record_to_the_book_by_keyboard(browser: Any, axe: str, running: Running) -> None:
    with seen_by(browser) as seen:
        page = seen.page
        page.goto(running.address)
        seen.is_good(axe)
        page.set_input_files(
            "#records", [SAMPLES / f"low_oil.{part}" for part in ("csv", "damper.toml", "vehicle.toml")]
        )
        seen.press("#begin-form > button")
        page.wait_for_selector("fieldset.question")
        seen.is_good(axe)
        page.reload()
        seen.tab_to("input[name=way]")  # the answer that stands; the arrows change it
        page.keyboard.press("ArrowDown")
        assert page.is_checked("input[value='as drawn']")
        seen.type("input[name='zero.force_n']", "0")
        page.keyboard.press("Enter")
        page.wait_for_selector(".answer:text-is('Ready: 8 stages found.')")
        assert page.locator("fieldset.question").count() == 0
        seen.press("a[href$='/unit']:not(nav a)")
        page.wait_for_url("**/unit")
        seen.type("[name='damper.rod_diameter_mm']", "x")
        page.keyboard.press("Enter")
        page.wait_for_selector(".error")
        seen.is_good(axe)
        page.reload()
        assert page.input_value("[name='damper.rod_diameter_mm']") == "x"
        seen.type("[name='damper.rod_diameter_mm']", "14")
        page.keyboard.press("Enter")
        page.wait_for_url("**/car")
        seen.is_good(axe)
        seen.press("button[value=on]")
        page.wait_for_url("**/inspection")
        seen.is_good(axe)
        seen.press("button[value=on]")
        page.wait_for_selector("#verdict")
        assert "Rebuild" in page.inner_text("#verdict")
        seen.is_good(axe)
        page.reload()
        seen.press("button.zoom")
        page.wait_for_selector(".js-plotly-plot .main-svg")
        seen.said.clear()  # the plot library asks for three inline styles, is refused, and draws without them
        seen.press("a[href$='/keep']:not(nav a)")
        page.wait_for_url("**/keep")
        seen.type("[name=job]", "blue estate, rear")
        seen.type("[name=technician]", "made-up fitter")
        page.locator("#photos").set_input_files(
            {"name": "seal.png", "mimeType": "image/png", "buffer": page.screenshot()}
        )
        seen.press("button[value=later]")
        page.wait_for_selector(".photos img")
        page.reload()
        assert page.input_value("[name=job]") == "blue estate, rear"
        assert page.evaluate("document.querySelector('.photos img').decode().then(() => true)")
        seen.is_good(axe)
        seen.press("button[value=keep]")
        page.wait_for_url("**/book/*")
        page.wait_for_selector("#verdict")
        seen.is_good(axe)
        number = int(page.url.rpartition("/")[2])
        assert all(url.startswith((running.address, "data:", "blob:")) for url in seen.asked)
    with book_at(running.book) as book:
        assert book.entry(number).action == "rebuild"
        assert book.standing(number)["technician"] == "made-up fitter"
        assert len(book.photos(number)) == 1


def test_the_book_and_the_library_can_be_read_by_everyone(browser: Any, axe: str, running: Running) -> None:
    with seen_by(browser) as seen:
        for path in (
            "/book",
            "/book?words=nothing",
            "/library",
            "/card/new?kind=unit-type",
            "/card/new?kind=stock",
            "/benches",
            "/figures",
            "/draft/none/record",
        ):
            seen.page.goto(running.address + path)
            seen.said[:] = [text for text in seen.said if "404" not in text]  # the browser's own word on the last
            seen.is_good(axe)


def test_what_stands_beside_the_tests_can_be_read_by_everyone(browser: Any, axe: str, running: Running) -> None:
    """Bench, work sheet, workshop, costs, stock, drawings, copies: filled in, empty, and with something wrong."""
    with Tablet(running.address) as tablet:
        with_bench(tablet)
        number = kept_entry(tablet, serial="B-1")
        work = table_begun(tablet)
        tablet.send(f"{work}/record/card", {"card": "bench 1"})
        tablet.get(f"{work}/verdict")
    with seen_by(browser) as seen:
        page = seen.page
        for path in (
            f"/book/{number}/work",
            f"{work}/keep",
            f"{work}/costs",
            f"{work}/stock",
            "/exchange",
            "/card?kind=bench&name=bench+1",
        ):
            page.goto(running.address + path)
            seen.is_good(axe)
        page.goto(f"{running.address}/bench?name=bench+1")
        page.click("#calibrate")
        page.fill("[name='calibration.force']", "0 0,4\n20 196,3 5")
        page.click("text=Keep the calibration")
        page.wait_for_selector(".error")
        assert broken_rules(Visit(page), axe) == []  # a reload would send the form once more
        seen.said.clear()  # the browser's own word on the answer, and axe's styles
        page.goto(f"{running.address}/bench?name=bench+1")
        page.click("#calibrate")
        page.fill("[name='calibration.by']", "made-up fitter")
        page.fill("[name='calibration.force']", "0 0,4\n20 196,3\n50 490,5")
        page.click("text=Keep the calibration")
        page.wait_for_selector("text=not held against anything")
        seen.is_good(axe)
        page.goto(f"{running.address}/workshop")
        page.fill("[name='workshop.name']", "Made-up Damper Works")
        page.locator("#mark").set_input_files(
            {"name": "mark.png", "mimeType": "image/png", "buffer": page.screenshot()}
        )
        page.click("text=Keep it")
        page.wait_for_selector(".letterhead img")
        seen.is_good(axe)
        page.goto(f"{running.address}/exchange")
        page.click("text=Copy of the whole book")
        page.wait_for_selector("text=Save copy-")
        seen.is_good(axe)
        with page.expect_download() as download:
            page.click("text=Save copy-")
        assert Path(download.value.path()).read_bytes().startswith(b"SQLite format 3")


def test_the_whole_way_without_scripts(browser: Any, running: Running) -> None:
    with seen_by(browser, java_script_enabled=False) as seen:
        page = seen.page
        page.goto(running.address)
        page.set_input_files("#records", [SAMPLES / "drawing_table.csv", SAMPLES / "drawing_table.damper.toml"])
        page.click("#begin-form > button")
        page.wait_for_selector("text=points found")
        page.click("text=On to the unit")
        page.click("button[value=on]")
        page.click("text=Go on without")
        page.click("button[value=on]")
        page.wait_for_selector("#verdict")
        assert page.locator("main svg.plot").first.is_visible()
        page.click("text=Keep it in the book")
        page.click("button[value=keep]")
        page.wait_for_url("**/book/*")
        page.wait_for_selector("#verdict")


def test_what_is_typed_while_the_program_is_away_is_sent_when_it_is_back(browser: Any, tmp_path: Path) -> None:
    with seen_by(browser) as seen:
        page = seen.page
        with started(tmp_path) as (server, process):
            page.goto(server.address)
            page.set_input_files("#records", SAMPLES / "drawing_table.csv")
            page.click("#begin-form > button")
            page.click("text=On to the unit")
            page.fill("[name='damper.serial']", "A-7")
            assert not page.is_visible("#away")
            process.kill()
            page.wait_for_selector("#away:not([hidden])")
            page.click("button[value=on]")
            assert page.url.endswith("/unit")  # not the browser's own page of an error
            assert page.input_value("[name='damper.serial']") == "A-7"
        with started(tmp_path, int(server.address.rpartition(":")[2])):
            page.wait_for_selector("#away", state="hidden")
            page.click("button[value=on]")
            page.wait_for_url("**/car")
            page.go_back()
            assert page.input_value("[name='damper.serial']") == "A-7"


def test_what_was_typed_is_there_again_after_an_error(browser: Any, running: Running) -> None:
    """The button goes back as the browser does; without scripts to the page that it was sent from."""
    with Tablet(running.address) as tablet:
        number = kept_entry(tablet, serial="B-1", even_so="1")
    for scripts in (True, False):
        with seen_by(browser, java_script_enabled=scripts) as seen:
            page = seen.page
            page.goto(f"{running.address}/book/{number}")
            page.click("text=Add a note or photos")
            page.fill("#note", "a long note")
            page.locator("#photos").set_input_files({"name": "x.pdf", "mimeType": "application/pdf", "buffer": b"%PDF"})
            page.click("form[action$=beside] button")
            page.click("text=Back")
            page.wait_for_url(f"**/book/{number}")
            assert page.input_value("#note") == ("a long note" if scripts else "")


COUNTED = "addEventListener('click', () => sessionStorage.setItem('n', 1 + Number(sessionStorage.getItem('n'))), true)"


def test_at_most_six_clicks_from_the_start_to_the_verdict_on_the_sample(browser: Any, running: Running) -> None:
    """As the browser counts them; it takes two."""
    with seen_by(browser) as seen:
        page = seen.page
        page.add_init_script(COUNTED)
        page.goto(running.address)
        page.click("text=Try it with a made-up test")
        page.wait_for_selector(".answer:text-is('Ready: 8 stages found.')")
        page.click("text=Straight to the verdict")
        page.wait_for_selector("#verdict")
        assert "Rebuild" in page.inner_text("#verdict")
        assert int(page.evaluate("sessionStorage.getItem('n')")) == 2 <= 6


def test_tests_side_by_side_can_be_read_by_everyone(browser: Any, axe: str, running: Running) -> None:
    with seen_by(browser) as seen:
        page = seen.page
        page.goto(running.address)
        files = [
            {"name": f"click{n}.csv", "mimeType": "text/csv", "buffer": table(share)}
            for n, share in ((0, 1.0), (4, 0.7))
        ]
        page.locator("#records").set_input_files(files)
        page.click("#begin-form > button")
        page.click("text=side by side")
        seen.is_good(axe)
        page.check("[value=settings]")
        page.click("text=Hold them side by side")
        page.wait_for_selector("#verdict")
        seen.is_good(axe)


def sweep_begun(page: Any, running: Running) -> None:
    """Three records whose names do not say their settings, to be held side by side."""
    page.goto(running.address)
    files = [
        {"name": f"{name}.csv", "mimeType": "text/csv", "buffer": table(share) + f"\n# {name}\n".encode()}
        for name, share in (("soft", 1.0), ("middle", 0.8), ("hard", 0.6))
    ]
    page.locator("#records").set_input_files(files)
    page.click("#begin-form > button")
    page.click("text=side by side")


def test_records_are_dragged_onto_the_clicks_of_an_adjuster(browser: Any, axe: str, running: Running) -> None:
    """Dragged, tapped and by keyboard; each is the number in its field, which is what is sent."""
    record, slot = '.sweep [draggable]:text-is("{}.csv")', '.slots li:has(> button:text-is("{}"))'
    with seen_by(browser) as seen:
        page = seen.page
        sweep_begun(page, running)
        assert not page.is_visible("#sweep")
        page.check("[value=settings]")
        page.drag_and_drop(record.format("soft"), slot.format(0))
        page.drag_and_drop(record.format("middle"), slot.format(9))
        page.drag_and_drop(record.format("middle"), slot.format(4))  # once more, from where it lies
        page.click(record.format("hard"))
        page.click(slot.format(7) + " > button:first-child")
        assert page.input_value("[data-record='hard.csv']") == "7"
        page.drag_and_drop(record.format("hard"), ".tray")
        assert page.input_value("[data-record='hard.csv']") == ""
        page.focus(record.format("hard"))
        page.keyboard.press("Enter")
        page.focus(slot.format(8) + " > button:first-child")
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.textContent") == "hard.csv"
        names = ("soft", "middle", "hard")
        assert [page.input_value(f"[data-record='{name}.csv']") for name in names] == ["0", "4", "8"]
        page.fill("[data-record='hard.csv']", "8,5")  # the field shows in the row, a step between too
        assert page.is_visible(slot.format("8.5") + " >> text=hard.csv")
        assert seen.said == []
        page.click("text=Hold them side by side")
        page.wait_for_selector("#verdict")
        page.click("summary:has-text('Which tests')")
        assert [page.input_value(f"[data-record='{name}.csv']") for name in names] == ["0", "4", "8,5"]
        seen.is_good(axe)


def test_the_settings_are_typed_where_there_are_no_scripts(browser: Any, running: Running) -> None:
    with seen_by(browser, java_script_enabled=False) as seen:
        page = seen.page
        sweep_begun(page, running)
        page.check("[value=settings]")
        assert not page.is_visible("#sweep")
        for name, at in (("soft", "0"), ("middle", "4"), ("hard", "8")):
            page.fill(f"[data-record='{name}.csv']", at)
        page.click("text=Hold them side by side")
        page.wait_for_selector("#verdict")


def test_two_browsers_see_what_the_bench_writes(browser: Any, running: Running) -> None:
    with seen_by(browser) as one, seen_by(browser) as other:
        for seen in (one, other):
            seen.page.goto(running.address)
            seen.page.evaluate("window.same = true")
        shutil.copy(SAMPLES / "loops.csv", running.watched / "from the bench.csv")
        for seen in (one, other):
            seen.page.wait_for_selector("[data-live=folder] a >> text=from the bench.csv")
            seen.page.wait_for_selector("[data-live=work] a >> text=from the bench.csv")
            assert seen.page.evaluate("window.same")  # the page was never loaded again
        one.page.click("[data-live=folder] a >> text=from the bench.csv")
        one.page.wait_for_selector("fieldset.question")
        other.page.goto(one.page.url)
        other.page.wait_for_selector("fieldset.question")
        one.page.fill("#q-zero", "0")
        one.page.click("text=Read it again with these answers")
        other.page.wait_for_selector("#changed:not([hidden])")
        other.page.click("#changed a")
        other.page.wait_for_selector(
            ".answer:text-is('Ready: 5 stages found.')"
        )  # with the zero known, the gas shows the way


def test_a_record_can_be_dropped_and_a_table_pasted(browser: Any, running: Running) -> None:
    text = (SAMPLES / "drawing_table.csv").read_text(encoding="utf-8")
    drop = """text => {
        const held = new DataTransfer();
        held.items.add(new File([text], "dropped.csv"));
        document.getElementById("drop").dispatchEvent(new DragEvent("drop", { dataTransfer: held, cancelable: true, bubbles: true }));
    }"""
    paste = """text => {
        const held = new DataTransfer();
        held.setData("text/plain", text);
        document.body.dispatchEvent(new ClipboardEvent("paste", { clipboardData: held, bubbles: true }));
    }"""
    with seen_by(browser) as seen:
        seen.page.goto(running.address)
        seen.page.evaluate(drop, text)
        seen.page.wait_for_selector("text=points found")
        assert "dropped.csv" in seen.page.inner_text(".steps")
        seen.page.goto(running.address)
        seen.page.evaluate(paste, text)
        assert seen.page.input_value("#pasted") == text
        seen.page.click("#begin-form > button")
        seen.page.wait_for_selector("text=points found")
        assert seen.said == []
