"""Writing a log changes its looks, not its values."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dampkit.virtual.dialects import CLOCK, DIALECTS, GERMAN, INCH, PLAIN, SPEED_ONLY, bench_toml, write_csv
from dampkit.virtual.rig import Log

TIME_S = np.array([0.0, 0.0021, 0.004])
LOG = Log(
    TIME_S,
    np.array([0.0254, -0.001, 1e-8]),
    np.array([1000.0, -444.82, -0.001]),
    np.array([0.1, -0.25, 0.0]),
    np.array([20.0, 100.0, 22.5]),
)


def test_plain() -> None:
    assert write_csv(LOG, PLAIN).decode() == (
        "time_s,displacement_mm,force_N,temperature_C\n"
        "0.000,25.400,1000.0,20.0\n0.002,-1.000,-444.8,100.0\n0.004,0.000,0.0,22.5\n"
    )


def test_german_has_decimal_commas_preamble_units_and_its_code_page() -> None:
    content = write_csv(LOG, GERMAN)
    lines = content.decode("cp1252").split("\r\n")
    assert lines[0].startswith("Prüfstand")
    assert lines[4:7] == ["Zeit;Weg;Kraft;Temperatur", "s;mm;kN;°C", "0,000;25,400;1,0000;20,0"]
    with pytest.raises(UnicodeDecodeError):
        content.decode("utf-8")


def test_inch_pound_and_fahrenheit_with_compression_positive() -> None:
    lines = write_csv(LOG, INCH).decode().splitlines()
    # 25.4 mm = 1 in, 444.82 N = 100 lbf, 100 degC = 212 degF (definitions)
    assert lines[3].split("\t") == ["0.0000", "-1.00000", "-224.81", "68.0"]
    assert lines[4].split("\t")[2:] == ["100.00", "212.0"]
    assert 'force_positive = "compression"' in bench_toml(INCH)


def test_clock_times_and_speed_without_travel() -> None:
    assert write_csv(LOG, CLOCK).decode().splitlines()[4].startswith("09:00:00.0021,")
    assert write_csv(LOG, SPEED_ONLY).decode().splitlines()[:2] == ["t [ms];v [mm/s];F [daN]", "0.0;100.00;100.000"]


@pytest.mark.parametrize("name", DIALECTS)
def test_a_missing_channel_leaves_its_column_out(name: str) -> None:
    bare = replace(LOG, temperature_c=None)
    dialect = DIALECTS[name]
    text = write_csv(bare, dialect).decode(dialect.encoding)
    assert "emp" not in text
    rows = [line for line in text.splitlines() if line[:1].isdigit() and dialect.delimiter in line]
    assert {row.count(dialect.delimiter) for row in rows} == {2}
