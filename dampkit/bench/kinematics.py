"""A crank's angle or a loop's displacement as turns and place: what stands in for time in a closed loop."""

from __future__ import annotations

import numpy as np

from dampkit.quantities import Array

CLOSES = 0.3  # of the mean step: a last row so near the first one is the first one again
EVEN_STEPS = 0.1  # spread of the steps in displacement below which the rows were taken along the stroke, not in time


def turns_of_angle(angle_rad: Array) -> Array:
    """Turns since the first row, rising, shape (N,), of an angle that may begin anew at every turn."""
    turns = np.unwrap(angle_rad) / (2 * np.pi)
    turns = turns - turns[0]
    return np.asarray(turns if turns[-1] >= 0 else -turns)


def place_of_crank(angle_rad: Array, stroke_m: float, rod_ratio: float | None, from_end: bool) -> Array:
    """Displacement [m] at a crank's angle, zero in the middle of the stroke, rising from angle zero on, shape (N,).

    From the dead centre away from the crank, a crank of radius r with a rod of length l = `rod_ratio` r stands at
    s = r (1 - cos a) + l (1 - sqrt(1 - sin(a)^2 / ratio^2)); a sine drive has no second part.
    Source: slider-crank kinematics, any textbook of mechanisms; from memory. Without a rod the angle may also count
    from the middle of the stroke.
    """
    radius = 0.5 * stroke_m
    if not from_end:
        return np.asarray(radius * np.sin(angle_rad))
    place = -radius * np.cos(angle_rad)
    if rod_ratio is not None:
        place = place + rod_ratio * radius * (1 - np.sqrt(1 - (np.sin(angle_rad) / rod_ratio) ** 2))
    return np.asarray(place)


def closing_row(place: Array, force: Array) -> bool:
    """Whether the last row is the first one again, written to close the loop."""
    points = np.stack([_scaled(place), _scaled(force)], axis=1)
    gap = float(np.hypot(*(points[-1] - points[0])))
    steps = np.hypot(*np.diff(points, axis=0).T)
    return gap < CLOSES * float(np.mean([steps[0], steps[-1]]))


def _scaled(values: Array) -> Array:
    return np.asarray(values / max(float(np.ptp(values)), 1e-300))


def whole_turns(place: Array) -> int:
    """How often a closed record passes its middle on the way up, noise left out; at least 1."""
    middle, band = 0.5 * (place.max() + place.min()), 0.25 * float(np.ptp(place))
    side = np.where(place > middle + band, 1, np.where(place < middle - band, -1, 0))
    side = side[side != 0]
    return max(1, int(np.sum((side == 1) & (np.roll(side, 1) == -1))))


def even_in_place(place: Array) -> bool:
    """Whether rows lie at even steps of displacement: taken along the stroke, or in time at constant speed."""
    steps = np.abs(np.diff(place))
    inner = steps[np.abs(place[:-1] - 0.5 * (place.max() + place.min())) < 0.48 * np.ptp(place)]
    return bool(inner.size > 8 and float(np.std(inner)) < EVEN_STEPS * float(np.mean(inner)))


def turns_of_sine(place: Array) -> Array:
    """Turns at each row of one closed loop whose drive is a sine, from the place alone, shape (N,), in [0, 1)."""
    u = np.clip((place - 0.5 * (place.max() + place.min())) / (0.5 * np.ptp(place)), -1.0, 1.0)
    rising = np.roll(place, -1) - np.roll(place, 1) >= 0
    quarter = np.arcsin(u) / (2 * np.pi)
    turns = np.where(rising, quarter, 0.5 - quarter) % 1.0
    return np.asarray((turns - turns[0]) % 1.0)
