"""SVG to PNG by a browser of the Chromium family that is installed anyway; no library is needed for it."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

from dampkit.errors import BadSettings
from dampkit.files import Output, runs_as_root

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
SCALE = 2  # pixels for each unit of the drawing
SECONDS = 60


def png_output(place: Path, svg: str, size: tuple[int, int]) -> Output:
    """Raises BadSettings where no such browser is installed; writing raises it where the browser fails."""
    browser = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if browser is None:
        raise BadSettings(
            str(place),
            "no Chromium or Chrome is installed to draw a PNG",
            "one of " + ", ".join(BROWSERS),
            "install one, or use --figures-as svg",
        )
    return Output(place, lambda to: _draw(browser, svg, size, to))


def _draw(browser: str, svg: str, size: tuple[int, int], to: Path) -> None:
    with tempfile.TemporaryDirectory(prefix="dampkit-") as folder:
        source, drawn = Path(folder) / "figure.svg", Path(folder) / "figure.png"
        source.write_text(svg, encoding="utf-8")
        command = [
            browser, "--headless", "--disable-gpu", "--hide-scrollbars", "--no-first-run",
            *(["--no-sandbox"] if runs_as_root() else []),  # Chromium refuses to run as root with its sandbox
            f"--user-data-dir={folder}/profile", f"--force-device-scale-factor={SCALE}",
            f"--window-size={size[0]},{size[1]}", f"--screenshot={drawn}", source.as_uri(),
        ]  # fmt: skip
        try:
            done = subprocess.run(command, capture_output=True, timeout=SECONDS, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            raise _failed(to, str(error)) from None
        if done.returncode != 0 or not drawn.is_file() or drawn.stat().st_size == 0:
            raise _failed(to, f"{browser} ended with status {done.returncode}")
        shutil.copyfile(drawn, to)


def _failed(to: Path, why: str) -> BadSettings:
    return BadSettings(str(to), f"the PNG was not drawn: {why}", "a picture", "use --figures-as svg")
