"""SVG to PNG by a browser of the Chromium family that is installed anyway; no library is needed for it."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from dampkit.app.files import Output
from dampkit.errors import BadSettings

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
        source = Path(folder) / "figure.svg"
        source.write_text(svg, encoding="utf-8")
        command = [
            browser, "--headless", "--disable-gpu", "--hide-scrollbars", "--no-first-run",
            *(["--no-sandbox"] if os.geteuid() == 0 else []),  # Chromium refuses to run as root with its sandbox
            f"--user-data-dir={folder}/profile", f"--force-device-scale-factor={SCALE}",
            f"--window-size={size[0]},{size[1]}", f"--screenshot={to.resolve()}", source.as_uri(),
        ]  # fmt: skip
        try:
            done = subprocess.run(command, capture_output=True, timeout=SECONDS, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            raise _failed(to, str(error)) from None
    if done.returncode != 0 or not to.is_file() or to.stat().st_size == 0:
        raise _failed(to, f"{browser} ended with status {done.returncode}")


def _failed(to: Path, why: str) -> BadSettings:
    return BadSettings(str(to), f"the PNG was not drawn: {why}", "a picture", "use --figures-as svg")
