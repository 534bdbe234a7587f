"""What bench.toml declares about the bench, applied to a run step by step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from dampkit.bench.declared import BenchSpec
from dampkit.bench.onset import force_delay
from dampkit.bench.run import Quality, Run, Step
from dampkit.quantities import number, read_only

LEAST_DELAY_S = 2.5e-3  # own: a soft lever-arm without any delay shows up to 2 ms; less is left to the fit
LEAST_ROWS = 1.5


def corrected(run: Run, spec: BenchSpec) -> Run:
    """Zero, channel delay, fixture flex and moving mass, each a step in the run's history."""
    run = replace(run, as_logged=spec.corrections.as_logged)
    for correct in (_zero, _delay, _flex, _moving_mass):
        run = correct(run, spec)
    return run


def _zero(run: Run, spec: BenchSpec) -> Run:
    """The run's force has the package's sign already, so the declared reading was turned with it; see `read`."""
    if spec.zero.force_n is not None:
        return run
    note = Quality(
        "zero_unknown",
        "note",
        "The load cell's reading with nothing fitted is not declared, so gas force and cell zero cannot be told apart."
        " State it in bench.toml: [zero] force_n.",
        "declare",
    )
    return run.then(Step("cell zero left as read", "not declared"), quality=(*run.quality, note))


def _delay(run: Run, spec: BenchSpec) -> Run:
    """The declared delay taken back, or else the one that the starts from rest show."""
    if "force_delay_s" in spec.timing.model_fields_set:
        return _moved_back(run, spec.timing.force_delay_s, "declared in bench.toml")
    if run.closed_hz is not None:
        return run  # a loop has no starts from rest
    filtered = any(q.code == "force_filtered" for q in run.quality)  # its onset is earlier than all that follows
    found = None if filtered else force_delay(run)
    if found is None or abs(found.delay_s) < max(
        LEAST_DELAY_S, LEAST_ROWS * run.sample_interval_s, 3 * found.standard_error_s
    ):
        return run
    late = "behind" if found.delay_s > 0 else "ahead of"
    done = "It was left in, as asked." if spec.corrections.as_logged else "It was taken out."
    said = Quality(
        "channel_delay",
        "warning",
        f"The force runs {number(1000 * abs(found.delay_s), 2)} ms {late} the displacement"
        f" (+/- {number(2000 * found.standard_error_s, 1)} ms, from {found.starts} starts from rest). {done}"
        " Measure it on a rigid link or a friction unit and declare it: [timing] force_delay_s.",
        "declare",
    )
    run = replace(run, quality=(*run.quality, said))
    return run if spec.corrections.as_logged else _moved_back(run, found.delay_s, "seen at the starts from rest")


def _moved_back(run: Run, delay: float, why: str) -> Run:
    """Force as it was when the displacement was: read at t + delay; rows whose force lies outside the log go."""
    if delay == 0:
        return run
    if run.closed_hz is not None:
        force = np.interp(run.time_s + delay, run.time_s, run.force_n, period=_length_s(run))
        step = Step("force moved back by its delay", why, (("force_delay_s", delay),))
        return run.then(step, force_n=read_only(force))
    at = run.time_s + delay
    inside = (at >= run.time_s[0]) & (at <= run.time_s[-1])
    force = np.interp(at[inside], run.time_s, run.force_n)

    def kept(values: np.ndarray | None) -> np.ndarray | None:
        return None if values is None else read_only(values[inside])

    return run.then(
        Step("force moved back by its delay", why, (("force_delay_s", delay),)),
        time_s=kept(run.time_s),
        displacement_m=kept(run.displacement_m),
        force_n=read_only(force),
        measured_velocity_m_s=kept(run.measured_velocity_m_s),
        temperature_c=kept(run.temperature_c),
    )


def _length_s(run: Run) -> float:
    """Of a closed run, from its first row to where that comes again."""
    return max(1.0, round(float(run.time_s[-1]) * float(run.closed_hz or 1.0))) / float(run.closed_hz or 1.0)


def _flex(run: Run, spec: BenchSpec) -> Run:
    """Bench and links stretch under tension by force over stiffness; the damper moved by so much less."""
    if spec.fixture.stiffness_n_mm is None:
        return run
    stiffness_n_m = 1000.0 * spec.fixture.stiffness_n_mm
    step = Step(
        "bench flex taken out of the displacement", "declared in bench.toml", (("stiffness_n_m", stiffness_n_m),)
    )
    return run.then(step, displacement_m=read_only(run.displacement_m - run.force_n / stiffness_n_m))


def _moving_mass(run: Run, spec: BenchSpec) -> Run:
    mass = spec.fixture.moving_mass_kg
    if mass == 0:
        return run
    step = Step(
        "mass between cell and damper noted",
        "its inertia is taken out where the loops are fitted",
        (("mass_kg", mass),),
    )
    return run.then(step, moving_mass_kg=mass)
