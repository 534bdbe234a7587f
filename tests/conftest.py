"""How much of the suite runs, and a real browser for the page's checks.

Of the tests marked `slow` one in SHARE runs, another one for each commit; `--slow all` runs all of them, `--slow none`
none. The browser is the system's Chromium, driven by Playwright, which downloads nothing.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("any machine", deadline=None)  # a slow example is no fault
settings.load_profile("any machine")

SHARE = 24  # one in so many of the slow tests runs unless more is asked for ...
TOGETHER = 2  # ... so many neighbours at a time, which often share what takes the time


def pytest_addoption(parser: pytest.Parser) -> None:
    said = f"of the tests marked slow: one in {SHARE}, another one for each commit (share); all; or none"
    parser.addoption("--slow", choices=("share", "all", "none"), default="share", help=said)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    wanted, turn = config.getoption("--slow"), commits()
    if wanted == "all" or config.getoption("markexpr") or any("::" in word for word in config.args):
        return  # who names slow tests gets them
    slow = [item for item in items if item.get_closest_marker("slow")]
    left = {item for i, item in enumerate(slow) if wanted == "none" or (i // TOGETHER - turn) % SHARE}
    config.hook.pytest_deselected(items=list(left))
    items[:] = [item for item in items if item not in left]


def commits() -> int:
    """How many commits this checkout has; 0 without a repository."""
    words = ["git", "rev-list", "--count", "HEAD"]
    try:
        done = subprocess.run(words, capture_output=True, text=True, check=True, cwd=Path(__file__).parent)
        return int(done.stdout)
    except (OSError, subprocess.CalledProcessError, ValueError):
        return 0


os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # the many processes that are started compile nothing anew
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one thread for each worker, set before numpy is loaded
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


def missing(why: str) -> None:
    """Skip, with the reason; fail where the browser's checks may not be left out."""
    if os.environ.get("DAMPKIT_BROWSER_REQUIRED") == "1":
        pytest.fail(f"the browser's checks are required, but {why}")
    pytest.skip(why)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A running headless Chromium."""
    if CHROMIUM is None:
        missing("no chromium is installed")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("the package playwright is not installed")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield running
        running.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """The text of axe-core, as its Python package carries it."""
    try:
        import axe_playwright_python
    except ImportError:
        missing("the package axe-playwright-python is not installed")
    return (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="session", autouse=True)
def every_result_fits_the_published_schema() -> Iterator[None]:
    """Whatever becomes a dictionary in the tests is held against the schema, at the one place where it does."""
    import jsonschema

    from dampkit.outcome.published import schema_of
    from dampkit.outcome.result import Result

    schema, plain = jsonschema.Draft202012Validator(schema_of("result")), Result.to_dict
    held: set[str] = set()

    def checked(result: Result) -> dict[str, Any]:
        made = plain(result)
        if (written := json.dumps(made)) not in held:
            schema.validate(made)
            held.add(written)
        return made

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Result, "to_dict", checked)
        yield
