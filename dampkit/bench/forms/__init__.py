"""The forms of test that a record can have. Each is a name, a refusal that says why a record is none, and a reader.

Exactly one form may fit a record, or the person says which it is: bench.toml, [log] form.
"""

from __future__ import annotations

from collections.abc import Callable

from dampkit.bench.forms import hand_test, loops, table, time_series
from dampkit.bench.points import Points
from dampkit.bench.record import FormName, Reading, Record
from dampkit.errors import UnreadableLog
from dampkit.frozen import frozen

Found = tuple[Reading, ...] | tuple[Points, ...]


@frozen
class Form:
    """`refusal` gives None where the record is of this form, else why not. `read` raises UnreadableLog."""

    name: FormName
    refusal: Callable[[Record], str | None]
    read: Callable[[Record], Found]


FORMS: tuple[Form, ...] = (
    Form("time-series", time_series.refusal, time_series.read),
    Form("loops", loops.refusal, loops.read),
    Form("table", table.refusal, table.read),
    Form("hand-test", hand_test.refusal, hand_test.read),
)


def form_of(record: Record) -> Form:
    """The one form that fits. Raises UnreadableLog with every form's own reason where none or several do."""
    declared = record.spec.log.form
    if declared is not None:
        return next(form for form in FORMS if form.name == declared)
    refusals = {form: form.refusal(record) for form in FORMS}
    fitting = [form for form, why in refusals.items() if why is None]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        names = " and ".join(form.name for form in fitting)
        raise UnreadableLog(
            record.where,
            f"this can be read as {names}",
            "a record that fits one form",
            f'state it in bench.toml: [log] form = "{fitting[0].name}"',
        )
    reasons = "; ".join(f"no {form.name}: {why}" for form, why in refusals.items())
    raise UnreadableLog(record.where, reasons, "a record of one of these forms", _ASK)


_ASK = "name its columns in bench.toml: [columns], its rate: [timing], or its form: [log] form"
