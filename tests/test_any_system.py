"""The same on Linux, macOS and Windows: nothing of ours hangs on calls that one of them lacks.

What a system lacks is hidden from every module of the package and from no other, in every process. The names are those
that the Python documentation of `os` calls "Availability: Unix" or "not Windows", from memory; `.ci/run` has mypy check
the same from the types that it knows of each system.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from dampkit.app.logs import plan_one
from dampkit.app.say import command_line
from dampkit.app.work import Task, analyse_task
from dampkit.errors import BadSettings
from dampkit.files import Output, check_outputs, name_if_free, onto_disk, text_output, write_all
from dampkit.job import JobFiles
from tests.app.logs import good_log

ROOT = Path(__file__).parents[1]
HIDING = '''"""Python runs this at its start: modules of dampkit see no POSIX call and no hard links."""
import builtins, os, sys, types
MODULES = {"fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog", "posix", "crypt", "select", "signal"}
NAMES = """chown chroot confstr ctermid fchdir fchmod fchown fork forkpty getegid geteuid getgid getgroups getloadavg
getpgid getpgrp getpriority getresuid getsid getuid initgroups killpg lchown link lockf major makedev minor mkfifo mknod
nice openpty pathconf pipe2 posix_fadvise posix_fallocate posix_spawn pread preadv pwrite readv register_at_fork
sched_getaffinity sched_yield sendfile setegid seteuid setgid setgroups setpgid setpriority setsid setuid statvfs sync
sysconf tcgetpgrp tcsetpgrp ttyname uname wait wait3 wait4 writev WIFEXITED WEXITSTATUS O_CLOEXEC O_DIRECTORY
O_NOFOLLOW O_NONBLOCK O_NOCTTY""".split()
bare = types.ModuleType("os")
vars(bare).update({name: value for name, value in vars(os).items() if name not in NAMES})
asked, noted = builtins.__import__, []

def hiding(name, globals=None, locals=None, fromlist=(), level=0):
    inside = os.sep + "dampkit" + os.sep in ((globals or {}).get("__file__") or "")
    if not inside:
        return asked(name, globals, locals, fromlist, level)
    if not noted:
        noted.append(os.getpid())
        with open(os.environ["HIDDEN_IN"], "a") as file:
            file.write(f"{os.getpid()}\\n")
    if name.partition(".")[0] in MODULES:
        raise ImportError(f"no module named {name} here")
    return bare if name == "os" else asked(name, globals, locals, fromlist, level)

builtins.__import__ = hiding
'''


@pytest.fixture
def bare_system(tmp_path: Path) -> dict[str, str]:
    """Variables of a process that sees such a system."""
    place = tmp_path / "hiding"
    place.mkdir()
    (place / "sitecustomize.py").write_text(HIDING)
    paths = os.pathsep.join([str(place), str(ROOT)])
    return {**os.environ, "PYTHONPATH": paths, "HIDDEN_IN": str(place / "hidden.txt")}


def hidden_in(variables: dict[str, str]) -> int:
    """How many processes saw it."""
    return len(set(Path(variables["HIDDEN_IN"]).read_text().split()))


def run(variables: dict[str, str], *words: object) -> str:
    command = [sys.executable, "-m", "dampkit", *map(str, words)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=variables)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_hiding_hides(bare_system: dict[str, str]) -> None:
    code = (
        "from dampkit import files; print([hasattr(files.os, name) for name in ('fork', 'geteuid', 'link', 'fsync')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=bare_system)
    assert done.stdout.strip() == "[False, False, False, True]"


def test_a_whole_job_on_a_system_without_posix(tmp_path: Path, bare_system: dict[str, str]) -> None:
    log, book = good_log(tmp_path / "run.csv"), tmp_path / "book.sqlite"
    files = [word for kind in ("bench", "damper") for word in (f"--{kind}", log.with_suffix(f".{kind}.toml"))]
    page, out = tmp_path / "page.html", tmp_path / "out.json"
    run(bare_system, "analyse", log, *files, "--report", page, "--json", out)
    assert "</html>" in page.read_text(encoding="utf-8")
    assert json.loads(out.read_text())["format"] == "dampkit-result/1"
    assert "entry 1" in run(bare_system, "book", "add", log, *files, "--book", book)
    run(bare_system, "book", "backup", tmp_path / "copy.sqlite", "--book", book)
    assert "1 entries, every byte as it was added" in run(bare_system, "book", "check", "--book", book)


@pytest.mark.slow
def test_a_batch_in_processes_and_a_spreadsheet_on_a_system_without_posix(
    tmp_path: Path, bare_system: dict[str, str]
) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    logs = tmp_path / "logs"
    logs.mkdir()
    for n in range(3):
        good_log(logs / f"run{n}.csv", zero_n=float(n))
    book = openpyxl.Workbook()
    for row in (logs / "run0.csv").read_text().splitlines():
        book.active.append([float(c) if c.replace(".", "").lstrip("-").isdigit() else c for c in row.split(",")])
    book.save(logs / "sheet.xlsx")
    (logs / "sheet.bench.toml").write_text((logs / "run0.bench.toml").read_text())
    run(bare_system, "batch", logs, "--out", tmp_path / "out", "--jobs", "2", "--pages")
    table = (tmp_path / "out" / "table.csv").read_text(encoding="utf-8-sig").splitlines()
    assert [row.split(",")[1] for row in table[1:]] == ["0"] * 4
    assert hidden_in(bare_system) >= 4  # this one, two that work, and one that reads the spreadsheet


def planned(log: Path) -> Task:
    _, task = plan_one((log,), JobFiles(), send=False)
    assert task is not None
    return task


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:.*multi-threaded:DeprecationWarning")  # what Python says of any fork
@pytest.mark.parametrize("way", multiprocessing.get_all_start_methods())
def test_a_worker_answers_the_same_however_its_process_is_started(way: str, tmp_path: Path) -> None:
    tasks = [planned(good_log(tmp_path / f"run{n}.csv", zero_n=float(n))) for n in range(2)]
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context(way)) as pool:
        assert list(pool.map(analyse_task, tasks)) == [analyse_task(task) for task in tasks]


def test_a_file_that_another_program_keeps_open_is_named_and_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows refuses to replace it."""
    old = tmp_path / "page.html"
    old.write_text("old")

    def refused(self: Path, target: Path) -> Path:
        raise PermissionError(13, "Access is denied", str(target))

    monkeypatch.setattr(Path, "replace", refused)
    with pytest.raises(BadSettings, match="close it in other programs"):
        write_all([text_output(old, "new")])
    assert old.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"]


@pytest.mark.parametrize("name", ["con.html", "AUX", "nul.tar.gz", "Com1.json", "lpt9 .csv"])
def test_a_name_that_windows_keeps_for_a_device_is_refused_there(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    check_outputs([tmp_path / name], [])
    monkeypatch.setattr("dampkit.files.WINDOWS", True)
    with pytest.raises(BadSettings, match="for a device"):
        check_outputs([tmp_path / name], [])
    check_outputs([tmp_path / f"re{name}"], [])


def test_a_name_is_given_once_with_and_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for n, links in enumerate((True, False)):
        if not links:
            monkeypatch.delattr(os, "link")
        first, second, place = (tmp_path / f"{n}{name}" for name in ("first", "second", "place"))
        first.write_text("first")
        second.write_text("second")
        onto_disk(first)
        name_if_free(first, place)
        name_if_free(second, place)
        assert place.read_text() == "first"


def test_a_command_is_quoted_as_its_shell_wants_it(monkeypatch: pytest.MonkeyPatch) -> None:
    words = ["dampkit", "look", "my runs/a.csv"]
    assert command_line(words) == "dampkit look 'my runs/a.csv'"
    monkeypatch.setattr("dampkit.app.say.WINDOWS", True)
    assert command_line(words) == 'dampkit look "my runs/a.csv"'


def test_text_is_written_with_the_same_bytes_everywhere(tmp_path: Path) -> None:
    write_all([text_output(tmp_path / "a", "Ω\n"), Output(tmp_path / "b", lambda to: to.write_bytes(b"x"))])
    assert (tmp_path / "a").read_bytes() == "Ω\n".encode()
