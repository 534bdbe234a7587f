"""A real browser for the page's checks: the system's Chromium, driven by Playwright, which downloads nothing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

settings.register_profile("any machine", deadline=None)  # a slow example is no fault
settings.load_profile("any machine")

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
