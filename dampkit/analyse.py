"""The whole job: read -> curves -> damper -> faults -> needs -> outcome. (Rooms are imported late: start-up stays quick.)

`curves`, `fit` and `diagnose` are its first steps by themselves, `need` the one that wants no test.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from dampkit.job import Job, Source

if TYPE_CHECKING:
    from dampkit.bench.points import Points
    from dampkit.bench.run import Run
    from dampkit.bench.test import Test
    from dampkit.curves.loop import Curves
    from dampkit.damper.declared import DamperSpec
    from dampkit.damper.unit import Unit
    from dampkit.faults.diagnose import Diagnosis
    from dampkit.needs.declared import VehicleSpec
    from dampkit.needs.vehicle_needs import VehicleNeeds
    from dampkit.outcome.change.stock import Stock
    from dampkit.outcome.costs import CostSpec
    from dampkit.outcome.inspection import InspectionSpec
    from dampkit.outcome.result import Result
    from dampkit.outcome.vehicle_record import NeedResult


def analyse(
    run: Run | Points | Test,
    damper: DamperSpec | Source = None,
    vehicle: VehicleSpec | Source = None,
    *,
    inspection: InspectionSpec | Source = None,
    costs: CostSpec | Source = None,
    stock: Stock | Source = None,
) -> Result:
    """Everything that one log, or one test in several records, says about one unit, and for one vehicle.

    Parameters
    ----------
    run
        As `read_run` or `read_test` gives it.
    damper, vehicle, inspection, costs, stock
        Each a TOML file, its content as a mapping, or a model read from one; each may be left out, and the result says
        what is left out with it. Units are in the keys: `piston_diameter_mm`, `sprung_mass_kg`. `inspection` is what
        eyes and hands found, `costs` the prices of the workshop, `stock` the drills, springs, shims and oils it has.

    Returns
    -------
    Result
        Frozen; `to_dict()` is the result JSON, `frames()` its tables, `figures()` its pictures. SI.

    Raises
    ------
    BadSettings
        Where what is declared cannot be used.
    CannotAnalyse
        Where the log holds no full cycle.

    Notes
    -----
    Sources: `result.sources` are the keys of those used, `dampkit.sources.citation(key)` writes them out.

    Examples
    --------
    >>> test = dampkit.read_test(["sample_runs/drawing_table.csv"])
    >>> result = dampkit.analyse(test, damper="sample_runs/drawing_table.damper.toml")
    >>> result.verdict.action
    'undecided'
    """
    return analyse_job(run, Job.load(None, damper, vehicle, inspection, costs, stock))


def analyse_job(run: Run | Points | Test, job: Job, *, ride: bool = True) -> Result:
    """As `analyse`, with everything declared as one object; its bench is the one that the run was read with.

    Parameters
    ----------
    run
        As `read_run` or `read_test` gives it.
    job
        What was declared; see `Job.load`.
    ride
        Whether the vehicle's ride is worked out, too.

    Returns
    -------
    Result
        As `analyse` gives it. SI.

    Raises
    ------
    BadSettings, CannotAnalyse
        As `analyse`.

    Notes
    -----
    Sources: as `analyse`.

    Examples
    --------
    >>> job = dampkit.Job.load(damper={"damper": {"serial": "A-1042", "kind": "lever-arm"}})
    >>> dampkit.analyse_job(dampkit.read_test(["sample_runs/hand_test_lever_arm.csv"]), job).damper.serial
    'A-1042'
    """
    from dampkit.curves.trace import measured_of
    from dampkit.damper.identify import identify
    from dampkit.faults.diagnose import diagnose
    from dampkit.faults.under_test import UnderTest
    from dampkit.outcome.conclude import conclude
    from dampkit.report.sentences import worded

    measured = measured_of(run)
    unit = identify(measured, job.damper)
    # what is expected of a known-good unit is worked out as it is asked for
    test = UnderTest(measured, unit, job.damper)
    diagnosis = diagnose(test)
    return worded(conclude(test, diagnosis, _needs(measured, job, unit, ride), job))


def curves(run: Run | Test) -> Curves:
    """The stages of a run, each folded on its cycles into one loop, and what became of every row.

    Parameters
    ----------
    run
        A log as `read_run` or `read_test` gives it.

    Returns
    -------
    Curves
        `loops` in the order they were run: 512 points each, `displacement_m`, `velocity_m_s` of shape (512,), `force_n`
        of shape (cycles, 512), gas force and friction still in it. `frames()` has them as tables. SI.

    Raises
    ------
    CannotAnalyse
        Where there is no full cycle of steady motion, or the record is a table or a test by hand, which have none.

    Notes
    -----
    Source: own, `dampkit.curves.trace`.

    Examples
    --------
    >>> loops = dampkit.curves(dampkit.read_run("sample_runs/sound_twin_tube.csv")).loops
    >>> loops[0].velocity_m_s.shape
    (512,)
    """
    from dampkit.bench.points import Points
    from dampkit.curves.trace import measured_of
    from dampkit.errors import CannotAnalyse

    found = measured_of(run)
    if isinstance(found, Points):
        raise CannotAnalyse(found.file, f"a {found.form} has no loops", "a time series or loops", "use fit or analyse")
    return found


def fit(run: Run | Points | Test | Curves, damper: DamperSpec | Source = None) -> Unit:
    """What the records say about the unit itself: each direction's valve, gas force, friction, lag.

    Parameters
    ----------
    run
        A record, or the `Curves` that were made of it.
    damper
        The damper file, its content, or a model read from it: its sizes and oil are used.

    Returns
    -------
    Unit
        `rebound` and `compression`, each with its `law` (curve of the oil's force, velocities in m/s, forces in N,
        positive magnitudes) and `reading` (what the bench reads, no model). None where the test cannot tell.

    Raises
    ------
    BadSettings
        Where the damper file cannot be used.
    CannotAnalyse
        Where the log holds no full cycle.

    Notes
    -----
    Sources: in the docstrings of `dampkit.damper`, beside each relation.

    Examples
    --------
    >>> unit = dampkit.fit(dampkit.read_test(["sample_runs/drawing_table.csv"]))
    >>> unit.rebound.law.explained
    True
    """
    from dampkit.damper.identify import identify

    return identify(_measured(run), Job.load(damper=damper).damper)


def diagnose(run: Run | Points | Test | Curves, damper: DamperSpec | Source = None) -> Diagnosis:
    """The faults that a test shows, the measures they rest on, and what was not looked for.

    Parameters
    ----------
    run
        A record, or the `Curves` that were made of it.
    damper
        The damper file, its content, or a model read from it. Without a `[reference]` fewer causes can be looked for.

    Returns
    -------
    Diagnosis
        `findings`, likeliest first; `measures`, each with value, unit, limit and its basis (SI unless
        its unit says otherwise); `not_looked_for`.

    Raises
    ------
    BadSettings, CannotAnalyse
        As `fit`.

    Notes
    -----
    Sources: in the docstrings of `dampkit.faults`, beside each limit; the basis of each is on its measure.

    Examples
    --------
    >>> found = dampkit.diagnose(dampkit.read_test(["sample_runs/drawing_table.csv"]))
    >>> [finding.code for finding in found.findings]
    []
    """
    from dampkit.damper.identify import identify
    from dampkit.faults.diagnose import diagnose as diagnosed
    from dampkit.faults.under_test import UnderTest

    measured, spec = _measured(run), Job.load(damper=damper).damper
    return diagnosed(UnderTest(measured, identify(measured, spec), spec))


def need(vehicle: VehicleSpec | Source) -> NeedResult:
    """What a vehicle needs of its dampers, without any test.

    Parameters
    ----------
    vehicle
        The vehicle file, its content as a mapping, or a model read from it.

    Returns
    -------
    NeedResult
        Critical damping at the wheel in N s/m, frequencies in Hz, and the band of forces in N by speed in m/s at the
        damper; `to_dict()` is what `dampkit need --json` writes.

    Raises
    ------
    BadSettings
        Where the vehicle is missing, cannot be used, or its parts do not go together.

    Notes
    -----
    Sources: `.sources` are the keys, as `analyse`.

    Examples
    --------
    >>> corner = {"sprung_mass_kg": 380.0, "unsprung_mass_kg": 42.0, "wheel_rate_n_mm": 30.0,
    ...           "tyre_rate_n_mm": 200.0, "damper_motion_ratio": 0.8}
    >>> round(dampkit.need({"corner": corner}).vehicle.critical_damping_n_s_m)  # 2 sqrt(30000 x 380)
    6753
    """
    from dampkit.bench.sense import odd_values
    from dampkit.errors import BadSettings
    from dampkit.needs.vehicle_needs import bare
    from dampkit.outcome.vehicle_record import need_result

    spec = Job.load(vehicle=vehicle).vehicle
    if spec is None:
        raise BadSettings("need", "no vehicle is given", "a vehicle file or its content", "give one")
    return need_result(bare(spec), odd_values(spec, "vehicle"))


def _measured(run: Run | Points | Test | Curves) -> Curves | Points:
    from dampkit.curves.loop import Curves
    from dampkit.curves.trace import measured_of

    return run if isinstance(run, Curves) else measured_of(run)


def _needs(measured: Curves | Points, job: Job, unit: Unit, ride: bool) -> VehicleNeeds | None:
    """Without a vehicle, or of a unit that damps no wheel, the room that works out its needs is not even imported."""
    from dampkit.damper.kinds import facts_of

    if job.vehicle is None or not facts_of(None if job.damper is None else job.damper.damper.kind).damps_wheel:
        return None
    from dampkit.needs.vehicle_needs import vehicle_needs

    return vehicle_needs(measured, job.vehicle, unit, ride=ride)
