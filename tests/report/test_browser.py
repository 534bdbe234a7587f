"""The page in a real browser, where one is installed: scripts run, pictures can be zoomed, text does no harm."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from dampkit.report.page import render
from tests.report.made_up import sound
from tests.report.test_hostile import poisoned

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = [pytest.mark.slow, pytest.mark.skipif(BROWSER is None, reason="no chromium here")]

PRESS = """<script>
for (const button of document.querySelectorAll("button.zoom")) button.click();
document.body.dataset.wide = String(document.documentElement.scrollWidth > innerWidth);
</script></body>"""


def opened(html: str, folder: Path) -> str:
    """The document as it stands after its scripts ran; the trial page presses every zoom button."""
    page = folder / "page.html"
    page.write_text(html.replace("</body>", PRESS), encoding="utf-8")
    quiet = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
    size = ["--window-size=500,900", "--virtual-time-budget=5000", f"--user-data-dir={folder / 'profile'}"]
    command = [str(BROWSER), *quiet, *size, "--dump-dom", page.as_uri()]
    return subprocess.run(command, capture_output=True, text=True, timeout=90, check=True).stdout


def test_every_big_picture_becomes_interactive_when_asked(tmp_path: Path) -> None:
    seen = opened(render(sound()), tmp_path)
    assert len(re.findall(r'class="live js-plotly-plot" id="(?:force|loops|ratio)-live"', seen)) == 3
    assert 'data-wide="false"' in seen


def test_foreign_text_runs_no_script(tmp_path: Path) -> None:
    attack = "<img src=x onerror=\"document.title='taken'\"></script><script>document.title='taken'</script>"
    seen = opened(render(poisoned(sound(), attack)), tmp_path)
    assert "<title>taken" not in seen
    assert seen.count("js-plotly-plot") >= 3
    assert 'data-wide="false"' in seen
