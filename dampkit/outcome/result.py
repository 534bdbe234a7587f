"""The result: everything an analysis says, in the form that is stored, printed and drawn.

The models are frozen, refuse unknown keys, and are where the JSON Schema of the result comes from; every key says what
it is, with its unit and an example. Its parts are in the files `*_record.py`.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import ValidationError

from dampkit.bench.described import described
from dampkit.outcome.about_record import AboutRecord
from dampkit.outcome.advice_record import AdviceRecord, NextTestRecord
from dampkit.outcome.arm_record import ArmRecord, BalanceRecord, StrutRecord
from dampkit.outcome.decision_record import (
    CoursesRecord,
    CoverageRecord,
    FaultRecord,
    FillRecord,
    GasRecord,
    InspectionRecord,
    NotLookedForRecord,
    OilRecord,
    ReferencePoint,
    RequirementRecord,
    RestoreRecord,
    VerdictRecord,
)
from dampkit.outcome.measured_record import BothValves, LagRecord, QualityRecord, RunRecord, StaticsRecord, WarmthRecord
from dampkit.outcome.need_record import VehicleRecord
from dampkit.outcome.record import Record
from dampkit.outcome.shown import Shown

Place = tuple[int | str, ...]


class DamperRecord(Record):
    """The unit, as declared."""

    serial: Annotated[str | None, described("Number by which the unit is known.", "A-1042")]
    kind: Annotated[str | None, described("How it is built.", "twin-tube")]
    piston_diameter_mm: Annotated[float | None, described("Bore of the working tube.", 27.0)]
    rod_diameter_mm: Annotated[float | None, described("Diameter of the rod.", 12.4)]
    oil_density_kg_m3: Annotated[float | None, described("Density of the oil at 20 degC.", 860.0)]


class Result(Shown, Record):
    """Everything that one test says of one unit. SI units, the unit in the key.

    An estimate is a value with its 95 % interval, or null where this test cannot tell, with an entry in `quality` that
    says why. Forces and velocities of a direction are positive magnitudes.

    Examples
    --------
    >>> result = dampkit.analyse(dampkit.read_test(["sample_runs/drawing_table.csv"]))
    >>> result.verdict.action
    'undecided'
    >>> list(result.frames()["readings"].columns)
    ['direction', 'velocity_m_s', 'force_n', 'low_n', 'high_n']
    """

    format: Annotated[Literal["dampkit-result/1"], described(
        "Changes its number when a key is renamed or dropped, which is never within a number.", "dampkit-result/1")] = "dampkit-result/1"  # fmt: skip
    version: Annotated[str, described("Version of dampkit that made it.", "0.1.0")]
    damper: DamperRecord
    about: AboutRecord | None = None
    run: RunRecord
    quality: tuple[QualityRecord, ...]
    statics: StaticsRecord
    valve: BothValves
    lag: LagRecord
    warmth: WarmthRecord | None = None
    faults: tuple[FaultRecord, ...]
    vehicle: VehicleRecord | None
    reference: tuple[ReferencePoint, ...] | None
    coverage: tuple[CoverageRecord, ...] = ()
    not_looked_for: tuple[NotLookedForRecord, ...] = ()
    verdict: VerdictRecord
    advice: AdviceRecord | None = None
    restore: tuple[RestoreRecord, ...] = ()
    oil: OilRecord | None = None
    fill: FillRecord | None = None
    gas: GasRecord | None = None
    arm: ArmRecord | None = None
    balance: BalanceRecord | None = None
    strut: StrutRecord | None = None
    requirements: tuple[RequirementRecord, ...] = ()
    inspection: InspectionRecord | None = None
    courses: CoursesRecord | None = None
    left_out: Annotated[tuple[str, ...], described("What was left out, and why.", ["No vehicle was given."])]
    next_tests: Annotated[tuple[str, ...], described(
        "What this test cannot tell, and the cheapest one that would.", ["Repeat the first speed at the end, warm: it shows fade."])] = ()  # fmt: skip
    next_test: NextTestRecord | None = None
    sources: Annotated[tuple[str, ...], described("Keys of the published sources used.", ["dixon2007"])]

    @classmethod
    def read(cls, plain: Any) -> Self:
        """A stored result; keys that a newer version has added are left out. Raises ValidationError where it is none."""
        try:
            return cls.model_validate(plain)
        except ValidationError as error:
            newer = {e["loc"] for e in error.errors(include_url=False) if e["type"] == "extra_forbidden"}
            if not newer:
                raise
        return cls.model_validate(_without(plain, newer))

    def to_dict(self) -> dict[str, Any]:
        """The result as plain dictionaries, lists and numbers, ready for JSON."""
        plain: dict[str, Any] = self.model_dump(mode="json")
        return plain

    def _repr_html_(self) -> str:
        """For a notebook: verdict, reasons, faults, next step, the picture that shows them."""
        from dampkit.show import html

        return html(self)


def _without(plain: Any, left_out: set[Place], at: Place = ()) -> Any:
    """Tables and lists without what stands at these places."""
    if isinstance(plain, dict):
        return {k: _without(v, left_out, (*at, k)) for k, v in plain.items() if (*at, k) not in left_out}
    if isinstance(plain, list | tuple):
        return [_without(v, left_out, (*at, i)) for i, v in enumerate(plain)]
    return plain
