"""Every command takes a table or a test by hand where it takes a log."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from dampkit.app.main import run_command

SHIPPED = Path(__file__).parents[2] / "sample_runs"
TABLE, HAND = SHIPPED / "drawing_table.csv", SHIPPED / "hand_test_lever_arm.csv"
HEAD = "velocity m/s,rebound N,compression N\n"
ROWS = (
    (0.005, 20, 20),
    (0.05, 110, 80),
    (0.1, 380, 230),
    (0.2, 660, 320),
    (0.3, 800, 370),
    (0.6, 1150, 520),
    (1.0, 1500, 690),
)
REFERENCE = """[reference]
velocity_m_s = [0.05, 0.1, 0.3, 1.0]
rebound_force_n = [110.0, 380.0, 800.0, 1500.0]
compression_force_n = [80.0, 230.0, 370.0, 690.0]
"""


def table(folder: Path, name: str, factor: float = 1.0, temperature_c: float | None = None) -> Path:
    path = folder / name
    more = ("", "") if temperature_c is None else (",temperature C", f",{temperature_c:g}")
    rows = "".join(f"{v},{factor * r:.1f},{factor * c:.1f}{more[1]}\n" for v, r, c in ROWS)
    path.write_text(HEAD.rstrip() + more[0] + "\n" + rows)
    return path


Said = Callable[..., str]


@pytest.fixture
def done(capfd: pytest.CaptureFixture[str]) -> Said:
    """Runs a command that must end well; what it said on standard output."""

    def run(*words: object) -> str:
        assert run_command([str(word) for word in words]) == 0
        return capfd.readouterr().out

    return run


def sides(name: str) -> list[str]:
    found = [(kind, SHIPPED / f"{name}.{kind}.toml") for kind in ("damper", "vehicle", "inspection")]
    return [part for kind, path in found for part in (f"--{kind}", str(path))]


def test_a_table_from_a_drawing_is_judged(tmp_path: Path, done: Said) -> None:
    """The sample's unit is sound and suits its car by what went into it (`tests/test_sample_runs.py`)."""
    out = tmp_path / "out.json"
    said = done("analyse", TABLE, *sides("drawing_table"), "--json", out, "--report", tmp_path / "page.html")
    result = json.loads(out.read_text())
    assert result["verdict"]["action"] == "fit"
    assert result["run"]["files"][0]["form"] == "table"
    assert "fit" in said
    assert (tmp_path / "page.html").stat().st_size > 10_000


def test_a_test_by_hand_is_not_more_than_it_is(tmp_path: Path, done: Said) -> None:
    """Slow pulls alone: no fault is named and nothing is passed, for nothing was tested above the knee."""
    out = tmp_path / "out.json"
    done("analyse", HAND, *sides("hand_test_lever_arm"), "--json", out)
    result = json.loads(out.read_text())
    assert result["run"]["files"][0]["form"] == "hand-test"
    assert result["faults"] == []
    assert result["verdict"]["action"] == "retest"
    assert any("above the knee: not tested" in reason for reason in result["verdict"]["reasons"])


def test_look_shows_the_points(done: Said) -> None:
    said = done("look", TABLE)
    assert said.splitlines()[0].startswith("ready")
    assert "1520" in said
    assert "not, since it takes whole strokes: " in said
    assert "low oil" in said.splitlines()[1]
    assert "internal leak" not in said.splitlines()[1]


def test_look_says_what_it_took_for_granted_and_what_it_did_not_write(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    bare = tmp_path / "bare.csv"
    bare.write_text("v,F\n50,110\n50,-80\n100,380\n100,-230\n300,800\n300,-370\n")
    page, bench = tmp_path / "page.html", tmp_path / "bench.toml"
    assert run_command(["look", str(bare), "--page", str(page), "--save-bench", str(bench)]) == 0
    out, err = capfd.readouterr()
    assert "Column 'v' has no unit" in out
    assert all(str(path) in err and str(path) not in out for path in (page, bench))


def test_two_tables_side_by_side(tmp_path: Path, done: Said) -> None:
    said = done("compare", table(tmp_path, "left.csv"), table(tmp_path, "right.csv", 1.3))
    assert "a real difference, matters" in said
    alike = [table(tmp_path, "left.csv"), table(tmp_path, "right.csv", 1.02)]
    assert "pair: not established" in done("compare", *alike)  # 10 K apart they may be, and no probe was on
    alike = [table(tmp_path, "left.csv", 1.0, 21.0), table(tmp_path, "right.csv", 1.02, 22.0)]
    assert "pair: matched" in done("compare", *alike)


def test_settings_in_one_table_and_in_several(tmp_path: Path, done: Said) -> None:
    """Each setting 10 % firmer than the one before: 800, 880 and 968 N at the rated speed."""
    rows = "".join(
        f"{clicks},{v},{1.1**i * r:.1f},{1.1**i * c:.1f}\n" for i, clicks in enumerate((0, 4, 8)) for v, r, c in ROWS
    )
    one = tmp_path / "sweep.csv"
    one.write_text("clicks," + HEAD + rows)
    several = [table(tmp_path, f"at_{clicks}.csv", 1.1**i) for i, clicks in enumerate((0, 4, 8))]
    for said in (done("settings", one), done("settings", *several)):
        for line in ("0: 800 N and 370 N", "4: 880 N and 407 N", "8: 968 N and 448 N"):
            assert line in said


def test_several_settings_are_no_unit_until_one_is_named(
    tmp_path: Path, done: Said, capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "sweep.csv"
    path.write_text("clicks," + HEAD + "".join(f"{k},{v},{r},{c}\n" for k in (0, 4) for v, r, c in ROWS))
    assert run_command(["analyse", str(path)]) == 4
    assert "[log] setting" in capfd.readouterr().err
    bench = tmp_path / "bench.toml"
    bench.write_text("[log]\nsetting = 4\n")
    done("analyse", path, "--bench", bench)


def test_a_reference_from_tables(tmp_path: Path, done: Said) -> None:
    """Means of 100 %, 102 % and 104 % of the forces: 816 N at 0.3 m/s."""
    tables = [table(tmp_path, f"{i}.csv", 1 + 0.02 * i) for i in range(3)]
    assert "rebound at 0.3 m/s: 816 N" in done("reference", *tables)


def test_the_book_and_a_batch_take_tables(tmp_path: Path, done: Said) -> None:
    folder = tmp_path / "logs"
    folder.mkdir()
    (folder / "damper.toml").write_text(REFERENCE)
    path = table(folder, "unit.csv")
    book = tmp_path / "book.db"
    done("book", "add", path, "--book", book, "--damper", folder / "damper.toml")
    assert "unit.csv" in done("book", "list", "--book", book)
    done("batch", folder, "--out", tmp_path / "out")
    with (tmp_path / "out" / "table.csv").open(newline="", encoding="utf-8-sig") as file:
        (row,) = csv.DictReader(file)
    assert row["file"].endswith("unit.csv")
    assert (row["stages"], float(row["top_speed_m_s"])) == ("0", 1.0)


@pytest.mark.parametrize("way", ["book", "analyse"])
def test_what_cannot_be_read_ends_with_three(tmp_path: Path, way: str, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("velocity m/s,force N\n0.1,300\n0.2,400\n0.3,500\n")
    arguments = (
        ["analyse", str(path)] if way == "analyse" else ["book", "add", str(path), "--book", str(tmp_path / "b.db")]
    )
    assert run_command(arguments) == 3
    assert "which direction" in capfd.readouterr().err
