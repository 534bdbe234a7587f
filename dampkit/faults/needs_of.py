"""What evidence a cause, a quantity or an answer needs of a test: one table, asked before anything is looked for."""

from __future__ import annotations

from collections.abc import Callable

from dampkit.damper.points import SLOW_M_S
from dampkit.damper.take_up import same_speed, slow_take_ups
from dampkit.faults.discs import shows_start
from dampkit.faults.friction import friction_limit, held_against
from dampkit.faults.held_gas import held_gas
from dampkit.faults.late import first_stages
from dampkit.faults.under_test import UnderTest
from dampkit.quantities import DIRECTIONS

SPEEDS_APART = 3.0  # ratio of speeds that shows what grows with speed; own choice
RISES = 1.5  # ratio by which oil's force rises over such a ratio of speeds, dry friction's by a tenth of it; own choice
CYCLES = 6  # from which a stage shows a trend of its own


def _slow_stage(test: UnderTest) -> bool:
    """One slow stage with its take-up seen, or of a twin tube's gas a middling one, in both directions."""
    friction = test.unit.friction_used_n
    return all(slow_take_ups(test.unit.side(d).take_ups, friction) or held_gas(test, d) for d in DIRECTIONS)


def _three_speeds(test: UnderTest) -> bool:
    speeds = _speeds(test)
    return len(speeds) >= 3 and speeds[-1] >= SPEEDS_APART * speeds[0]


def _two_speeds(test: UnderTest) -> bool:
    return len(_speeds(test)) >= 2


def _speeds(test: UnderTest) -> list[float]:
    """Speeds of the moving stages, or of a table's points, each once, slowest first."""
    found: list[float] = []
    for speed in sorted(loop.peak_velocity_m_s for loop in test.moving) or _of_points(test):
        if not found or not same_speed(speed, found[-1]):
            found.append(speed)
    return found


def _of_points(test: UnderTest) -> list[float]:
    read = test.unit.rebound.reading or test.unit.compression.reading
    return [] if read is None or test.loops else [float(v) for v in read.velocity_m_s if v >= SLOW_M_S]


def _repeat(test: UnderTest) -> bool:
    """One speed twice, or a stage long enough to show a trend."""
    loops = test.moving
    again = any(
        same_speed(a.peak_velocity_m_s, b.peak_velocity_m_s) and same_speed(a.stage.stroke_m, b.stage.stroke_m)
        for i, a in enumerate(loops)
        for b in loops[i + 1 :]
    )
    return again or any(loop.stage.cycles >= CYCLES for loop in loops)


def has_oil(test: UnderTest) -> bool:
    """Whether the force rises with speed as no dry friction does, in a direction at least."""
    for direction in DIRECTIONS:
        read = test.unit.side(direction).reading
        if read is not None and read.velocity_m_s[-1] >= SPEEDS_APART * read.velocity_m_s[0]:
            slow, fast = float(read.high_n[0]), float(read.low_n[-1])
            if fast > RISES * slow:
                return True
    return False


def _zero_crossing(test: UnderTest) -> bool:
    """Force that goes through the level at which slack would show, both ways, on a moving stage.

    That is the cell's zero; where it is not declared, the static force stands for it.
    """
    level = 0.0 if test.zero_known else -test.unit.taken_out.gas_n
    return any(float(loop.mean_force_n.max()) > level > float(loop.mean_force_n.min()) for loop in test.moving)


def _first_cycles(test: UnderTest) -> bool:
    """Several cycles soon after the start, with the take-up seen, in both directions."""
    return all(first_stages(test, d) for d in DIRECTIONS)


def _upright(test: UnderTest) -> bool:
    """A twin tube that lies or stands on its head draws air even when its level is right."""
    oil = None if test.spec is None else test.spec.oil
    return test.facts.any_posture or oil is None or oil.posture == "upright"


def _friction_limit(test: UnderTest) -> bool:
    """A kind for which a limit is known; without any kind it is the kind that is lacking."""
    spec = test.spec
    return spec is None or spec.damper.kind is None or friction_limit(spec) is not None


def _slow_pass(test: UnderTest) -> bool:
    """A slow pass; or points slow enough that friction is known from them."""
    return test.slow_pass is not None or (not test.loops and test.unit.friction_force_n is not None)


NEEDS: dict[str, Callable[[UnderTest], bool]] = {
    "loops": lambda test: bool(test.loops),
    "slow_pass": _slow_pass,
    "slow_turn": shows_start,
    "kind": lambda test: test.kind is not None,
    "slow_stage": _slow_stage,
    "two_speeds": _two_speeds,
    "three_speeds": _three_speeds,
    "first_cycles": _first_cycles,
    "repeat": _repeat,
    "temperature": lambda test: test.unit.temperature_c is not None,
    "zero": lambda test: test.zero_known,
    "rod_diameter": lambda test: test.spec is not None and test.spec.damper.rod_diameter_mm is not None,
    "upright": _upright,
    "friction_limit": _friction_limit,
    "reference_declared": lambda test: test.spec is not None and test.spec.reference is not None,
    "reference": lambda test: set(test.differs) == set(DIRECTIONS),
    "reference_two_speeds": lambda test: held_against(test) is not None,
    "zero_crossing": _zero_crossing,
}


def lacking(test: UnderTest, needs: tuple[str, ...]) -> tuple[str, ...]:
    """Those of the needs that this test does not meet; of a record without loops only that, as the others are of loops."""
    missing = tuple(need for need in needs if not NEEDS[need](test))
    return ("loops",) if "loops" in missing else missing
