"""What is known of temperature, in words: fade against what is expected, corrected forces, how to warm up."""

from __future__ import annotations

from collections.abc import Iterator

from dampkit.outcome.measured_record import FadeRecord, WarmthRecord, WarmUpStepRecord
from dampkit.report.numbers import Writer

HOW = {
    "measured": "The oil's temperature is that of the probe in the log, with what it lags behind the work done.",
    "estimated from work": (
        "The log has no temperature: that of the oil is estimated from the work done, from a start at"
        " 20\N{NO-BREAK SPACE}\N{DEGREE SIGN}C give or take 10."
    ),
}
OIL = {"declared": "the oil declared", "usual": "a usual damper oil"}


def warmth_said(record: WarmthRecord, writer: Writer) -> tuple[str, ...]:
    return tuple(_said(record, writer))


def _said(record: WarmthRecord, writer: Writer) -> Iterator[str]:
    yield HOW[record.temperature]
    if record.fade is not None:
        yield _faded(record.fade, writer)
    to = writer.given(record.reference_temperature_c, "°C", 3)
    if record.left_as_read:
        yield (
            f"The stages differ by more than 15 K, for which no one law holds: nothing was brought to {to}, and only what"
            " was read within 5 K of it stands."
        )
    elif record.at_reference_temperature:
        yield f"Forces corrected to {to}, by the viscosity of {OIL[record.oil]}, are no readings; their intervals hold the doubt."
    for step in record.warm_up:
        yield _step(step, writer)


def _faded(fade: FadeRecord, writer: Writer) -> str:
    start, end = (writer.given(c, "°C", 3) for c in (fade.from_c, fade.to_c))
    text = f"From {start} to {end} work per cycle changes by {writer.estimate(fade.work_percent_k, '% per K')}"
    text += f"; its own oil and leak make {writer.estimate(fade.expected_work_percent_k, '% per K')} of it expected"
    if fade.force_n_k is None or fade.expected_force_n_k is None or fade.velocity_m_s is None:
        return f"{text}."
    speed = writer.given(fade.velocity_m_s, "m/s")
    text += f"; the force at {speed} by {writer.estimate(fade.force_n_k, 'N per K')}"
    return f"{text}, expected {writer.estimate(fade.expected_force_n_k, 'N per K')}."


def _step(step: WarmUpStepRecord, writer: Writer) -> str:
    """One step of the warm-up, with where its figures come from."""
    near = "" if step.tolerance_k is None else f" within {step.tolerance_k:g} K"
    celsius = "" if step.temperature_c is None else writer.given(step.temperature_c, "°C", 3)
    speed = "" if step.velocity_m_s is None else writer.given(step.velocity_m_s, "m/s")
    cycles = "" if step.cycles_per_k is None else f" (about {step.cycles_per_k.low:.0f} to {step.cycles_per_k.high:.0f} cycles a kelvin)"  # fmt: skip
    text = {
        "prime": f"To test it again: prime it upright with {step.strokes} full strokes.",
        "warm": f"Bring the body to {celsius}{near}: let it cool, or work it at {speed}{cycles}.",
        "rest": f"Leave it for {(step.wait_s or 0.0) / 60:.0f} minutes, so that body and oil are alike, and log the probe on the body.",
        "run": f"Run each speed for no more cycles than keep it{near} of {celsius}; let it cool between.",
        "stop": f"Stop where the body reaches {celsius}: a hot body burns, and hot oil sprays. The maker's limit comes first.",
    }[step.action]
    return f"{text} ({step.basis[:1].upper()}{step.basis[1:]}.)"
