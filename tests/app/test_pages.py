"""Pages, figures and numbers as files: made again from what was stored, small, and the same every time."""

from __future__ import annotations

import gzip
import json
import shutil
import sys
import xml.etree.ElementTree as ET
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from dampkit.app import png
from dampkit.app.main import run_command
from dampkit.report.document import SHARED_LIBRARY
from dampkit.studies.__main__ import main as studies
from dampkit.studies.sample_pages import PAIR, SMALL
from tests.bench.writer import Habit, made_run, write_log
from tests.report.browsing import broken_rules, sides_of, visit
from tests.report.made_up import low_oil, sound, unclear
from tests.report.reading import Page, without_library

SHIPPED = Path(__file__).parents[2] / "sample_runs"
Capture = pytest.CaptureFixture[str]
SHARED_MB, UNIT_KB, UNITS = 6.0, 150.0, 500  # what a folder of a batch may take: so much, and so much for each unit


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A made-up result as `analyse --json` writes it."""
    place = tmp_path_factory.mktemp("stored") / "result.json"
    place.write_text(json.dumps(low_oil().to_dict(), indent=1))
    return place


@pytest.fixture(scope="module")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pages of a few sample runs, made by the one command."""
    place = tmp_path_factory.mktemp("samples")
    for name in {*PAIR, *SMALL, "weak_blowoff"}:
        for path in SHIPPED.glob(f"{name}.*"):
            shutil.copy(path, place)
    assert studies(["sample-pages", str(place), str(place / "reports" / "samples")]) == 0
    return place / "reports"


@pytest.mark.slow
def test_a_batch_folder_with_its_pages_stays_small(samples: Path) -> None:
    """All of the folder counts: pages, stored results, tables, index; per unit, and so for five hundred of them."""
    folder = samples / "samples" / "all"
    units = len(list((folder / "results").rglob("*.json.gz")))
    total = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    shared = (folder / "pages" / SHARED_LIBRARY).stat().st_size
    assert units == 4
    assert len(list(folder.rglob("plotly*.js"))) == 1
    each = (total - shared) / units
    assert each < 1.1 * UNIT_KB * 1e3  # of these four, which include the fullest page
    assert shared + UNITS * each < SHARED_MB * 1e6 + UNITS * UNIT_KB * 1e3


@pytest.mark.slow
def test_every_folder_of_pages_has_its_links_and_one_library(samples: Path) -> None:
    for name, runs in (("pair", 2), ("before_after", 2), ("settings", 3)):
        folder = samples / "samples" / name
        assert len(list(folder.glob("run-*.html"))) == runs
        assert (folder / SHARED_LIBRARY).is_file()
        page = Page((folder / "index.html").read_text(encoding="utf-8"))
        links = [link for link in page.attribute("href") if not link.startswith("#")]
        assert links == [f"run-{n}.html" for n in range(1, runs + 1)]
        assert page.misnested == []
    assert "Not matched" in (samples / "samples" / "pair" / "index.html").read_text(encoding="utf-8")
    assert "Changed" in (samples / "samples" / "before_after" / "index.html").read_text(encoding="utf-8")
    for name in SMALL:
        assert (samples / f"{name}.html").stat().st_size < UNIT_KB * 1e3


@pytest.mark.slow
def test_pages_of_the_sample_runs_print_on_two_to_four_sides(browser: Any, samples: Path) -> None:
    pages = sorted((samples / "samples" / "all" / "pages").glob("*.html"))
    assert len(pages) == 4
    for place in pages:
        with visit(browser, place) as seen:
            assert all(2 <= sides_of(seen.page, paper) <= 4 for paper in ("A4", "Letter"))


@pytest.mark.slow
@pytest.mark.parametrize("part", range(6))
def test_axe_finds_nothing_in_the_pages_of_the_sample_runs(browser: Any, axe: str, samples: Path, part: int) -> None:
    pages = [*sorted(samples.glob("*.html")), *sorted((samples / "samples").glob("*/index.html"))][part::6]
    assert pages
    for place in pages:
        with visit(browser, place) as seen:
            assert broken_rules(seen, axe) == []


def test_a_page_is_made_again_from_the_stored_result_alone(stored: Path, tmp_path: Path) -> None:
    from dampkit import write_report

    write_report(low_oil(), tmp_path / "first.html")
    assert run("page", stored, "--report", tmp_path / "again.html") == 0
    assert (tmp_path / "again.html").read_bytes() == (tmp_path / "first.html").read_bytes()
    packed = tmp_path / "packed.json.gz"
    packed.write_bytes(gzip.compress(json.dumps({"status": 0, "result": low_oil().to_dict()}).encode()))
    assert run("page", packed, "--report", tmp_path / "packed.html") == 0
    assert (tmp_path / "packed.html").read_bytes() == (tmp_path / "first.html").read_bytes()


def test_imperial_is_beside_si_in_tables_and_instead_of_it_in_pictures(stored: Path, tmp_path: Path) -> None:
    words = ["--units", "imperial", "--report", tmp_path / "p.html", "--figures", tmp_path]
    assert run("page", stored, *words) == 0
    text = without_library((tmp_path / "p.html").read_text(encoding="utf-8"))
    assert "8\u00a0mm [0.315 in] of lost motion" in text  # NIST SP 811 (2008), app. B.8: 1 in = 25.4 mm exactly
    assert "Force (lbf): rebound above zero" in text
    assert "Force (N): rebound above zero" not in text
    assert "Piston speed (in/s)" in (tmp_path / "force.svg").read_text(encoding="utf-8")


def test_figures_are_whole_svg_files_that_need_no_style_sheet(stored: Path, tmp_path: Path) -> None:
    assert run("page", stored, "--figures", tmp_path / "new" / "folder") == 0
    made = sorted((tmp_path / "new" / "folder").iterdir())
    assert [path.name for path in made] == ["first.svg", "force.svg", "loops.svg"]
    for path in made:
        text = path.read_text(encoding="utf-8")
        root = ET.fromstring(text)
        assert "var(" not in text
        assert float(root.get("height", "0")) > 350
        assert root.find("{http://www.w3.org/2000/svg}text") is not None


def test_a_png_is_the_picture_that_a_browser_draws(stored: Path, tmp_path: Path, browser: Any) -> None:
    """Against an independent renderer, as far as two of them agree on edges of lines and letters."""
    pillow = pytest.importorskip("PIL.Image")
    pytest.importorskip("resvg_py")
    assert run("page", stored, "--figures", tmp_path, "--figures-as", "png") == 0
    assert run("page", stored, "--figures", tmp_path) == 0
    svg = tmp_path / "force.svg"
    root = ET.fromstring(svg.read_text(encoding="utf-8"))
    width, height = (int(root.get(side, "0")) for side in ("width", "height"))
    page = browser.new_page(viewport={"width": width, "height": height}, device_scale_factor=png.SCALE)
    page.goto(svg.as_uri())
    page.screenshot(path=tmp_path / "browser.png")
    page.close()
    ours, theirs = (
        np.asarray(pillow.open(tmp_path / name).convert("L").resize((width // 2, height // 2)), dtype=float)
        for name in ("force.png", "browser.png")
    )
    content = (tmp_path / "force.png").read_bytes()
    assert content.startswith(b"\x89PNG\r\n\x1a\n")  # W3C PNG, 5.2: the signature
    assert int.from_bytes(content[16:20], "big") == png.SCALE * width  # 11.2.2: the header's first field
    assert np.corrcoef(ours.ravel(), theirs.ravel())[0, 1] > 0.98
    assert np.corrcoef(ours.ravel(), np.roll(theirs, 3, axis=1).ravel())[0, 1] < 0.9


@pytest.mark.parametrize("lacks", ["library", "font"])
def test_a_png_that_cannot_be_drawn_is_refused_in_words(
    lacks: str, stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    library = SimpleNamespace(svg_to_bytes=lambda svg, **_: b"blank")
    monkeypatch.setitem(sys.modules, "resvg_py", None if lacks == "library" else library)
    assert run("page", stored, "--figures", tmp_path, "--figures-as", "png") == 2
    said = capsys.readouterr().err
    assert "--figures-as svg" in said
    assert f"{lacks}" in said
    assert list(tmp_path.iterdir()) == []


def test_numbers_are_those_of_the_result(tmp_path: Path) -> None:
    place = tmp_path / "result.json"
    place.write_text(json.dumps(sound().to_dict()))
    assert run("page", place, "--numbers", tmp_path / "n") == 0
    tables = {p.stem: pd.read_csv(p, encoding="utf-8-sig") for p in (tmp_path / "n").glob("*.csv")}
    assert set(tables) == {"values", "curves", "points", "stages", "loops", "reference"}
    curve = sound().valve.rebound.curve
    assert curve is not None
    rebound = tables["curves"].query("direction == 'rebound'")
    np.testing.assert_allclose(rebound["force_n"], curve.force_n, rtol=1e-15)  # as exactly as pandas reads
    assert len(tables["loops"]) == sum(len(stage.loop.force_n) for stage in sound().run.stages)
    values = {
        row["name"]: [row[end] for end in ("value", "low", "high")] for row in tables["values"].to_dict("records")
    }
    assert values["statics.gas_force_n"] == pytest.approx([48.0, 43.2, 52.8])
    assert np.isnan(values["valve.rebound.leak_coefficient_n_s_m"]).all()  # not established: a line, no number
    assert json.loads((tmp_path / "n" / "result.json").read_text()) == sound().to_dict()


def test_numbers_of_a_result_without_any_are_empty_tables(tmp_path: Path) -> None:
    place = tmp_path / "result.json"
    place.write_text(json.dumps(unclear().to_dict()))
    assert run("page", place, "--numbers", tmp_path / "n") == 0
    assert (tmp_path / "n" / "curves.csv").read_text(encoding="utf-8-sig").splitlines() == [
        "direction,velocity_m_s,force_n,low_n,high_n"
    ]


@pytest.mark.parametrize(
    ("content", "words", "said"),
    [
        (b"{", ("--report", "x.html"), "this is no JSON"),
        (b"[1]", ("--report", "x.html"), "no result"),
        (b'{"format": "other/9"}', ("--report", "x.html"), "format"),
        (b"{}", (), "nothing to make was named"),
        (None, ("--report", "x.html"), "no such file"),
    ],
)
def test_what_is_no_stored_result_is_refused_in_words(
    tmp_path: Path, content: bytes | None, words: tuple[str, ...], said: str, capsys: Capture
) -> None:
    place = tmp_path / "r.json"
    if content is not None:
        place.write_bytes(content)
    named = [tmp_path / word if word.endswith(".html") else word for word in words]
    assert run("page", place, *named) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "x.html").exists()


def test_a_page_does_not_overwrite_what_it_reads(stored: Path, capsys: Capture) -> None:
    assert run("page", stored, "--report", stored) == 2
    assert "read by the same command" in capsys.readouterr().err


def test_hostile_words_in_a_log_and_its_files_show_as_text(tmp_path: Path) -> None:
    """A heading, the serial, the kind of car and the notes of a sheet, from the files to the page."""
    attack = "<script>alert(1)</script>\u202e\"'" + "x" * 10_000
    quoted = json.dumps(attack, ensure_ascii=True)
    log = tmp_path / "run.csv"
    write_log(log, Habit(), made_run(((0.05, 2), (1.0, 5), (3.0, 6))))
    head, *rest = log.read_text(encoding="utf-8").splitlines()
    cell = attack.replace('"', '""')
    lines = [f'{head},"{cell}"', *(f"{line},0" for line in rest)]
    log.write_text("\n".join(lines) + "\n", encoding="utf-8")
    (tmp_path / "b.toml").write_text(
        '[signs]\nforce_positive = "tension"\ndisplacement_positive = "extension"\n[zero]\nforce_n = 0.0\n'
    )
    (tmp_path / "d.toml").write_text(f'[damper]\nserial = {quoted}\nkind = "monotube"\n')
    (tmp_path / "s.toml").write_text(f"[inspection]\nrod_straight = true\nnotes = {quoted}\n")
    words = ["--bench", tmp_path / "b.toml", "--damper", tmp_path / "d.toml", "--inspection", tmp_path / "s.toml"]
    assert run("analyse", log, *words, "--report", tmp_path / "p.html") == 0
    page = Page(without_library((tmp_path / "p.html").read_text(encoding="utf-8")))
    assert page.misnested == []
    assert "<script>alert(1)</script><U+202E>" in page.text
    assert not any("alert(1)" in text and "json" not in (a.get("type") or "") for a, text in page.scripts)
    assert "characters in the stored result" in page.text
