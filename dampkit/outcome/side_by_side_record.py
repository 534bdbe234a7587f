"""What `compare`, `settings` and `reference` write as JSON: each a form of its own, from which its schema is made."""

from typing import Annotated, Literal

import dampkit
from dampkit.bench.described import PLAIN_NUMBER, described
from dampkit.expected.known_good import KnownGood
from dampkit.outcome.choice import Settings
from dampkit.outcome.decision_record import Action
from dampkit.outcome.record import (
    Answer,
    AtLeastZero,
    Columns,
    Count,
    DirectionName,
    EstimateRecord,
    Numbers,
    Record,
    Share,
    direction_of,
    example_of,
)
from dampkit.outcome.side_by_side import Comparison
from dampkit.quantities import DIRECTIONS

Version = Annotated[str, described("Version of dampkit that made it.", "0.1.0")]
Speeds = Annotated[Numbers, described("Piston speeds.", [0.1, 0.3])]
Name = Annotated[str, described("File of the log, and the setting where it holds several.", "left.csv")]
Sources = Annotated[tuple[str, ...], described("Keys of the published sources used.", ["jcgm106"])]
Hash = Annotated[str, described("SHA-256 of the log.", "9f86d081")]


class DifferenceRecord(Record):
    """Two units at one speed, bench readings with friction in and gas force out."""

    direction: Annotated[DirectionName, direction_of("the forces")]
    velocity_m_s: Annotated[float, described("Piston speed.", 0.3)]
    first_n: Annotated[float, described("Force of the first; of a batch, of this unit.", 1250.0)]
    second_n: Annotated[float, described("Force of the second; of a batch, the median of the others.", 1190.0)]
    gap_n: Annotated[EstimateRecord, described("First less second.", example_of(60.0, 20.0, 100.0))]
    gap_percent: Annotated[float, described("The same over the mean of both.", 4.9)]
    allowed_n: Annotated[float, described("By which they may differ.", 122.0)]
    significant: Annotated[bool, described("Whether the measurement is fine enough to see the difference.", True)]
    answer: Annotated[Answer, described("Whether it is within what is allowed.", "in")]
    probability: Annotated[Share, described("That it is.", 0.99)]


class ComparedUnit(Record):
    """One of the tests."""

    name: Name
    sha256: Hash
    called: Annotated[str, described("Its name on the page: before or after, the serial, else the file.", "A-1042")]
    action: Annotated[Action, described("The verdict on it alone.", "fit")]


class ComparedGroup(Record):
    """The differences of a pair, or of one unit of a batch against the median of the others."""

    unit: Annotated[str, described("Whose differences these are.", "A-1042 less A-1043")]
    answer: Annotated[Answer, described("All of them together.", "in")]
    differences: tuple[DifferenceRecord, ...]


class CompareRecord(Record):
    """What `dampkit compare --json` writes. SI units, the unit in the key."""

    format: Annotated[Literal["dampkit-compare/1"], described("Form of this record.", "dampkit-compare/1")] = (
        "dampkit-compare/1"
    )
    version: Version
    kind: Annotated[Literal["pair", "before-after", "batch"], described("What was compared.", "pair")]
    allowed_percent: Annotated[AtLeastZero, described("By which two may differ, of the mean of both.", 10.0)]
    units: tuple[ComparedUnit, ...]
    groups: tuple[ComparedGroup, ...]
    well_matched: Annotated[bool, described("Matched, and with room to spare.", False)]
    advice: Annotated[str, described("What to do.", "Open A-1043 first.")]
    sources: Sources


class SettingCurve(Columns):
    """What the bench reads at one setting, friction in and gas force out."""

    setting: Annotated[float, described("Clicks or turns.", 4.0, unit="clicks or turns")]
    direction: Annotated[DirectionName, direction_of("the forces")]
    velocity_m_s: Speeds
    force_n: Annotated[Numbers, described("Force, a positive magnitude.", [420.0, 980.0])]
    low_n: Annotated[Numbers, described("Lower end of its 95 % interval.", [400.0, 950.0])]
    high_n: Annotated[Numbers, described("Upper end of its 95 % interval.", [440.0, 1010.0])]


class SettingOption(Record):
    """One setting that the adjuster can be put to."""

    setting: Annotated[float, described("Clicks or turns.", 4.0, unit="clicks or turns")]
    worst_share: Annotated[AtLeastZero, described("Farthest point from the middle of its band, doubt in: 1 is the edge.", 0.6)]  # fmt: skip
    plain_share: Annotated[AtLeastZero, described("The same without the doubt.", 0.5)]
    inside: Annotated[bool, described("Surely inside its band at every speed.", True)]
    logged: Annotated[bool, described("It was run.", True)]
    damping_n_s_m: Annotated[EstimateRecord | None, described("Mean damping at the rated speed; null where it is not reached.", example_of(1500.0, 1450.0, 1550.0))]  # fmt: skip


class SettingRun(Record):
    """One of the logs."""

    name: Name
    sha256: Hash


class SettingsRecord(Record):
    """What `dampkit settings --json` writes. SI units, the unit in the key."""

    format: Annotated[Literal["dampkit-settings/1"], described("Form of this record.", "dampkit-settings/1")] = (
        "dampkit-settings/1"
    )
    version: Version
    runs: tuple[SettingRun, ...]
    curves: tuple[SettingCurve, ...]
    options: Annotated[tuple[SettingOption, ...], described("Best first; none where nothing is wanted.", [])]
    damping_ratio: Annotated[EstimateRecord | None, described("Of the best, at the rated speed; null without a car.", example_of(0.28, 0.26, 0.3))]  # fmt: skip
    sources: Sources


class ReferenceBand(Columns):
    """One direction: bench readings, friction in and gas force out."""

    direction: Annotated[DirectionName, direction_of("the forces")]
    velocity_m_s: Speeds
    force_n: Annotated[Numbers, described("Mean force, a positive magnitude.", [420.0, 980.0])]
    tolerance_n: Annotated[Numbers, described("Half-width of the band.", [60.0, 120.0])]
    deviation_n: Annotated[Numbers, described("Standard deviation among the units.", [18.0, 36.0])]


class ReferenceRecord(Record):
    """What `dampkit reference --json` writes: mean forces of known-good units and how far one may be from them."""

    format: Annotated[Literal["dampkit-reference/1"], described("Form of this record.", "dampkit-reference/1")] = (
        "dampkit-reference/1"
    )
    version: Version
    units: Annotated[Count, described("How many were tested.", 10, unit=PLAIN_NUMBER)]
    share: Annotated[Share, described("Of all such units, what the limits hold.", 0.95)]
    confidence: Annotated[Share, described("That they do.", 0.95, unit=PLAIN_NUMBER)]
    factor: Annotated[AtLeastZero, described("Tolerance over standard deviation.", 3.379, unit=PLAIN_NUMBER)]
    temperature_c: Annotated[float | None, described("At which the forces hold; null where no probe was on.", 20.0)]
    bands: tuple[ReferenceBand, ...]
    sources: Sources


def compare_record(found: Comparison) -> CompareRecord:
    """Asks for the whole analysis of each test, as the advice does."""
    units = tuple(
        ComparedUnit(name=run.name, sha256=run.run.sha256, called=called, action=result.verdict.action)
        for run, called, result in zip(found.runs, found.names, found.results, strict=True)
    )
    whose = found.names if found.kind == "batch" else (" less ".join(found.names),)
    groups = tuple(
        ComparedGroup(unit=unit, answer=answer, differences=own)
        for unit, answer, own in zip(whose, found.answers, found.found, strict=True)
    )
    return CompareRecord.of(
        found,
        version=dampkit.__version__,
        allowed_percent=found.percent,
        units=units,
        groups=groups,
        sources=("jcgm100", "jcgm106", "testmemos1913"),
    )


def settings_record(found: Settings) -> SettingsRecord:
    curves = tuple(SettingCurve(**curve) for curve in found.sweep.curves())
    options = tuple(
        SettingOption.of(option, worst_share=option.worst, plain_share=option.plain) for option in found.options
    )
    return SettingsRecord(
        version=dampkit.__version__, curves=curves, options=options, damping_ratio=found.damping_ratio,
        runs=tuple(SettingRun(name=run.name, sha256=run.run.sha256) for run in found.runs), sources=("jcgm106",),
    )  # fmt: skip


def reference_record(found: KnownGood) -> ReferenceRecord:
    bands = tuple(
        ReferenceBand(
            direction=way, velocity_m_s=found.velocity_m_s, force_n=found.mean_n[way],
            tolerance_n=found.tolerance_n(way), deviation_n=found.deviation_n[way],
        )
        for way in DIRECTIONS
    )  # fmt: skip
    return ReferenceRecord.of(found, version=dampkit.__version__, factor=found.k, bands=bands, sources=("iso16269",))
