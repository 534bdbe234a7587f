"""Headings as benches write them."""

from __future__ import annotations

import pytest

from dampkit.bench.headings import read_heading


@pytest.mark.parametrize(
    ("text", "channel", "unit"),
    [
        ("Load (lbf)", "force", "lbf"),
        ("force_N", "force", "N"),
        ("oil temp [degC]", "temperature", "degC"),
        ("temperature_C", "temperature", "degC"),
        ("Kraft in N", "force", "N"),
        ("Dämpferkraft/kN", "force", "kN"),
        ("Kolbenweg [mm]", "displacement", "mm"),
        ("velocity_m_s", "velocity", "m/s"),
        ("Piston speed (mm/s)", "velocity", "mm/s"),
        ("Zeit_ms", "time", "ms"),
        ("t/s", "time", "s"),
        ("F/N", "force", "N"),
        ("s (mm)", "displacement", "mm"),
        ("Channel 3 (kN)", "force", "kN"),
        ("mm", "displacement", "mm"),
        ("temps (s)", "time", "s"),
    ],
)
def test_channel_and_unit(text: str, channel: str, unit: str) -> None:
    heading = read_heading(text)
    assert heading.channels - {"clock"} == {channel}
    assert unit in heading.by_unit.values()


def test_words_and_unit_that_contradict_name_nothing() -> None:
    assert not read_heading("Load (mm)").recognised


def test_a_command_is_no_measurement() -> None:
    assert read_heading("stroke command (mm)").not_measured
    assert read_heading("Soll-Weg (mm)").not_measured


def test_unit_from_the_row_below() -> None:
    assert read_heading("Kraft", "kN").by_unit == {"force": "kN"}
