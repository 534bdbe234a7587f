"""The time of every row, in seconds, from whatever the log gives."""

from __future__ import annotations

import re

import numpy as np

from dampkit.bench.channels import Channel
from dampkit.bench.layout import Layout
from dampkit.bench.run import Notes
from dampkit.bench.units import to_si
from dampkit.bench.words import INTERVAL, RATE
from dampkit.errors import UnreadableLog
from dampkit.quantities import Array, median, number

LONGEST_INTERVAL_S = 0.05  # a log slower than 20 rows a second could hardly show a loop
HALF_DAY_S = 43_200.0
_NUMBER = r"[^\d\n]{0,24}?(\d+(?:[.,]\d+)?)\s*(k?hz|samples/s|s/s|1/s|ms|us|µs|s)?\b"


def time_axis(
    values: Array | None,
    channel: Channel | None,
    layout: Layout,
    declared_hz: float | None,
    rows: int,
    notes: Notes,
    where: str,
) -> Array:
    """Seconds of every row, shape (rows,); NaN where the log has a gap there.

    Raises UnreadableLog where neither a time column nor a sample rate is known, or the unit of time stays open.
    """
    noted_hz = rate_in_preamble(layout.preamble)
    if values is None or channel is None or channel.form == "sample":
        counts = np.arange(rows, dtype=np.float64) if values is None else values
        return counts / _rate(declared_hz, noted_hz, channel, notes, where)
    time = _clock(values) if channel.form == "clock" else _counted(values, channel, notes, where)
    early = time[:100_000]
    steps = np.diff(early[np.isfinite(early)])
    measured = 1.0 / (median(steps) or np.inf) if steps.size else 0.0
    for said, source in ((declared_hz, "bench.toml"), (noted_hz, "the preamble")):
        if said is not None and measured > 0 and abs(measured / said - 1) > 0.02:
            notes.noticed(
                "sample_rate_disagrees",
                "warning",
                f"{source} says {number(said, 4)} rows a second, the time column {number(measured, 4)}."
                " The time column was used.",
                "declare",
            )
    return time


def rate_in_preamble(preamble: tuple[str, ...]) -> float | None:
    """Rows a second as the lines above the table give it, or None."""
    for line in preamble:
        for words, is_rate in ((RATE, True), (INTERVAL, False)):
            match = re.search(f"(?:{words}){_NUMBER}", line, re.IGNORECASE)
            value = float(match[match.lastindex or 0].replace(",", ".")) if match and match.lastindex == 1 else None
            unit = ""
            if match and match.lastindex == 2:
                value, unit = float(match[1].replace(",", ".")), match[2].lower()
            rate = _as_hz(value, unit, is_rate) if value else None
            if rate:
                return rate
    return None


def _as_hz(value: float, unit: str, is_rate: bool) -> float | None:
    if unit in ("s", "ms", "us", "µs"):
        return 1.0 / (value * {"s": 1.0, "ms": 1e-3}.get(unit, 1e-6))
    if not is_rate:
        return None  # an interval without a unit says nothing
    return value * (1000.0 if unit == "khz" else 1.0)


def _rate(declared: float | None, noted: float | None, channel: Channel | None, notes: Notes, where: str) -> float:
    rate = declared or noted
    if rate is None:
        what = "no time column" if channel is None else f"column {channel.heading!r} only counts the rows"
        raise UnreadableLog(
            where,
            f"{what}, and nothing gives the sample rate",
            "a time column, or the number of rows a second",
            "state it in bench.toml: [timing] sample_rate_hz = 1000.0",
        )
    source = "bench.toml" if declared else "the lines above the table"
    notes.did("time from the sample rate", f"no time column; rate from {source}", sample_rate_hz=rate)
    notes.noticed(
        "time_from_rate",
        "note",
        f"Time was worked out from {number(rate, 5)} rows a second ({source}): speeds are as exact as that figure,"
        " and rows the bench lost would not show.",
        "declare",
    )
    return rate


def _clock(values: Array) -> Array:
    """Clock times, going on past midnight."""
    steps = np.diff(values, prepend=values[:1])
    if np.nanmin(steps, initial=0.0) > -HALF_DAY_S:
        return values
    return values + 2 * HALF_DAY_S * np.cumsum(np.nan_to_num(steps) < -HALF_DAY_S)


def _counted(values: Array, channel: Channel, notes: Notes, where: str) -> Array:
    if channel.unit is not None:
        return to_si(values, channel.unit, "time")
    finite = values[np.isfinite(values)]
    interval = float(np.ptp(finite)) / max(1, finite.size - 1) if finite.size else 0.0
    if interval > LONGEST_INTERVAL_S:
        raise UnreadableLog(
            f"{where}, column {channel.heading!r}",
            f"time goes up by {interval:g} a row and no unit is given: in seconds that is too slow for a bench log,"
            f" in milliseconds it is {1000 / interval:g} rows a second",
            "the unit of time",
            'state it in bench.toml: [units] time = "ms"',
        )
    notes.noticed(
        "time_unit_assumed", "warning", f"Column {channel.heading!r} gives no unit; seconds were assumed.", "declare"
    )
    notes.did("time taken as seconds", "the log gives no unit of time", interval_s=interval)
    return values
