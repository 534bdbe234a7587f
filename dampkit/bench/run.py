"""What one bench log becomes: channels in SI with the package's signs, and what was done to them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from dampkit.frozen import frozen
from dampkit.quantities import Array, number

if TYPE_CHECKING:
    import pandas as pd

Severity = Literal["note", "warning", "bad"]
Clears = Literal["declare", "measure"]
RunForm = Literal["time-series", "loops"]


@frozen
class Quality:
    """One plain sentence about how far the data or a result can be trusted.

    `clears` says who can clear it: "declare", a person who states something; "measure", only another measurement.
    """

    code: str
    severity: Severity
    message: str
    clears: Clears = "measure"


@frozen
class Step:
    """One thing that was done to a run; printed in the report."""

    what: str
    why: str
    settings: tuple[tuple[str, float | str], ...] = ()


@frozen
class Run:
    """A bench log in SI: displacement positive in extension, force positive in tension.

    Arrays have shape (rows_used,) and are read-only. `measured_velocity_m_s` is None where the log has none;
    `temperature_c` likewise. `zero_known` is False where the load cell's unloaded reading was not declared,
    so that gas force and cell zero cannot be told apart.
    Where there are `parts`, the arrays are theirs one after the other, time going on from one to the next.

    Examples
    --------
    >>> run = dampkit.read_run("sample_runs/sound_twin_tube.csv")
    >>> run
    <Run 'sound_twin_tube.csv': 31289 rows, 62.6 s, ... mm of travel, ... N, ... remarks>
    >>> list(run.frames()["channels"].columns)
    ['time_s', 'displacement_m', 'force_n', 'temperature_c']
    """

    file: str
    sha256: str
    rows_read: int
    time_s: Array
    displacement_m: Array
    force_n: Array
    measured_velocity_m_s: Array | None = None
    temperature_c: Array | None = None
    zero_known: bool = False
    # 95 % bench uncertainty as declared: (percent of force, newtons, metres); None where not declared
    force_percent: float | None = None
    force_uncertainty_n: float | None = None
    displacement_uncertainty_m: float | None = None
    force_resolution_n: float = 0.0
    displacement_resolution_m: float = 0.0
    moving_mass_kg: float = 0.0  # between cell and damper, as declared; its inertia is still in the force
    arm_m: float | None = None  # of a log in torque and angle: the arm at whose end force and travel are, along its arc
    as_logged: bool = False  # True: delay, moving mass and gaps that the log shows are left in
    direction_known: bool = True  # False: which way is extension was assumed
    copied: tuple[tuple[int, int], ...] = ()  # rows read, from 0, that repeat earlier ones: (first, past the last)
    history: tuple[Step, ...] = ()
    quality: tuple[Quality, ...] = ()
    form: RunForm = "time-series"
    closed_hz: float | None = None  # the run is one turn of a closed loop, gone round so often a second
    parts: tuple[Run, ...] = ()  # of several recordings of one test, each on its own; else empty

    @property
    def rows_used(self) -> int:
        return len(self.time_s)

    @property
    def sample_interval_s(self) -> float:
        return float((self.time_s[-1] - self.time_s[0]) / (len(self.time_s) - 1))

    def frames(self) -> dict[str, pd.DataFrame]:
        """`channels`: a row a sample, SI, the package's signs; without the channels that the log has not."""
        import pandas as pd

        names = ("time_s", "displacement_m", "measured_velocity_m_s", "force_n", "temperature_c")
        held = {name: getattr(self, name) for name in names}
        return {"channels": pd.DataFrame({name: values for name, values in held.items() if values is not None})}

    def __repr__(self) -> str:
        seconds, travel = float(self.time_s[-1] - self.time_s[0]), 1e3 * float(np.ptp(self.displacement_m))
        force = f"{number(float(self.force_n.min()))} to {number(float(self.force_n.max()))} N"
        return (
            f"<Run {self.file!r}: {self.rows_used} rows, {number(seconds)} s, {number(travel)} mm of travel, {force},"
            f" {len(self.quality)} remarks>"
        )

    def then(self, step: Step, **changed: Any) -> Run:
        """The run after one more step, with the step in its history."""
        return replace(self, history=(*self.history, step), **changed)


@dataclass
class Notes:
    """What is noticed and done while one log is read, in order; it ends up in the run."""

    steps: list[Step] = field(default_factory=list)
    quality: list[Quality] = field(default_factory=list)

    def did(self, what: str, why: str, **settings: float | str) -> None:
        self.steps.append(Step(what, why, tuple(settings.items())))

    def noticed(self, code: str, severity: Severity, message: str, clears: Clears = "measure") -> None:
        self.quality.append(Quality(code, severity, message, clears))
