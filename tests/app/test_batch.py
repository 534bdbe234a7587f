"""Many logs: none stops the others, done work is not done again, and a cluster gives the same bytes."""

from __future__ import annotations

import gzip
import json
import re
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

import dampkit
from dampkit.app import cluster as cluster_module
from dampkit.app import work as work_module
from dampkit.app.logs import find_logs
from dampkit.app.main import run_command
from dampkit.app.work import Task, analyse_task
from dampkit.errors import BadSettings
from dampkit.store.book import book_at
from dampkit.store.check import complaints
from dampkit.store.look_up import count
from dampkit.store.outcomes import Outcome
from tests.app.logs import bad_log, good_log

Capture = pytest.CaptureFixture[str]
SAMPLES = Path(__file__).parents[2] / "sample_runs"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two good logs, one of them twice, one that is no table, and one whose settings are wrong."""
    place = tmp_path_factory.mktemp("logs")
    good_log(place / "one.csv", "A-1")
    (place / "deeper").mkdir()
    good_log(place / "deeper" / "two.csv", "=A-2", zero_n=5.0)
    for kind in (".csv", ".bench.toml", ".damper.toml"):
        shutil.copy(place / f"one{kind}", place / f"same{kind}")
    bad_log(place / "bad.csv")
    good_log(place / "wrong.csv").with_suffix(".damper.toml").write_text("[damper]\nserial = 3\n")
    (place / "notes.md").write_text("not a log")
    return place


@pytest.fixture(scope="module")
def finished(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The batch of the folder, done by two processes."""
    out = tmp_path_factory.mktemp("batch") / "out"
    assert run(folder, "--out", out, "--jobs", 2) == 3
    return out


@pytest.fixture
def copied(finished: Path, tmp_path: Path) -> Path:
    """The finished batch, to go on with."""
    return Path(shutil.copytree(finished, tmp_path / "copied"))


def run(*words: object) -> int:
    return run_command(["batch", *(str(word) for word in words)])


def results(out: Path) -> dict[str, bytes]:
    return {path.name: gzip.decompress(path.read_bytes()) for path in sorted((out / "results").rglob("*.json.gz"))}


def test_every_log_has_its_line_and_the_worst_its_status(folder: Path, finished: Path) -> None:
    table = pd.read_csv(finished / "table.csv", encoding="utf-8-sig").set_index("file")
    names = ["bad.csv", "deeper/two.csv", "one.csv", "same.csv", "wrong.csv"]
    assert table.index.tolist() == [str(folder / name) for name in names]
    assert table["status"].tolist() == [3, 0, 0, 0, 2]
    assert table["serial"].tolist()[1:4] == ["'=A-2", "A-1", "A-1"]
    assert "serial" in table["error"].iloc[4]
    assert "bad.csv" in table["error"].iloc[0]


def test_logs_with_the_same_bytes_and_settings_are_worked_on_once(finished: Path) -> None:
    assert len(results(finished)) == 3


def test_parquet_holds_the_same_table(finished: Path) -> None:
    table, text = pd.read_parquet(finished / "table.parquet"), pd.read_csv(finished / "table.csv", encoding="utf-8-sig")
    assert table["serial"].tolist()[1] == "=A-2"
    for name in ("status", "friction_n", "top_speed_m_s"):
        pd.testing.assert_series_equal(table[name], text[name], check_dtype=False, rtol=1e-12)


def test_a_result_is_what_the_single_command_gives(folder: Path, finished: Path) -> None:
    from dampkit.store.content import plain_json

    one = folder / "one.csv"
    run_one = dampkit.read_run(one, one.with_suffix(".bench.toml"))
    alone = dampkit.analyse(run_one, one.with_suffix(".damper.toml"))
    assert any(plain_json(alone.to_dict()) in kept for kept in results(finished).values())


def test_done_work_is_not_done_again(folder: Path, copied: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(task: Task) -> Outcome:
        raise AssertionError(task.file)

    before = results(copied), (copied / "table.csv").read_bytes(), (copied / "index.html").read_bytes()
    monkeypatch.setattr(work_module, "analyse_task", never)
    assert run(folder, "--out", copied, "--jobs", 1) == 3
    assert (results(copied), (copied / "table.csv").read_bytes(), (copied / "index.html").read_bytes()) == before


def test_a_broken_off_batch_goes_on(
    folder: Path, finished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped after its first log, then done by one process in this one: the same bytes as by two at once."""
    worked: list[str] = []

    def one_then_stop(task: Task) -> Outcome:
        if worked:
            raise KeyboardInterrupt
        worked.append(task.file)
        return analyse_task(task)

    monkeypatch.setattr(work_module, "analyse_task", one_then_stop)
    assert run(folder, "--out", tmp_path / "out", "--jobs", 1) == 130
    assert len(results(tmp_path / "out")) == 1
    monkeypatch.setattr(work_module, "analyse_task", analyse_task)
    assert run(folder, "--out", tmp_path / "out", "--jobs", 1) == 3
    assert results(tmp_path / "out") == results(finished)
    assert (tmp_path / "out" / "table.csv").read_bytes() == (finished / "table.csv").read_bytes()


def test_a_fault_of_the_program_in_one_log_leaves_the_others(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(*_: object, **__: object) -> None:
        raise ZeroDivisionError("made to fail")

    monkeypatch.setattr(work_module, "analyse_job", breaks)
    assert run(folder / "one.csv", folder / "bad.csv", "--out", tmp_path, "--jobs", 1) == 70
    table = pd.read_csv(tmp_path / "table.csv", encoding="utf-8-sig")
    assert table["status"].tolist() == [3, 70]
    assert "ZeroDivisionError" in table["error"].iloc[1]


def test_what_was_analysed_goes_into_the_book_once(folder: Path, copied: Path, tmp_path: Path, capsys: Capture) -> None:
    place = tmp_path / "book.sqlite"
    for words in ("2 added, 1 there already", "0 added, 3 there already"):
        assert run(folder, "--out", copied, "--book", place, "--who", "made-up fitter") == 3
        assert words in capsys.readouterr().err
    with book_at(place) as book:
        assert (count(book), complaints(book)) == (2, ())
        logs = {book.log(number) for number in (1, 2)}
    assert logs == {(folder / "one.csv").read_bytes(), (folder / "deeper" / "two.csv").read_bytes()}


def test_pages_are_written_when_asked_for_and_linked(folder: Path, copied: Path) -> None:
    assert run(folder / "one.csv", "--out", copied, "--pages") == 0
    (link,) = re.findall(r'href="(pages/\w+\.html)"', (copied / "index.html").read_text())
    assert "A-1" in (copied / link).read_text(encoding="utf-8")


def test_a_batch_of_numbers_alone_works_out_no_ride(folder: Path, tmp_path: Path) -> None:
    """The rest of the result stands as it is; asked for, the ride is worked out, as another result."""
    log, out = tmp_path / "logs" / "one.csv", tmp_path / "out"
    log.parent.mkdir()
    for kind in (".csv", ".bench.toml", ".damper.toml"):
        shutil.copy(folder / f"one{kind}", log.with_suffix(kind))
    shutil.copy(SAMPLES / "sound_monotube.vehicle.toml", log.with_suffix(".vehicle.toml"))
    run(log.parent, "--out", out, "--jobs", 1)
    bare = [json.loads(text) for text in results(out).values()]
    run(log.parent, "--out", out, "--jobs", 1, "--ride")
    whole = [json.loads(text) for text in results(out).values() if json.loads(text) not in bare]
    assert (len(bare), len(whole)) == (1, 1)
    without, having = bare[0]["result"], whole[0]["result"]
    assert without["vehicle"].pop("ride") is None
    assert having["vehicle"].pop("ride")["cases"]
    assert set(without.pop("left_out")) - set(having.pop("left_out")) == {"The ride was not asked for."}
    assert without == having


def test_fail_on_fault_is_1_unless_all_fit(folder: Path, copied: Path) -> None:
    table = pd.read_csv(copied / "table.csv", encoding="utf-8-sig").set_index("file")
    expected = int(table["action"][str(folder / "one.csv")] != "fit")
    assert run(folder / "one.csv", "--out", copied, "--fail-on-fault") == expected


def test_what_was_seen_and_the_prices_go_with_each_log(folder: Path, tmp_path: Path) -> None:
    """The first log's unit has a cracked eye: replace, whatever the bench says; the other's sheet is not its own."""
    for name in ("one", "deeper/two"):
        for kind in (".csv", ".bench.toml", ".damper.toml"):
            source = folder / f"{name}{kind}"
            shutil.copy(source, tmp_path / source.name)
    (tmp_path / "one.inspection.toml").write_text('[inspection]\neyes = "cracked"\n')
    costs = tmp_path / "prices.toml"
    costs.write_text("[labour]\nrate_per_hour = 60.0\n[new]\nprice = 90.0\n")
    book = tmp_path / "book.sqlite"
    assert run(tmp_path, "--out", tmp_path / "out", "--costs", costs, "--book", book, "--jobs", 1) == 0
    table = pd.read_csv(tmp_path / "out" / "table.csv", encoding="utf-8-sig")
    assert table["action"].tolist()[0] == "replace"
    assert table["action"].tolist()[1] != "replace"
    with book_at(book) as opened:
        kept = opened.settings(1)
        assert (kept.costs, kept.inspection) == (costs.read_text(), '[inspection]\neyes = "cracked"\n')
        assert opened.result(1)["courses"]["chosen"] == "new"
        assert complaints(opened) == ()


def test_logs_are_found_by_folder_pattern_and_name_each_once(folder: Path) -> None:
    names = [str(folder), str(folder / "*.csv"), str(folder / "**" / "two.*"), str(folder / "one.csv")]
    found = [path.relative_to(folder).as_posix() for path in find_logs(names, folder / "out")]
    assert found == ["bad.csv", "deeper/two.csv", "one.csv", "same.csv", "wrong.csv"]
    assert len(find_logs([str(folder)], folder / "deeper")) == 4  # the batch's own tables are no logs


@pytest.mark.parametrize("named", ["nothing-*.csv", "."])
def test_no_log_at_all_is_wrong_usage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(BadSettings, match="no log found"):
        find_logs([named], tmp_path / "out")


def test_a_named_log_that_is_missing_does_not_stop_the_others(folder: Path, tmp_path: Path) -> None:
    assert run(folder / "none.csv", folder / "one.csv", "--out", tmp_path, "--jobs", 1) == 3
    assert pd.read_csv(tmp_path / "table.csv", encoding="utf-8-sig")["status"].tolist() == [3, 0]


def test_an_out_that_is_a_file_is_wrong_usage(folder: Path, tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "file").touch()
    assert run(folder, "--out", tmp_path / "file") == 2
    assert "cannot be written to" in capsys.readouterr().err


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@pytest.fixture
def scheduler() -> Iterator[str]:
    """A scheduler and two worker processes, started as the handbook of the cluster's library says."""
    pytest.importorskip("distributed")
    port = free_port()
    address = f"tcp://127.0.0.1:{port}"
    dask = [sys.executable, "-W", "ignore", "-m", "dask"]
    commands = [["scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"]]
    commands += [["worker", address, "--nthreads", "1", "--no-dashboard", "--host", "127.0.0.1"]] * 2
    crew = [subprocess.Popen([*dask, *words], stderr=subprocess.DEVNULL) for words in commands]
    yield address
    for process in reversed(crew):
        process.terminate()
        process.wait(20)


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
def test_a_cluster_of_two_workers_gives_the_same_bytes(
    folder: Path, finished: Path, tmp_path: Path, scheduler: str
) -> None:
    assert run(folder, "--out", tmp_path / "out", "--cluster", scheduler) == 3
    assert results(tmp_path / "out") == results(finished)
    assert (tmp_path / "out" / "table.csv").read_bytes() == (finished / "table.csv").read_bytes()


@pytest.mark.filterwarnings("default")
def test_a_cluster_that_is_not_there_is_told(
    folder: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster_module, "WAIT_S", 1)
    assert run(folder, "--out", tmp_path, "--cluster", f"tcp://127.0.0.1:{free_port()}") == 2
    assert run(folder, "--out", tmp_path, "--cluster", "bench-server:8786") == 2
    said = capsys.readouterr().err
    assert "no scheduler answers" in said
    assert "found 'bench-server:8786'" in said


@pytest.mark.parametrize(("status", "lost"), [("running", False), ("closed", True), ("connecting", True)])
def test_a_cluster_that_is_lost_on_the_way_is_told(status: str, lost: bool) -> None:
    client = SimpleNamespace(status=status)
    cluster_module.still_connected(None)
    if not lost:
        cluster_module.still_connected(client)
        return
    with pytest.raises(BadSettings, match="what is done is not done again"):
        cluster_module.still_connected(client)
