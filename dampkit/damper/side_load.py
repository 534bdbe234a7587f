"""A strut on the bench: the side load that presses on its rod, and what guide and piston carry of it."""

from typing import Annotated

from pydantic import Field, FiniteFloat

from dampkit.bench.declared import Declared, Positive
from dampkit.bench.described import described
from dampkit.bench.run import Quality
from dampkit.damper.kinds import CARRY_SIDE_LOAD

SIDE_LOAD_OPEN = SIDE_LOAD_NOT_TOLD, _ = (
    "side_load_not_told",
    "no_side_load",
)  # what it rubs under the wheel's side load is not established


class Strut(Declared):
    """How a strut was pressed sideways during this test."""

    side_load_n: Annotated[Annotated[FiniteFloat, Field(ge=0, le=10_000)], described(
        "Load across the rod in this test; 0 on a bench that pulls straight.", 600.0,
        "Read it off the spring or weight that presses sideways on the rod.", kinds=CARRY_SIDE_LOAD, usual=(0, 1500))]  # fmt: skip
    load_to_guide_mm: Annotated[Positive | None, described(
        "From the line of that load to the rod's guide, outside the body.", 90.0, "Measure along the rod at mid-stroke.", kinds=CARRY_SIDE_LOAD, usual=(5, 500))] = None  # fmt: skip
    guide_to_piston_mm: Annotated[Positive | None, described(
        "From guide to piston, the rod in the middle of the bench's stroke.", 190.0,
        "Take the rod's length inside from the drawing, less what is out at mid-stroke.", kinds=CARRY_SIDE_LOAD, usual=(20, 600))] = None  # fmt: skip

    @property
    def carried_n(self) -> tuple[float, float] | None:
        """What guide and piston carry, N; None without both lengths.

        A beam on two supports with its load outside them: S (a + b) / b at the guide, S a / b at the piston.
        Source: statics, moments about each support.
        """
        a, b = self.load_to_guide_mm, self.guide_to_piston_mm
        if a is None or b is None:
            return None
        return self.side_load_n * (a + b) / b, self.side_load_n * a / b


def strut_notes(duty: str, strut: Strut | None) -> list[Quality]:
    """What the side load of a strut leaves open about its friction."""
    if duty != "strut":
        return []
    if strut is None:
        why = (
            "Whether a side load pressed on the strut's rod is not told, so its friction is held to what is published for"
            " one with side load. State it in the damper file: [strut] side_load_n, 0 where the bench pulls straight."
        )
        return [Quality("side_load_not_told", "note", why, "declare")]
    if strut.side_load_n == 0:
        why = (
            "The strut was pulled straight. In the car the wheel presses its rod sideways, and a dry guide or bush rubs only"
            " then: friction in the car is not established. Test it with a side load of 300 to 1200 N across the rod."
        )
        return [Quality("no_side_load", "note", why)]
    return []
