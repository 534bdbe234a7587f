"""Units at the edges, values with their intervals, and how numbers are written.

Inside the package everything is SI and the unit is the tail of a name. This is the one place where
other units are turned into SI and where numbers become text.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Any, Literal, TypeVar

import numpy as np
import numpy.typing as npt

from dampkit.frozen import frozen

Array = npt.NDArray[np.float64]
T = TypeVar("T", bound=np.generic)
Mask = npt.NDArray[np.bool_]
Index = npt.NDArray[np.intp]
Z95 = 1.959963984540054  # two-sided 95 % point of the normal distribution

# Exact by definition: the international inch and pound, standard gravity. (scipy.constants takes long to import.)
GRAVITY_M_S2 = 9.80665
KILOGRAM_FORCE_N = GRAVITY_M_S2
POUND_FORCE_N = 0.45359237 * GRAVITY_M_S2
INCH_M = 0.0254
FOOT_M = 12 * INCH_M
ZERO_CELSIUS_K = 273.15

STUDENT_ROUNDS = 30
BLOCK_ROWS = 1 << 15  # of a long log that are worked on at once

Direction = Literal["rebound", "compression"]
DIRECTIONS: tuple[Direction, Direction] = ("rebound", "compression")
SIGN: dict[Direction, float] = {"rebound": 1.0, "compression": -1.0}  # of velocity and of a force that resists it
OTHER: dict[Direction, Direction] = {"rebound": "compression", "compression": "rebound"}


@frozen
class Estimate:
    """A value with its 95 % interval, both in the unit that the field's name ends with."""

    value: float
    low: float
    high: float

    @classmethod
    def from_standard_error(cls, value: float, standard_error: float, k: float = Z95) -> Estimate:
        """Symmetric interval value +/- k standard errors."""
        half = k * abs(standard_error)
        return cls(float(value), float(value - half), float(value + half))

    def scaled(self, factor: float) -> Estimate:
        """The same quantity in another unit, or times a known constant; keeps low <= high."""
        ends = sorted((self.low * factor, self.high * factor))
        return Estimate(self.value * factor, ends[0], ends[1])

    @property
    def half_width(self) -> float:
        return 0.5 * (self.high - self.low)

    def to_dict(self) -> dict[str, float]:
        return {"value": self.value, "low": self.low, "high": self.high}


def propagated(gradient: Array, covariance: Array) -> Array:
    """Covariance of outputs from that of inputs, to first order: J C J^T.

    gradient (outputs, inputs), covariance (inputs, inputs). Source: [jcgm100] 5.2 and H.2 for several outputs.
    """
    return np.asarray(gradient @ covariance @ gradient.T)


def read_only(values: Any) -> Array:
    """A float64 array that nobody downstream can write to."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def stretches(mask: Mask) -> tuple[Index, Index]:
    """First place of each stretch that holds, and the place past its last; mask (N,)."""
    padded = np.concatenate([[False], mask, [False]])
    edges = np.flatnonzero(padded[1:] != padded[:-1])
    return edges[::2], edges[1::2]


def blocks(rows: int, shared: int = 0) -> Iterator[slice]:
    """Slices that follow one another over so many rows, each beginning `shared` rows before the one before it ends.

    What is worked out a slice at a time stays in the processor's cache, and takes no memory the size of a long log.
    """
    for start in range(0, rows - shared, BLOCK_ROWS):
        yield slice(start, min(rows, start + BLOCK_ROWS + shared))


# numpy's own of these load its masked arrays at the first call, which takes as long as reading a log
def distinct(values: npt.NDArray[T]) -> npt.NDArray[T]:
    """Each value once, rising."""
    ordered = np.sort(values, axis=None)
    keep: Mask = np.append(True, ordered[1:] != ordered[:-1])[: ordered.size]
    return ordered.compress(keep)


def quantiles(values: npt.ArrayLike, shares: Sequence[float]) -> Array:
    """Linear between two neighbours, a value a share; NaN of no values, and where one is NaN."""
    flat = np.ravel(np.asarray(values, dtype=np.float64))
    if not flat.size:
        return np.full(len(shares), np.nan)
    place = np.asarray(shares) * (flat.size - 1)
    low = place.astype(np.intp)
    high = np.minimum(low + 1, flat.size - 1)
    parted = np.partition(flat, [*low, *high, flat.size - 1])
    a, b, share = parted[low], parted[high], place - low
    between = np.where(share < 0.5, a + (b - a) * share, b - (b - a) * (1 - share))
    return np.where(np.isnan(parted[-1]), np.nan, between)


def median(values: npt.ArrayLike) -> float:
    """Of all values; NaN of none, and where one is NaN."""
    return float(medians(np.ravel(np.asarray(values, dtype=np.float64))))


def medians(values: Array) -> Array:
    """Along the last axis."""
    count = values.shape[-1]
    if not count:
        return np.full(values.shape[:-1], np.nan)
    low, high = (count - 1) // 2, count // 2
    parted = np.partition(values, (low, high, count - 1), axis=-1)
    return np.where(np.isnan(parted[..., -1]), np.nan, 0.5 * (parted[..., low] + parted[..., high]))


def places_for(half_width: float) -> int:
    """Decimal places to keep (negative: round to tens, hundreds) for a value with this half-width of its interval.

    Two significant digits of the half-width while it starts with 1, 2 or 3, one from there on.
    Source: [jcgm100] 7.2.6 (at most two significant digits); where to change to one digit is our choice.
    """
    if not math.isfinite(half_width) or half_width <= 0:
        return 3
    size = math.floor(math.log10(half_width))
    return 1 - size if half_width < 4 * 10.0**size else -size


def number(value: float, digits: int = 3) -> str:
    """A plain number with so many significant digits and no exponent for everyday sizes."""
    if not math.isfinite(value):
        return "not a number"
    if value == 0:
        return "0"
    places = digits - 1 - int(f"{value:.{digits - 1}e}".partition("e")[2])
    return f"{round(value, places):.{max(0, places)}f}"


def with_interval(estimate: Estimate | None, unit: str, digits: int | None = None) -> str:
    """`1523 N (1495 to 1551)`, rounded by its own uncertainty; `not established` for None.

    `digits`: significant ones of the value at most; an interval that does not show in them is left out.
    """
    if estimate is None:
        return "not established"
    tail = f" {unit}" if unit else ""
    if estimate.half_width == 0:
        return f"{number(estimate.value, 4)}{tail}"
    places = places_for(estimate.half_width)
    if estimate.low > 0 and round(estimate.value, places) == 0:  # known from below, from above hardly
        places = places_for(estimate.value - estimate.low)
    if digits is not None and estimate.value:
        places = min(places, digits - 1 - math.floor(math.log10(abs(estimate.value))))
    value, low, high = (
        f"{round(x, places):z.{max(0, places)}f}" for x in (estimate.value, estimate.low, estimate.high)
    )
    return f"{value}{tail}" if low == value == high else f"{value}{tail} ({low} to {high})"


def normal_share(z: float) -> float:
    """Share of a standard normal distribution below z."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def student_95(freedom: int) -> float:
    """Two-sided 95 % point of Student's distribution. Source: [abramowitz1964] 26.7.3 and 26.7.4, solved by Newton's rule.

    From below, where it climbs steadily, since the share between -t and t is concave in t.
    """
    t = Z95
    for _ in range(STUDENT_ROUNDS):
        angle = math.atan2(t, math.sqrt(freedom))
        cos, odd = math.cos(angle), freedom % 2
        term, terms = (cos if odd else 1.0), 0.0
        for k in range(2 + odd, freedom + 1, 2):
            terms += term
            term *= (k - 1) / k * cos * cos
        share = 2 / math.pi * (angle + math.sin(angle) * terms) if odd else math.sin(angle) * terms
        log_density = math.lgamma(0.5 * freedom + 0.5) - math.lgamma(0.5 * freedom) + (freedom + 1) * math.log(cos)
        step = (0.95 - share) / (2 * math.exp(log_density) / math.sqrt(math.pi * freedom))
        t += step
        if abs(step) < 1e-13 * t:
            break
    return t


def running_integral(values: Array, over: Array) -> Array:
    """Integral of `values` over `over` from the first place on, trapezoid rule; both and the result shape (N,), N > 0."""
    out = np.zeros(values.size)
    for rows in blocks(values.size, shared=1):
        out[rows][1:] = 0.5 * (values[rows][1:] + values[rows][:-1]) * np.diff(over[rows])
    return np.cumsum(out, out=out)


def not_negative_fit(columns: Array, values: Array, free: int = 0) -> Array:
    """Least squares with coefficients >= 0, the last `free` of them of any sign. columns (N, K), values (N,), result (K,).

    Every choice of coefficients held at 0 is tried, so K - free must be small. Source: own; exact, as the best fit
    is the free one on the columns that are not held. Checked against scipy.optimize.nnls, which takes long to import.
    """
    bounded = columns.shape[1] - free
    best, least = np.zeros(columns.shape[1]), np.inf
    for choice in product((True, False), repeat=bounded):
        used = np.array([*choice, *([True] * free)])
        found = np.zeros(columns.shape[1])
        found[used] = np.linalg.lstsq(columns[:, used], values, rcond=None)[0] if used.any() else ()
        rest = float(np.sum((values - columns @ found) ** 2))
        if rest < least and (found[:bounded] >= 0).all():
            best, least = found, rest
    return best
