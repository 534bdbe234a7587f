"""Several tests from Python: compared, as settings of one adjuster, as a reference, as a batch. (All imported late.)

A test is what `read_run` or `read_test` gives, or what they take: then it is read with `bench`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from dampkit.job import Job
from dampkit.job import Source as Declared

if TYPE_CHECKING:
    from dampkit.bench.declared import BenchSpec
    from dampkit.bench.given import Source
    from dampkit.bench.points import Points
    from dampkit.bench.run import Run
    from dampkit.bench.test import Test
    from dampkit.damper.declared import DamperSpec
    from dampkit.expected.known_good import KnownGood
    from dampkit.needs.declared import VehicleSpec
    from dampkit.outcome.choice import Settings
    from dampkit.outcome.side_by_side import Comparison
    from dampkit.store.batch import Batch

    One = Run | Points | Test | Source


def compare(
    tests: Sequence[One],
    bench: BenchSpec | Declared = None,
    *,
    damper: DamperSpec | Declared = None,
    vehicle: VehicleSpec | Declared = None,
    allow_percent: float | None = None,
    before_after: bool = False,
) -> Comparison:
    """Two units of an axle, or one before and after; three or more each against the median of the others.

    Parameters
    ----------
    tests
        Two or more; a table of several settings counts once for each.
    bench, damper, vehicle
        The same for all, each a TOML file, its content, or a model read from it. A reference gives the speeds.
    allow_percent
        What two units may differ by, of the mean of both, and at least 25 N; 10 unless said.
    before_after
        The two are one unit, before and after work on it.

    Returns
    -------
    Comparison
        `found`: differences by direction and speed (m/s) in N with their 95 % intervals; `answers`; `advice`;
        `frames()`. What `dampkit compare` prints.

    Raises
    ------
    BadSettings
        For fewer than two tests, the same one twice, or three before and after.
    UnreadableLog, CannotAnalyse
        As `read_run` and `analyse`.

    Notes
    -----
    Sources: [jcgm100] 5.1.2 and [jcgm106] for the doubt, [testmemos1913] for 10 %.

    Examples
    --------
    >>> speeds = {"velocity m/s": [0.05, 0.1, 0.3, 0.6]}
    >>> left = {**speeds, "rebound N": [180, 420, 980, 1400], "compression N": [150, 300, 520, 700]}
    >>> right = {**speeds, "rebound N": [120, 270, 640, 900], "compression N": [150, 300, 520, 700]}
    >>> pair = dampkit.compare([left, right])
    >>> pair.answers
    ('out',)
    """
    from dampkit.outcome.side_by_side import compare as compared
    from dampkit.outcome.side_by_side import fitted

    return compared(fitted(tests, Job.load(bench, damper, vehicle)), allow_percent, before_after=before_after)


def settings(
    tests: Sequence[One],
    at: Sequence[float] | None = None,
    bench: BenchSpec | Declared = None,
    *,
    damper: DamperSpec | Declared = None,
    vehicle: VehicleSpec | Declared = None,
    step: float = 1.0,
) -> Settings:
    """Clicks or turns of an adjuster to curves, and which to choose.

    Parameters
    ----------
    tests
        One for each setting, or one table with a column of settings.
    at
        The setting of each; else as the table tells, else the last number in each name.
    bench, damper, vehicle
        As in `compare`. The reference is what is wanted; without one, what the vehicle needs.
    step
        Smallest step of the adjuster, in the unit of `at`.

    Returns
    -------
    Settings
        `sweep` (bench forces in N by setting and speed in m/s), `options` best first, `best`, `damping_ratio`,
        `frames()`. What `dampkit settings` prints.

    Raises
    ------
    BadSettings
        Where settings are not one for each test, fewer than two, or one comes twice.
    UnreadableLog, CannotAnalyse
        As `read_run` and `analyse`.

    Notes
    -----
    Source: own; the guard band is [jcgm106].

    Examples
    --------
    >>> speeds = [0.05, 0.1, 0.3, 0.6]
    >>> soft = {"velocity m/s": speeds, "rebound N": [120, 270, 640, 900], "compression N": [150, 300, 520, 700]}
    >>> firm = {"velocity m/s": speeds, "rebound N": [180, 420, 980, 1400], "compression N": [160, 310, 540, 720]}
    >>> wanted = {"reference": {"velocity_m_s": [0.1, 0.3], "rebound_force_n": [345.0, 810.0],
    ...                         "compression_force_n": [305.0, 530.0]}}
    >>> dampkit.settings([soft, firm], at=[0, 8], damper=wanted).best.setting
    4.0
    """
    from dampkit.outcome.choice import choose
    from dampkit.outcome.side_by_side import fitted

    return choose(fitted(tests, Job.load(bench, damper, vehicle)), at, step)


def reference(
    tests: Sequence[One],
    bench: BenchSpec | Declared = None,
    *,
    damper: DamperSpec | Declared = None,
    share: float = 0.95,
    confidence: float = 0.95,
) -> KnownGood:
    """A reference with its tolerance from several known-good units.

    Parameters
    ----------
    tests
        One of each unit, two at least; ten make a useful band.
    bench, damper
        As in `compare`; speeds are those of its reference where it has one.
    share, confidence
        The limits hold this share of all such units with this confidence, both between 0 and 1.

    Returns
    -------
    KnownGood
        Mean forces in N and their tolerances at speeds in m/s, shape (K,); `to_toml(kept)` is the damper file that
        `dampkit reference --save` writes, with what else stands in the text `kept`; `to_dict()` is to be given as `damper`.

    Raises
    ------
    BadSettings
        For fewer than two units, no speed in common, or a share that is none.
    UnreadableLog, CannotAnalyse
        As `read_run` and `analyse`.

    Notes
    -----
    Source: [iso16269], limits of a normal distribution.

    Examples
    --------
    >>> speeds = [0.05, 0.1, 0.3, 0.6]
    >>> one = {"velocity m/s": speeds, "rebound N": [180, 420, 980, 1400], "compression N": [150, 300, 520, 700]}
    >>> two = {"velocity m/s": speeds, "rebound N": [185, 430, 990, 1420], "compression N": [155, 305, 530, 720]}
    >>> dampkit.reference([one, two]).to_dict()["reference"]["velocity_m_s"]
    [0.05, 0.1, 0.2, 0.3, 0.6]
    """
    from dampkit.outcome.side_by_side import fitted
    from dampkit.outcome.side_by_side import reference as made_of

    return made_of(fitted(tests, Job.load(bench, damper)), share, confidence)


def batch(
    tests: Sequence[One],
    bench: BenchSpec | Declared = None,
    *,
    damper: DamperSpec | Declared = None,
    vehicle: VehicleSpec | Declared = None,
    processes: int = 1,
) -> Batch:
    """Many tests, each analysed by itself; a record that cannot be read never stops the rest.

    Parameters
    ----------
    tests
        Each as in `compare`. Beside a file RUN.csv its own RUN.bench.toml, RUN.damper.toml and so on are found, as by
        `dampkit batch`.
    bench, damper, vehicle
        For tests that have none of their own.
    processes
        Of this machine; 0 for one a processor.

    Returns
    -------
    Batch
        `names` and `outcomes` in the order given, `results`, `errors`; `frames()["table"]` has a row a test, SI.

    Raises
    ------
    BadSettings
        Where what is declared for all cannot be used.

    Notes
    -----
    Source: own.

    Examples
    --------
    >>> many = dampkit.batch(["sample_runs/drawing_table.csv", {"time_s": [0.0, 1.0]}])
    >>> [type(outcome).__name__ for outcome in many.outcomes]
    ['Result', 'DataError']
    """
    from dampkit.store.batch import batch as worked

    return worked(tests, Job.load(bench, damper, vehicle), processes)
