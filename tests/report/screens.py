"""Screenshots at phone and desk width and the print PDF of pages, to be looked at.

python -m tests.report.screens OUT_DIR PAGE.html ...
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.conftest import CHROMIUM
from tests.report.browsing import DESK, PHONE, visit


def take(out: Path, pages: list[Path]) -> list[Path]:
    """First screen and whole page at both widths, and a PDF for A4 and Letter; the files written."""
    from playwright.sync_api import sync_playwright

    out.mkdir(parents=True, exist_ok=True)
    made: list[Path] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for place in pages:
            for size in (PHONE, DESK):
                with visit(browser, place.resolve(), size) as seen:
                    for whole in (False, True):
                        made.append(out / f"{place.stem}-{size[0]}{'-whole' if whole else ''}.png")
                        seen.page.screenshot(path=made[-1], full_page=whole)
            with visit(browser, place.resolve()) as seen:
                for paper in ("A4", "Letter"):
                    made.append(out / f"{place.stem}-{paper}.pdf")
                    seen.page.pdf(path=made[-1], format=paper)
        browser.close()
    return made


if __name__ == "__main__":
    for path in take(Path(sys.argv[1]), [Path(name) for name in sys.argv[2:]]):
        print(path)
