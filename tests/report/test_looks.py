"""Colours: from a published palette, and with enough contrast in light and in dark."""

from __future__ import annotations

import re

import pytest

from dampkit.report.document import TEMPLATES

# Okabe and Ito 2008, Color Universal Design: the eight colours (from memory of the published table)
PALETTE = {"#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7"}
CSS = (TEMPLATES / "page.css").read_text()
LIGHT, DARK = (
    dict(re.findall(r"--([\w-]+): (#\w+);", block)) for block in re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
)


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * c for c in colour[1:])
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dim + 0.05)


def test_black_on_white_has_the_contrast_that_the_guidelines_state() -> None:
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_and_pictures_stand_out_from_the_paper(scheme: dict[str, str]) -> None:
    """WCAG 2.2: 1.4.3 asks 4.5 for text, 1.4.11 asks 3 for parts of pictures."""
    assert all(contrast(scheme[ink], scheme["paper"]) >= 4.5 for ink in ("ink", "muted", "link"))
    assert all(contrast(scheme[ink], scheme["paper"]) >= 3.0 for ink in ("curve", "need", "reference"))


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_picture_colours_come_from_the_palette(scheme: dict[str, str]) -> None:
    assert {scheme[ink] for ink in ("curve", "need", "reference")} <= PALETTE


def test_style_sheet_serves_paper_and_focus() -> None:
    assert "@media print" in CSS
    assert ":focus-visible" in CSS
    assert "prefers-color-scheme: dark" in CSS
