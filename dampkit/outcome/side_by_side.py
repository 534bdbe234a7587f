"""Several tests as fits, and what holding them side by side says; the command and the Python call ask here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from dampkit.bench.given import refuse_lone
from dampkit.bench.points import Points
from dampkit.bench.run import Run
from dampkit.bench.test import Test, read_test
from dampkit.damper.unit import Unit
from dampkit.errors import BadSettings
from dampkit.expected.conformity import Answer
from dampkit.expected.known_good import KnownGood, known_good
from dampkit.expected.window import USUAL_SPEEDS_M_S
from dampkit.frozen import frozen
from dampkit.job import Job
from dampkit.outcome.compare import (
    PAIR_PERCENT,
    Difference,
    Tested,
    against_others,
    differences,
    matched,
    well_matched,
    which_to_change,
)
from dampkit.quantities import number

if TYPE_CHECKING:
    import pandas as pd

    from dampkit.bench.given import Source
    from dampkit.outcome.result import Result

Kind = Literal["pair", "before-after", "batch"]


@frozen
class Fitted:
    """One of several tests and its fit. `setting`: of one of several in a table."""

    name: str
    run: Run | Points
    job: Job
    fit: Unit
    setting: float | None = None

    @cached_property
    def result(self) -> Result:
        """The whole analysis, made when it is first asked for."""
        from dampkit.analyse import analyse_job

        return analyse_job(self.run, self.job)

    @property
    def bad_data(self) -> bool:
        return any(q.severity == "bad" for q in (*self.run.quality, *self.fit.quality))

    @property
    def tested(self) -> Tested:
        return Tested(self.name, self.fit, self.result.verdict.action, _worst(self.result))

    def __repr__(self) -> str:
        return f"<Fitted {self.name!r}: {self.run!r}>"


def fitted(
    tests: Sequence[Run | Points | Test | Source], job: Job, *, at_least: int = 2, names: Sequence[str] | None = None
) -> tuple[Fitted, ...]:
    """Each test, read where it is not yet, and fitted, in the order given; a table of several settings once for each.

    Raises BadSettings for too few tests or the same record twice; UnreadableLog and CannotAnalyse as `analyse`.
    """
    from dampkit.curves.trace import measured_of
    from dampkit.damper.identify import identify

    refuse_lone(tests, "tests")
    if names is not None and len(names) != len(tests):
        raise BadSettings("names", f"{len(names)} names for {len(tests)} tests", "one for each", "correct them")
    out: list[Fitted] = []
    for n, test in enumerate(tests):
        called, run = _read(test, job, None if names is None else names[n])
        same = next((f.name for f in out if f.run.sha256 == run.sha256), None)
        if same is not None:
            raise BadSettings(called, f"the same log as {same}", "a different run each", "check the names")
        for part, setting in _settings_of(run):
            name = called if setting is None else f"{called}, setting {setting:g}"
            out.append(Fitted(name, part, job, identify(measured_of(part), job.damper), setting))
    if len(out) < at_least:
        raise BadSettings("logs", f"found {len(out)}", f"at least {at_least} logs", "name them all")
    return tuple(out)


def _read(test: Run | Points | Test | Source, job: Job, name: str | None) -> tuple[str, Run | Points]:
    """The name by which it is told from the others, and its record."""
    if isinstance(test, Run | Points | Test):
        record = test.record if isinstance(test, Test) else test
        return name or record.file, record
    record = read_test([test], job.bench, names=None if name is None else [name]).record
    return name or (str(test) if isinstance(test, str | Path) else record.file), record


def _settings_of(record: Run | Points) -> list[tuple[Run | Points, float | None]]:
    """A record; each setting of a table of several."""
    if not isinstance(record, Points) or len(record.groups) < 2:
        return [(record, None)]
    return [(record.of_group(group), group) for group in record.groups]


@frozen
class Comparison:
    """Two or more tests side by side, friction in, gas out; velocities in m/s, forces in N, differences first less second.

    `found`: of a pair one group of differences, of a batch one for each unit against the median of the others.
    `percent`: allowed, of the mean of both, and at least 25 N. Source: `dampkit.outcome.compare` beside each limit.

    Examples
    --------
    >>> speeds = {"velocity m/s": [0.05, 0.1, 0.3, 0.6]}
    >>> left = {**speeds, "rebound N": [180, 420, 980, 1400], "compression N": [150, 300, 520, 700]}
    >>> right = {**speeds, "rebound N": [120, 270, 640, 900], "compression N": [150, 300, 520, 700]}
    >>> dampkit.compare([left, right])
    <Comparison (pair) of ...: out; allowed 10 %
     largest difference for its limit: rebound at ... m/s, +... N, out>
    """

    kind: Kind
    runs: tuple[Fitted, ...]
    found: tuple[tuple[Difference, ...], ...]
    percent: float

    @property
    def results(self) -> tuple[Result, ...]:
        """The whole analysis of each test; made when first asked for."""
        return tuple(run.result for run in self.runs)

    @property
    def answers(self) -> tuple[Answer, ...]:
        """For each group of `found`: "in" (matched), "out", or "not established"."""
        if self.kind == "batch":
            return tuple(matched(own, run.bad_data) for own, run in zip(self.found, self.runs, strict=True))
        return (matched(self.found[0], any(run.bad_data for run in self.runs)),)

    @property
    def well_matched(self) -> bool:
        """Every unit matched, and each difference small enough to be called good."""
        return all(answer == "in" for answer in self.answers) and all(well_matched(own) for own in self.found)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """For a reader: before and after; the serials where they differ; else the files."""
        if self.kind == "before-after":
            return ("before", "after")
        serials = [run.job.damper.damper.serial if run.job.damper else None for run in self.runs]
        if all(serials) and len(set(serials)) == len(serials):
            return tuple(str(serial) for serial in serials)
        stems = tuple(Path(run.name).stem for run in self.runs)
        return stems if len(set(stems)) == len(stems) else tuple(run.name for run in self.runs)

    @property
    def advice(self) -> str:
        """A sentence: what to do."""
        if self.kind == "batch":
            return self._apart()
        if self.kind == "before-after":
            return self.results[1].verdict.next_step
        return self.advice_by(self.names)

    def advice_by(self, names: Sequence[str]) -> str:
        """The advice on a pair, with these names for it."""
        first, second = (
            Tested(name, run.fit, run.tested.action, run.tested.worst_miss)
            for name, run in zip(names, self.runs, strict=True)
        )
        return which_to_change(first, second, self.found[0])

    def _apart(self) -> str:
        apart = [Path(run.name).stem for run, answer in zip(self.runs, self.answers, strict=True) if answer == "out"]
        if not apart:
            return "None has to be changed for the others' sake."
        return f"Look at {', '.join(apart)} first: open or set what stands apart, and run it again."

    def frames(self) -> dict[str, pd.DataFrame]:
        """`differences`: a row a direction and speed, the unit for a batch; SI, the unit is the tail of each name."""
        import pandas as pd

        units = self.names if self.kind == "batch" else (" less ".join(self.names),)
        rows = [{"unit": unit, **_row(d)} for unit, own in zip(units, self.found, strict=True) for d in own]
        return {"differences": pd.DataFrame(rows)}

    def __repr__(self) -> str:
        said = ", ".join(dict.fromkeys(self.answers))
        lines = [f"<Comparison ({self.kind}) of {', '.join(self.names)}: {said}; allowed {self.percent:g} %"]
        worst = max(
            (d for own in self.found for d in own), key=lambda d: abs(d.gap_n.value) / d.allowed_n, default=None
        )
        if worst is not None:
            at = f"{worst.direction} at {number(worst.velocity_m_s)} m/s"
            lines.append(f" largest difference for its limit: {at}, {worst.gap_n.value:+.0f} N, {worst.answer}")
        return "\n".join(lines) + ">"


def _row(d: Difference) -> dict[str, object]:
    flat = {k: v for k, v in asdict(d).items() if k != "gap_n"}
    return {
        **flat,
        "gap_n": d.gap_n.value,
        "gap_low_n": d.gap_n.low,
        "gap_high_n": d.gap_n.high,
        "gap_percent": d.gap_percent,
    }


def compare(runs: Sequence[Fitted], percent: float | None = None, *, before_after: bool = False) -> Comparison:
    """Two tests against each other, or three and more each against the median of the others.

    At the speeds of the reference where one is declared, else the usual ones, and at every speed tested.
    Raises BadSettings where before and after are not two.
    """
    if before_after and len(runs) != 2:
        found = f"{len(runs)} logs as before and after"
        raise BadSettings("compare", found, "two logs: before, then after", "name two, or leave it out")
    allowed = PAIR_PERCENT if percent is None else percent
    speeds, fits = _speeds(runs[0].job), [run.fit for run in runs]
    if len(runs) == 2:
        kind: Kind = "before-after" if before_after else "pair"
        return Comparison(kind, tuple(runs), (differences(fits[0], fits[1], speeds, allowed),), allowed)
    found_each = tuple(against_others(fits, n, speeds, allowed) for n in range(len(runs)))
    return Comparison("batch", tuple(runs), found_each, allowed)


def reference(runs: Sequence[Fitted], share: float = 0.95, confidence: float = 0.95) -> KnownGood:
    """The reference that several known-good units make, at the speeds of a declared one, else the usual ones."""
    job = runs[0].job if runs else Job()
    spec = job.damper
    speeds = () if spec is None or spec.reference is None else spec.reference.velocity_m_s
    found = known_good([run.fit for run in runs], speeds, share, confidence)
    return found if spec is None else replace(found, damper=spec.damper)


def _speeds(job: Job) -> tuple[float, ...]:
    spec = job.damper
    return USUAL_SPEEDS_M_S if spec is None or spec.reference is None else spec.reference.velocity_m_s


def _worst(result: Result) -> float | None:
    """Largest distance from the reference over the allowance; None without one."""
    tested = [p for p in result.reference or () if p.measured_n is not None]
    if not tested:
        return None
    return max(abs((p.measured_n or 0.0) - p.reference_n) / max(p.high_n - p.reference_n, 1e-9) for p in tested)
