"""Small demo tests in other forms than one log: one sound unit of the invented workshop, written in many ways."""

from __future__ import annotations

from pathlib import PurePath

import numpy as np

from dampkit.frozen import frozen
from dampkit.virtual.forms import FORMS, Written
from dampkit.virtual.programme import Drive, Programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.units import TWIN_TUBE

SMALL = Programme(
    tuple(Drive.at_speed(v, c) for v, c in ((0.02, 2.0), (0.05, 3.0), (0.1, 3.0), (0.3, 4.0), (0.5, 4.0)))
)
COARSE = Rig(sample_rate_hz=250.0, force_noise_n=1.0, temperature="none")


@frozen
class FormSample:
    """`form` is one of `FORMS`; `holds` says in a few words what the files are."""

    name: str
    form: str
    holds: str


FORM_SAMPLES = (
    FormSample(
        "speeds", "a file a speed", "one test in a file a speed: `dampkit analyse sample_runs/speeds_*.csv ...`"
    ),
    FormSample("time_anew", "time beginning anew", "stages below one another, time beginning anew with each"),
    FormSample("columns", "stages side by side", "stages side by side, their columns of unequal length"),
    FormSample("loops", "loops side by side, hertz", "closed loops without time, their frequency in the headings"),
    FormSample("loop", "loops a file, rpm", "a closed loop a file, the crank's speed above the table"),
    FormSample("angle", "crank angle", "crank angle and force, the stroke above the table"),
    FormSample("logger", "logger text", "a logger's text: header lines, a clock of twelve hours, a remark in few rows"),
    FormSample("rows", "JSON objects", "rows as JSON"),
    FormSample("packed", "gzip", "a log, gzipped"),
)


def form_sample_files() -> dict[str, bytes]:
    """File name -> bytes of all of them. The same every time."""
    log = _log()
    return {
        name: data for sample in FORM_SAMPLES for name, data in _files(sample, FORMS[sample.form](log, SMALL)).items()
    }


def _log() -> Log:
    return run_bench([TWIN_TUBE], SMALL, COARSE, np.random.default_rng(2024))[0]


def _files(sample: FormSample, written: Written) -> dict[str, bytes]:
    several = len(written.files) > 1
    named = {
        f"{sample.name}{f'_{i}' if several else ''}{''.join(PurePath(name).suffixes)}": data
        for i, (name, data) in enumerate(written.files.items(), start=1)
    }
    return {**named, f"{sample.name}.bench.toml": ("# made-up data\n" + written.bench).encode()}
