"""A record in torque and angle, read at the arm's end: torque over the arm is force, angle times the arm is travel.

Force is then taken along the arc of the arm's end and so is travel, which is exact for any swing: M = F r, s = r phi.
A record is one of torque where a heading says so; a crank's angle beside a force stays a crank's angle.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Literal

from dampkit.bench.declared import BenchSpec
from dampkit.bench.layout import Layout
from dampkit.bench.words import way_in
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen
from dampkit.quantities import FOOT_M, INCH_M, KILOGRAM_FORCE_N, POUND_FORCE_N

Turned = Literal["force", "displacement", "velocity"]
TORQUES: dict[str, float] = {  # in N m
    "N m": 1.0,
    "kN m": 1e3,
    "lb ft": POUND_FORCE_N * FOOT_M,
    "lb in": POUND_FORCE_N * INCH_M,
    "kgf m": KILOGRAM_FORCE_N,
    "kgf cm": KILOGRAM_FORCE_N * 1e-2,
}
ANGLES: dict[str, float] = {"rad": 1.0, "deg": math.radians(1.0)}
RATES: dict[str, float] = {"rad/s": 1.0, "deg/s": math.radians(1.0)}
_WRITTEN = {
    "N m": "nm newtonmeter newtonmetre",
    "kN m": "knm",
    "lb ft": "lbft ftlb lbfft ftlbf lbsft ftlbs footpounds",
    "lb in": "lbin inlb lbfin inlbf",
    "kgf m": "kgfm kgm kpm mkg",
    "kgf cm": "kgfcm kgcm",
    "rad": "rad radian radians",
    "deg": "deg degree degrees grad °",
    "rad/s": "rad/s rads-1 rad/sec",
    "deg/s": "deg/s °/s degs-1 deg/sec degrees/s grad/s",
}
_UNIT = {word: unit for unit, words in _WRITTEN.items() for word in words.split()}
_OF: dict[Turned, dict[str, float]] = {"force": TORQUES, "displacement": ANGLES, "velocity": RATES}
_SI: dict[Turned, str] = {"force": "N", "displacement": "m", "velocity": "m/s"}
_TORQUE = re.compile(r"\b(torque|moment|drehmoment|couple|coppia|koppel|vridmoment|moment obrotowy)\b", re.IGNORECASE)
_RATE = re.compile(r"\b(angular (?:velocity|speed|rate)|winkelgeschwindigkeit)\b", re.IGNORECASE)
_ANGLE = re.compile(r"\b(?:arm |lever |shaft )?(angle|winkel|drehwinkel|angulo|angolo)\b", re.IGNORECASE)
_BRACKETS = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]")
_ASK = "state it in bench.toml: [motion] eye_arm_mm = 160.0"


@frozen
class _Head:
    """What a column turned at the arm's end is; `unit` as in the tables above, None where nothing says it."""

    column: int
    kind: Turned
    unit: str | None


def at_the_arm(layout: Layout, spec: BenchSpec, where: str) -> tuple[Layout, BenchSpec]:
    """The same record with its torques as forces at the arm's end, angles as travel there, and what it is worth in SI.

    Unchanged where no heading names a torque. Raises UnreadableLog without the arm's length, or without a unit.
    """
    below = [*layout.units, *[""] * (layout.width - len(layout.units))]
    heads = [h for i, text in enumerate(layout.headings) if (h := _head(i, text, below[i])) is not None]
    if not any(h.kind == "force" for h in heads):
        return layout, spec
    arm_mm = spec.motion.eye_arm_mm
    if arm_mm is None:
        named = next(layout.headings[h.column] for h in heads if h.kind == "force")
        found = f"column {named!r} is a torque, and nothing says how long the arm is"
        raise UnreadableLog(where, found, "the length from pivot to the arm's end", _ASK)
    kinds = dict.fromkeys(h.kind for h in heads)
    worth: dict[str, str] = {
        kind: f"{_worth(kind, heads, layout, 1e-3 * arm_mm, where)!r} {_SI[kind]}" for kind in kinds
    }
    texts, units = list(layout.headings), below
    for h in heads:
        texts[h.column], units[h.column] = _as_linear(layout.headings[h.column], h.kind), ""
    return replace(layout, headings=tuple(texts), units=tuple(units)), spec.model_copy(
        update={"units": spec.units.model_copy(update=worth), "columns": _renamed(spec, layout, texts)}
    )


def _head(column: int, text: str, below: str) -> _Head | None:
    unit = _unit_in(text) or _UNIT.get(_plain(below))
    if _TORQUE.search(text) or unit in TORQUES:
        return _Head(column, "force", unit if unit in TORQUES else None)
    if _RATE.search(text) or unit in RATES:
        return _Head(column, "velocity", unit if unit in RATES else None)
    if (_ANGLE.search(text) or unit in ANGLES) and "crank" not in text.lower():
        return _Head(column, "displacement", unit if unit in ANGLES else None)
    return None


def _unit_in(text: str) -> str | None:
    """The unit of a torque, an angle or an angular speed in a heading."""
    for match in _BRACKETS.finditer(text):
        if _plain(match[1]) in _UNIT:
            return _UNIT[_plain(match[1])]
    bare = _BRACKETS.sub(" ", text).strip()
    words = bare.replace(",", " ").split()
    ends = [" ".join(words[-n:]) for n in (2, 1) if len(words) >= n]
    return next((_UNIT[_plain(end)] for end in ends if _plain(end) in _UNIT), None)


def _plain(text: str) -> str:
    return re.sub(r"[\s·*.\-]", "", text.lower()).replace("°s", "°/s") if text else ""


def _worth(kind: Turned, heads: list[_Head], layout: Layout, arm_m: float, where: str) -> float:
    """What one of the column's numbers is at the arm's end, SI. All columns of a kind have one unit."""
    mine = [h for h in heads if h.kind == kind]
    units = {h.unit for h in mine}
    if len(units) > 1 or None in units:
        named = ", ".join(repr(layout.headings[h.column]) for h in mine)
        found = "no unit is said" if None in units else "different units"
        raise UnreadableLog(f"{where}, {named}", found, f"one of {', '.join(_OF[kind])}", "write it into the heading")
    factor = _OF[kind][str(units.pop())]
    return factor / arm_m if kind == "force" else factor * arm_m


def _as_linear(text: str, kind: Turned) -> str:
    """A heading of the quantity at the arm's end: the direction that it names stays, and what it was stands in brackets."""
    way = way_in(re.sub(r"\bin\b", " ", _BRACKETS.sub(" ", text)))
    return f"{way + ' ' if way else ''}{kind} (was {text})"


def _renamed(spec: BenchSpec, layout: Layout, texts: list[str]) -> object:
    """[columns] as declared, by the headings as they are now called."""
    now = {old.strip().casefold(): new for old, new in zip(layout.headings, texts, strict=True)}
    declared = {k: v for k, v in spec.columns.model_dump(exclude_none=True).items() if isinstance(v, str)}
    return spec.columns.model_copy(update={k: now.get(v.strip().casefold(), v) for k, v in declared.items()})
