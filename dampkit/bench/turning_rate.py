"""How often a closed loop is gone round, as headings, lines above the table or bench.toml say it."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from dampkit.bench.declared import BenchSpec
from dampkit.bench.units import factor_of, unit_named
from dampkit.bench.words import RATE
from dampkit.frozen import frozen

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_UNIT = r"(hz|rpm|r/min|rev/min|1/min|u/min|m/s|mm/s|in/s)"
_ROUND = re.compile(_NUMBER + rf"\s*{_UNIT}(?![\w/])", re.IGNORECASE)
_BEFORE = (
    r"[\])]?[:=;,\s]+" + _NUMBER + r"[;,\s]*$"
)  # a line may name the unit first: `crank rpm: 90`, `stroke [mm];50`
_ROUND_LINE = re.compile(rf"(?<![\w/]){_UNIT}{_BEFORE}", re.IGNORECASE)
_LENGTH = r"(?:stroke|hub|course|carrera|corsa|slag)\b[^\d\n]{0,24}"
_STROKE = re.compile(_LENGTH + _NUMBER + r"\s*(mm|cm|m|in)\b", re.I)
_STROKE_LINE = re.compile(_LENGTH + r"(?<!\w)(mm|cm|m|in)" + _BEFORE, re.I)
_MINUTE = ("rpm", "r/min", "rev/min", "1/min", "u/min")


@frozen
class Rate:
    """Turns a second, or the peak speed of a sine, which gives them with the stroke; `source` in words."""

    source: str
    frequency_hz: float | None = None
    peak_m_s: float | None = None

    def turns_a_second(self, stroke_m: float) -> float:
        """Peak speed of a sine: pi times frequency times stroke (peak to peak)."""
        return self.frequency_hz or float(self.peak_m_s or 0.0) / (np.pi * stroke_m)


def rate_of(headings: Sequence[str], preamble: Sequence[str], spec: BenchSpec) -> Rate | None:
    """bench.toml first, then the loop's own headings, then the lines above the table; None where none says it."""
    timing = spec.timing
    if timing.frequency_hz is not None:
        return Rate("bench.toml", timing.frequency_hz)
    if timing.crank_rpm is not None:
        return Rate("bench.toml", timing.crank_rpm / 60.0)
    for source, lines in (("its heading", headings), ("the lines above the table", preamble)):
        found = [rate for line in lines if not re.search(RATE, line, re.I) for rate in _stated(line, source)]
        if len({(rate.frequency_hz, rate.peak_m_s) for rate in found}) == 1:
            return found[0]
    return None


def _stated(line: str, source: str) -> list[Rate]:
    out = []
    told = [(m[1], m[2]) for m in _ROUND.finditer(line)] or [(m[2], m[1]) for m in _ROUND_LINE.finditer(line)]
    for number, name in told:
        value, unit = float(number.replace(",", ".")), name.lower()
        if value <= 0:
            continue
        if unit == "hz" or unit in _MINUTE:
            out.append(Rate(source, value if unit == "hz" else value / 60.0))
        else:
            out.append(Rate(source, peak_m_s=value * factor_of(str(unit_named(unit, "velocity")), "velocity")))
    return out


def stroke_m(preamble: Sequence[str], spec: BenchSpec) -> float | None:
    """Peak to peak, from bench.toml or the lines above the table."""
    if spec.motion.stroke_mm is not None:
        return 1e-3 * spec.motion.stroke_mm
    for line in preamble:
        match, turned = _STROKE.search(line), _STROKE_LINE.search(line)
        number, name = (match[1], match[2]) if match else (turned[2], turned[1]) if turned else ("0", "m")
        value = float(number.replace(",", "."))
        if value > 0:
            return value * factor_of(str(unit_named(name, "displacement")), "displacement")
    return None
