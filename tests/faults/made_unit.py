"""Units with one or several things wrong, in closed form: every loop is written down from its motion. All of it is made up.

The bench is ideal (no noise, no delay), the motion a sine, and the valve is known as if it had been fitted, so that what is
put in is what each measure must show.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import minimize_scalar

from dampkit.bench.run import Run
from dampkit.curves.loop import Curves, Loop, Stage
from dampkit.damper.declared import DamperSpec, Duty, Kind
from dampkit.damper.disc import identify_disc
from dampkit.damper.heat import oil_heat
from dampkit.damper.reading import reading
from dampkit.damper.take_up import TakenOut
from dampkit.damper.unit import Side, Unit
from dampkit.damper.valve import Valve
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS, SIGN, Array, Direction, Estimate, read_only
from tests import made_loops as made

SLOW_PASS_M_S = 0.005
LADDER_M_S = (SLOW_PASS_M_S, *made.SPEEDS_M_S, 0.3)  # the last is a repeat
ROD_M, PISTON_M = 0.012, 0.030
OIL_M, OIL_PA, AIR_PA = (
    0.2,
    1.5e9,
    101325.0,
)  # column of oil above and below the piston, its modulus, the air's pressure
PLACE_M, WIDE_M = 0.008, 0.005  # of a tight place
SLIDING_N = 200.0  # of a disc damper
START_SPEED_M_S = 3e-3  # below it a dry joint sticks
FOAM_HALF = float(np.log(2))  # travel to half of the force, over the foam's length


@dataclass(frozen=True)
class Made:
    """One unit on one programme. Lengths in mm are of travel after a reversal into a direction.

    void: no hydraulic force over so much travel; entering the compression of a twin tube, and bubbles of one, gas that fills
    so much of it and gives way as gas does. foam of other kinds: hydraulic force comes in as 1 - exp(-travel / foam). grows: void
    that grows in proportion to speed, as much at 1 m/s. clears: void that goes in a straight line over the cycles of the
    first moving stage. slack: no force at all, after both reversals. hump: friction more at one place. fades: share of
    the hydraulic force lost from the first stage to the last. thins: leak [m/s/N] that warm oil has opened by the last
    stage. good: the valves that the reference was read on.
    """

    kind: Kind = "twin-tube"
    rebound: Valve = made.REBOUND
    compression: Valve = made.COMPRESSION
    good: tuple[Valve, Valve] = (made.REBOUND, made.COMPRESSION)
    friction_n: float = made.FRICTION_N
    hump_n: float = 0.0
    void_mm: dict[Direction, float] = field(default_factory=dict)
    foam_mm: dict[Direction, float] = field(default_factory=dict)
    grows_mm: dict[Direction, float] = field(default_factory=dict)
    clears_mm: dict[Direction, float] = field(default_factory=dict)
    slack_mm: float = 0.0
    gas_bar: float = 22.0  # of a monotube
    charge_bar: float | None = 22.0  # declared for it
    duty: Duty = "car"
    side_load_n: float | None = None  # declared of a strut
    lying: bool = False
    fades: float = 0.0
    thins: float = 0.0
    warms_k: float | None = 0.0  # None: no temperature in the log
    sliding_n: float = SLIDING_N  # of a disc damper ...
    start_ratio: float = 1.1  # ... force to start over sliding
    gains_s_m: float = 0.0  # ... and its growth with speed
    speeds_m_s: tuple[float, ...] = LADDER_M_S
    places_mm: tuple[float, ...] = (0.0,)  # of the middle of the stroke, outwards: the ladder is run at each
    cycles: int = 5
    reference: bool = True
    tolerance_percent: float = 15.0
    zero_known: bool = True
    kind_known: bool = True

    def gas_mm(self, direction: Direction) -> float:
        """Travel that gas fills at one atmosphere: all of a void entering compression, and bubbles."""
        void = self.void_mm.get(direction, 0.0) if direction == "compression" else 0.0
        return void + self.foam_mm.get(direction, 0.0)

    @property
    def gas_n(self) -> float:
        return self.gas_bar * 1e5 * np.pi / 4 * ROD_M**2 if self.kind == "monotube" else 0.0

    def valve(self, direction: Direction) -> Valve:
        return self.rebound if direction == "rebound" else self.compression


def test_of(m: Made) -> UnderTest:
    """What the fault room is given of a unit."""
    places = [(_at(m, mm), mm, v) for mm in m.places_mm for v in m.speeds_m_s]
    loops = tuple(_loop(there, v, i, 1e-3 * mm) for i, (there, mm, v) in enumerate(places))
    t = np.arange(4.0)
    run = Run("made", "0" * 64, 4, t, t, t, zero_known=m.zero_known)
    curves = Curves(run, loops)
    spec = _spec(m)
    if m.kind == "friction-disc":
        return UnderTest(curves, identify_disc(curves), spec)
    unit = replace(made.seen_on(_unit(m, loops), loops), heat=oil_heat(curves, spec))
    return UnderTest(curves, unit, spec)


test_of.__test__ = False  # type: ignore[attr-defined]


def _at(m: Made, out_mm: float) -> Made:
    """The unit with its middle so far out: a void is the rod that is out of a bare foot valve, so it is longer by as much."""
    void = {d: max(length + out_mm, 0.0) for d, length in m.void_mm.items()}
    return replace(m, void_mm=void) if out_mm else m


def _loop(m: Made, speed_m_s: float, index: int, out_m: float = 0.0) -> Loop:
    x, v, a = made.motion(speed_m_s)
    x = read_only(x + out_m)
    slow = speed_m_s == SLOW_PASS_M_S
    count = 1 if slow else m.cycles
    progress = _warmed(index, len(m.speeds_m_s))
    force = np.stack([_force(m, x, v, speed_m_s, _cleared(m, index, k), progress) for k in range(count)])
    warm = None if m.warms_k is None else 20.0 + m.warms_k * progress
    stage = Stage(index, 0, count * made.POINTS, speed_m_s / (np.pi * made.STROKE_M), count, made.STROKE_M, warm)
    return Loop(stage, x, v, a, read_only(force), 1)


def _warmed(index: int, stages: int) -> float:
    """Share of the whole warming that a stage has: heat is work, and the fast stages, which come last, do most of it."""
    return float((max(index - 1, 0) / max(stages - 2, 1)) ** 3)


def _cleared(m: Made, index: int, cycle: int) -> float:
    """Share of trapped air that is still there: all of it goes in the first moving stage."""
    first = next(i for i, v in enumerate(m.speeds_m_s) if v != SLOW_PASS_M_S) if len(m.speeds_m_s) > 1 else 0
    return 0.0 if index > first else 1.0 - cycle / max(m.cycles - 1, 1)


def _force(m: Made, x: Array, v: Array, speed_m_s: float, uncleared: float, progress: float) -> Array:
    if m.kind == "friction-disc":
        return _dry(m, x, v)
    force = _friction_n(m, x) * np.tanh(v / made.SHARP_M_S) - m.gas_n
    for d in DIRECTIONS:
        moving = SIGN[d] * v
        travel = x - x.min() if d == "rebound" else x.max() - x
        if m.kind == "twin-tube" and m.gas_mm(d):
            gas_m = 1e-3 * (m.gas_mm(d) + m.grows_mm.get(d, 0.0) * speed_m_s + m.clears_mm.get(d, 0.0) * uncleared)
            resists = _past_gas(m, d, gas_m, (travel, moving), speed_m_s)
            force = force + SIGN[d] * resists * (1.0 - m.fades * progress)
            continue
        void = m.void_mm.get(d, 0.0) + m.grows_mm.get(d, 0.0) * speed_m_s + m.clears_mm.get(d, 0.0) * uncleared
        there = np.where(travel < 1e-3 * void, 0.0, 1.0)
        if m.foam_mm.get(d, 0.0) > 0:
            there = there * (1.0 - np.exp(-travel / (1e-3 * m.foam_mm[d])))
        force = force + SIGN[d] * _thinned(m, d, progress).force(np.maximum(moving, 0.0)) * there * (
            1.0 - m.fades * progress
        )
    return _with_slack(force, x, v, m.slack_mm)


def _past_gas(m: Made, d: Direction, gas_m: float, stroke: tuple[Array, Array], speed_m_s: float) -> Array:
    """Force behind gas that fills a travel at one atmosphere, and oil that gives: what closes them does not pass the valve.

    Travel = gas (1 - (p0 / (p0 + F / A))^(1/1.4)) + give F + integral of v(F) dt, solved point by point from the reversal.
    """
    rod, ring = np.pi / 4 * ROD_M**2, np.pi / 4 * (PISTON_M**2 - ROD_M**2)
    area, column = (rod, OIL_M * (rod + ring)) if d == "compression" else (ring, 0.5 * OIL_M * ring)
    (travel, moving), give = stroke, column / (OIL_PA * area**2)
    table_n = np.linspace(0.0, 3000.0, 3001)
    passes = m.valve(d).velocity(table_n)
    closes = gas_m * (1.0 - (AIR_PA / (AIR_PA + table_n / area)) ** (1.0 / 1.4)) + give * table_n
    start = int(np.flatnonzero((moving > 0) & (np.roll(moving, 1) <= 0))[0])
    rows = (start + np.arange(int((moving > 0).sum()))) % travel.size
    step_s = np.pi * made.STROKE_M / speed_m_s / travel.size
    out, passed = np.zeros_like(travel), 0.0
    for row in rows:
        out[row] = np.interp(travel[row] - passed, closes + step_s * passes, table_n)
        passed += step_s * float(np.interp(out[row], table_n, passes))
    return out


def _thinned(m: Made, direction: Direction, progress: float) -> Valve:
    valve = m.valve(direction)
    return replace(valve, leak=valve.leak + m.thins * progress)


def _friction_n(m: Made, x: Array) -> Array:
    return np.asarray(m.friction_n + m.hump_n * np.exp(-(((x - PLACE_M) / WIDE_M) ** 2)))


def _dry(m: Made, x: Array, v: Array) -> Array:
    """Coulomb friction with a force to start that is gone within START_SPEED_M_S."""
    start = 1.0 + (m.start_ratio - 1.0) * np.exp(-((v / START_SPEED_M_S) ** 2))
    size = m.sliding_n * (1.0 + m.gains_s_m * np.abs(v)) * start
    return _with_slack(size * np.tanh(v / (0.1 * made.SHARP_M_S)), x, v, m.slack_mm)


def _with_slack(force: Array, x: Array, v: Array, slack_mm: float) -> Array:
    open_ = ((v < 0) & (x.max() - x < 1e-3 * slack_mm)) | ((v > 0) & (x - x.min() < 1e-3 * slack_mm))
    return np.where(open_, 0.0, force)


def _unit(m: Made, loops: tuple[Loop, ...]) -> Unit:
    moving = tuple(x for x in loops if x.peak_velocity_m_s > SLOW_PASS_M_S * 1.5)
    top = max((x.peak_velocity_m_s for x in moving), default=SLOW_PASS_M_S)
    taken = TakenOut(gas_n=m.gas_n, friction_n=m.friction_n, friction_speed_m_s=made.SHARP_M_S)
    sides = {}
    for d in DIRECTIONS:
        read = reading(moving, taken, 0.5, None, d)
        valve = (
            _as_fitted(m.valve(d), read.velocity_m_s, read.force_n - m.friction_n) if m.fades or m.thins else m.valve(d)
        )
        sides[d] = Side(d, made.law_of(valve, top), read)
    return Unit(
        sides["rebound"],
        sides["compression"],
        gas_force_n=Estimate.from_standard_error(m.gas_n, 0.5),
        gas_stiffness_n_m=0.0,
        friction_force_n=Estimate.from_standard_error(m.friction_n, 0.3),
        friction_at_most_n=m.friction_n + 1.0,
        friction_used_n=m.friction_n,
        taken_out=taken,
        temperature_c=None if m.warms_k is None else 20.0 + 0.5 * m.warms_k,
        temperature_span_k=m.warms_k or 0.0,
    )


def _as_fitted(valve: Valve, v: Array, force: Array) -> Valve:
    """What a fit makes of a unit that fades over the stages: more leak than there is."""

    def miss(leak: float) -> float:
        return float(np.sum((replace(valve, leak=leak).force(v) / force - 1) ** 2))

    found = minimize_scalar(miss, bounds=(0.0, 2e-3), method="bounded", options={"xatol": 1e-7})
    return replace(valve, leak=float(found.x))


def _spec(m: Made) -> DamperSpec:
    v = np.array(made.SPEEDS_M_S)
    known = {"piston_diameter_mm": 30.0, "rod_diameter_mm": 1e3 * ROD_M, "duty": m.duty}
    spec: dict[str, object] = {"damper": known | ({"kind": m.kind} if m.kind_known else {})}
    if m.side_load_n is not None:
        spec["strut"] = {"side_load_n": m.side_load_n}
    if m.lying:
        spec["oil"] = {"posture": "lying"}
    if m.kind == "monotube" and m.kind_known and m.charge_bar is not None:
        spec["gas"] = {"pressure_bar": m.charge_bar}
    if m.reference:
        forces = [valve.force(v) + made.FRICTION_N for valve in m.good]
        if m.kind == "friction-disc":
            forces = [np.full(v.size, SLIDING_N)] * 2
        spec["reference"] = {
            "velocity_m_s": made.SPEEDS_M_S,
            "tolerance_percent": m.tolerance_percent,
            "rebound_force_n": tuple(forces[0].tolist()),
            "compression_force_n": tuple(forces[1].tolist()),
        }
    return DamperSpec.model_validate(spec)
