"""A made-up unit's force-velocity tables and tests by hand, written in many habits. Its forces are worked out, not logged."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field

import numpy as np
from scipy.optimize import brentq

from dampkit.frozen import frozen
from dampkit.quantities import DIRECTIONS, FOOT_M, GRAVITY_M_S2, INCH_M, POUND_FORCE_N, Array, Direction
from dampkit.virtual.plant import Plant
from dampkit.virtual.truth import bench_reading

SPEEDS_M_S = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
STROKE_MM = 60.0
NOTE = "made-up data"


@frozen
class Made:
    """Speeds [m/s] and forces [N] of both directions, at one temperature of the oil."""

    velocity_m_s: dict[Direction, Array]
    force_n: dict[Direction, Array]
    temperature_c: float


@frozen
class Habit:
    """A way to write a table down. `bench` is what has to be declared, as bench.toml has it."""

    name: str
    write: Callable[[Made], str]
    bench: Mapping[str, Mapping[str, object]] = field(default_factory=dict)
    encoding: str = "utf-8"


def readings(plant: Plant, speeds_m_s: Sequence[float] = SPEEDS_M_S, temperature_c: float = 20.0) -> Made:
    """What a bench reads at peak speed in both directions, gas out."""
    v = np.array(speeds_m_s)
    return Made(
        dict.fromkeys(DIRECTIONS, v), {d: bench_reading(plant, d, v, temperature_c) for d in DIRECTIONS}, temperature_c
    )


def pulls(plant: Plant, loads_kg: Sequence[float], travel_mm: float, repeats: int = 1, seed: int = 1) -> str:
    """A test by hand: the time that each load takes over a travel, read off a watch of tenths of a second.

    The speed is that at which the unit's force is the load's weight; `seed` is of the hand's lateness.
    """
    rng = np.random.default_rng(seed)
    lines = [f"# {NOTE}", "direction,load kg,travel mm,time s"]
    for direction in DIRECTIONS:
        for load in loads_kg:
            time = 1e-3 * travel_mm / speed_under(plant, direction, load * GRAVITY_M_S2)
            late = rng.normal(0.0, 0.07, repeats) if repeats > 1 else np.zeros(1)
            lines += [f"{direction},{load:g},{travel_mm:g},{time + x:.1f}" for x in late]
    return "\n".join(lines) + "\n"


def torques(made: Made, arm_m: float) -> str:
    """Torque at the shaft in lb ft against its angular speed in degrees a second, for forces at the end of an arm."""
    foot_pound = POUND_FORCE_N * FOOT_M
    lines = [f"# {NOTE}", "angular speed deg/s,rebound torque lb ft,compression torque lb ft"]
    for i, v in enumerate(made.velocity_m_s["rebound"]):
        both = (f"{made.force_n[d][i] * arm_m / foot_pound:.3f}" for d in DIRECTIONS)
        lines.append(f"{math.degrees(v / arm_m):.2f},{','.join(both)}")
    return "\n".join(lines) + "\n"


def speed_under(plant: Plant, direction: Direction, force_n: float) -> float:
    """Steady speed [m/s] under a force."""
    return float(brentq(lambda v: float(bench_reading(plant, direction, np.array([v]))[0]) - force_n, 1e-6, 3.0))


def _table(heads: str, rows: Sequence[Sequence[str]], by: str = ",") -> str:
    return "\n".join([heads, *(by.join(row) for row in rows)]) + "\n"


def _sided(heads: str, by: str, per: tuple[float, float], places: tuple[int, int]) -> Callable[[Made], str]:
    """A speed and a column a direction; `per`: units of speed and force in SI, `places` their decimals."""

    def write(made: Made) -> str:
        v, both = made.velocity_m_s["rebound"], [made.force_n[d] for d in DIRECTIONS]
        rows = [
            [f"{x / per[0]:.{places[0]}f}", *(f"{f[i] / per[1]:.{places[1]}f}" for f in both)] for i, x in enumerate(v)
        ]
        return _table(heads, rows, by)

    return write


def _comma(write: Callable[[Made], str]) -> Callable[[Made], str]:
    return lambda made: write(made).replace(".", ",")


def _signed(heads: str, speed: float, force: float, *, bare_speed: bool = False) -> Callable[[Made], str]:
    """One column of forces; `speed` and `force` are the signs of rebound."""

    def write(made: Made) -> str:
        rows = []
        for direction, way in (("rebound", 1.0), ("compression", -1.0)):
            for v, f in zip(made.velocity_m_s[direction], made.force_n[direction], strict=True):  # type: ignore[index]
                rows.append([f"{v * (1.0 if bare_speed else speed * way):.3f}", f"{f * force * way:.1f}"])
        return _table(heads, rows)

    return write


def _own_speeds(made: Made) -> str:
    columns = [x for d in DIRECTIONS for x in (made.velocity_m_s[d], made.force_n[d])]
    rows = [[f"{columns[k][i]:.{3 if k % 2 == 0 else 1}f}" for k in range(4)] for i in range(columns[0].size)]
    return _table("rebound speed m/s,rebound force N,compression speed m/s,compression force N", rows)


def _by_crank(above: str, heads: str, *, stroke: bool) -> Callable[[Made], str]:
    """Turns a minute of a crank in place of speeds; with the stroke above, or in a column."""

    def write(made: Made) -> str:
        turns = made.velocity_m_s["rebound"] / (math.pi * 1e-3 * STROKE_MM) * 60
        rows = [
            [*([f"{STROKE_MM:g}"] if stroke else []), f"{n:.3f}", *(f"{made.force_n[d][i]:.1f}" for d in DIRECTIONS)]
            for i, n in enumerate(turns)
        ]
        return above + _table(heads, rows)

    return write


def _on_its_side(made: Made) -> str:
    rows = [["velocity m/s", *(f"{v:.3f}" for v in made.velocity_m_s["rebound"])]]
    rows += [[f"{d} N", *(f"{f:.1f}" for f in made.force_n[d])] for d in DIRECTIONS]
    return _table(rows[0][0] + "," + ",".join(rows[0][1:]), rows[1:])


def _by_word(made: Made) -> str:
    rows = [
        [d, f"{v:.3f}", f"{f:.1f}"]
        for d in DIRECTIONS
        for v, f in zip(made.velocity_m_s[d], made.force_n[d], strict=True)
    ]
    return _table("direction,velocity m/s,force N", rows)


def _warm(made: Made) -> str:
    """With a column of temperature, and each speed twice, up and down again."""
    order = [*range(made.velocity_m_s["rebound"].size)]
    rows = [
        [
            f"{made.velocity_m_s['rebound'][i]:.3f}",
            *(f"{made.force_n[d][i]:.1f}" for d in DIRECTIONS),
            f"{made.temperature_c:.0f}",
        ]
        for i in [*order, *reversed(order)]
    ]
    return _table("velocity m/s,rebound N,compression N,temperature C", rows)


REBOUND_IS_POSITIVE = {"signs": {"velocity_positive": "extension"}}
HABITS: tuple[Habit, ...] = (
    Habit("sides", _sided("velocity m/s,rebound N,compression N", ",", (1.0, 1.0), (3, 1))),
    Habit("plain words", _sided("speed,rebound,compression", ",", (1.0, 1.0), (3, 1))),
    Habit(
        "semicolons and commas",
        _comma(_sided("Geschwindigkeit [mm/s];Zugstufe [N];Druckstufe [N]", ";", (1e-3, 1.0), (1, 1))),
        encoding="cp1252",
    ),
    Habit("inch", _sided("speed in/s\trebound lbf\tbump lbf", "\t", (INCH_M, POUND_FORCE_N), (4, 2))),
    Habit("kilograms", _sided("V [m/s] | Reb [kgf] | Comp [kgf]", "|", (1.0, GRAVITY_M_S2), (3, 2))),
    Habit("kilonewtons", _sided("speed (mm/s), rebound (kN), compression (kN)", ",", (1e-3, 1e3), (0, 4))),
    Habit("units below", _sided("velocity,rebound,compression\nm/s,N,N", ",", (1.0, 1.0), (3, 1))),
    Habit("signed", _signed("velocity m/s,force N", 1.0, 1.0), REBOUND_IS_POSITIVE),
    Habit("signed, force against speed", _signed("velocity m/s,force N", 1.0, -1.0), REBOUND_IS_POSITIVE),
    Habit("signed, said in the heading", _signed("velocity m/s,force N (+ compression)", -1.0, -1.0)),
    Habit(
        "signed force alone",
        _signed("speed m/s,force N", 1.0, 1.0, bare_speed=True),
        {"signs": {"force_positive": "tension"}},
    ),
    Habit("speeds of their own", _own_speeds),
    Habit(
        "stroke above, turns a minute",
        _by_crank(f"stroke: {STROKE_MM:g} mm\n", "rpm,rebound N,compression N", stroke=False),
    ),
    Habit("stroke and turns in columns", _by_crank("", "stroke mm,rpm,rebound N,compression N", stroke=True)),
    Habit(
        "turns, stroke declared",
        _by_crank("", "crank rpm,rebound N,compression N", stroke=False),
        {"motion": {"stroke_mm": STROKE_MM}},
    ),
    Habit("on its side", _on_its_side),
    Habit("direction in a word", _by_word),
    Habit("temperature, up and down", _warm),
)
