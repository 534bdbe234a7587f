"""A test names type and bench instead of files, and nothing rests on a bench that is not to be believed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from dampkit.app.main import run_command
from dampkit.quantities import GRAVITY_M_S2
from dampkit.store.book import book_at
from dampkit.store.calibration import weight_n
from dampkit.store.look_up import find
from dampkit.store.question import Question

Capture = pytest.CaptureFixture[str]
SAMPLES = Path(__file__).parents[2] / "sample_runs"
RUN = SAMPLES / "sound_twin_tube.csv"
TYPE = "".join(
    line
    for line in RUN.with_suffix(".damper.toml").read_text().splitlines(keepends=True)
    if not line.startswith("serial")
)


def sheet(due: str, share: float = 0.002) -> str:
    rows = "".join(
        f"[[calibration.force]]\nmass_kg = {m:.1f}\nread_n = {weight_n(m, GRAVITY_M_S2) * (1 + share):.3f}\n"
        for m in (0.0, 20.0, 50.0)
    )
    return f'[calibration]\non = "2025-03-01"\ndue = "{due}"\nby = "made-up fitter"\n{rows}'


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book with the sample's unit type, vehicle and bench on its shelves."""
    monkeypatch.setenv("DAMPKIT_BOOK", str(tmp_path / "book.sqlite"))
    files = {kind: RUN.with_suffix(f".{kind}.toml") for kind in ("vehicle", "bench")}
    files["unit-type"] = tmp_path / "type.toml"
    files["unit-type"].write_text(TYPE)
    for kind, name in (("unit-type", "12-34"), ("vehicle", "estate"), ("bench", "b 1")):
        assert run("book", kind, "add", name, files[kind]) == 0
    return tmp_path


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


def analysed(shop: Path, *more: object) -> dict[str, object]:
    out = shop / "out.json"
    assert run("analyse", RUN, "--type", "12-34", "--car", "estate", "--on", "b 1", "--json", out, *more) == 0
    result: dict[str, object] = json.loads(out.read_text())
    return result


def test_cards_give_what_files_give(shop: Path, capsys: Capture) -> None:
    out = shop / "files.json"
    files = [
        word for kind in ("bench", "damper", "vehicle") for word in (f"--{kind}", RUN.with_suffix(f".{kind}.toml"))
    ]
    assert run("analyse", RUN, *files, "--json", out) == 0
    by_files, by_cards = json.loads(out.read_text()), analysed(shop)
    for key in ("statics", "valve", "verdict", "vehicle", "reference"):
        assert by_cards[key] == by_files[key]
    assert run("analyse", RUN, "--type", "12-34", "--damper", RUN.with_suffix(".damper.toml")) == 2
    assert "leave one out" in capsys.readouterr().err
    assert run("analyse", RUN, "--type", "12-35") == 2
    assert "perhaps '12-34'" in capsys.readouterr().err


def test_an_overdue_bench_passes_nothing(shop: Path, capsys: Capture) -> None:
    calibration = shop / "c.toml"
    calibration.write_text(sheet("2026-03-01"))
    assert analysed(shop)["verdict"]["action"] == "fit"  # type: ignore[index]
    assert run("book", "bench", "calibrate", "b 1", calibration) == 0
    assert "calibration passed" in capsys.readouterr().out
    assert analysed(shop, "--date", "2025-06-01")["verdict"]["action"] == "fit"  # type: ignore[index]
    late = analysed(shop, "--date", "2026-04-01")
    assert late["verdict"]["action"] == "retest"  # type: ignore[index]
    assert "bench_calibration_overdue" in str(late["quality"])
    assert run("book", "bench", "record", "b 1", "--date", "2026-04-01", "--page", shop / "b.html") == 0
    assert "is NOT to be believed" in capsys.readouterr().out
    assert "is not to be believed" in (shop / "b.html").read_text()


def test_a_master_damper_is_checked_and_a_failed_check_holds_everything_up(shop: Path, capsys: Capture) -> None:
    words = ("book", "bench", "check", "b 1", RUN, "--type", "12-34", "--serial", "M-1", "--who", "made-up fitter")
    assert run(*words, "--date", "2025-06-01") == 0
    assert "check of 2025-06-01 passed" in capsys.readouterr().out
    damper = shop / "d.toml"
    text = TYPE
    line = next(line for line in text.splitlines() if line.startswith("rebound_force_n"))
    forces = [0.8 * float(word) for word in line.partition("[")[2].rstrip("] ").split(",")]
    damper.write_text(text.replace(line, f"rebound_force_n = {forces}"))
    assert run("book", "unit-type", "add", "master", damper) == 0
    assert run("book", "bench", "check", "b 1", RUN, "--type", "master", "--serial", "M-1", "--date", "2025-06-02") == 0
    assert "FAILED" in capsys.readouterr().out
    assert analysed(shop, "--date", "2025-06-01")["verdict"]["action"] == "fit"  # type: ignore[index]
    assert analysed(shop, "--date", "2025-06-02")["verdict"]["action"] == "retest"  # type: ignore[index]


def test_an_entry_keeps_the_names_and_the_very_text(shop: Path) -> None:
    words = ("--type", "12-34", "--on", "b 1", "--serial", "A-9", "--tested-on", "2025-06-01")
    assert run("book", "add", RUN, *words) == 0
    with book_at(shop / "book.sqlite") as book:
        (entry,) = find(book, Question(unit_type="12-34"))
        assert book.standing(entry.id)["bench"] == "b 1"
        assert book.settings(entry.id).damper == TYPE
        assert (entry.serial, book.settings(entry.id).vehicle) == ("A-9", None)
