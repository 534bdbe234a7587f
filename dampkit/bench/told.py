"""What a person says of each record in bench.toml, where the record does not: by a part of its file's name or a table.

[files]
name = "{unit}_{frequency_hz}Hz_{temperature_c}C.csv"
[files.told."slow.csv"]
crank_rpm = 6.0
setting = "4 clicks"
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np

from dampkit.bench.declared import BenchSpec, Told
from dampkit.bench.run import Run, Step
from dampkit.errors import BadSettings
from dampkit.quantities import read_only

TEXTS = ("unit", "setting")
NUMBER = r"-?\d+(?:[.,x]\d+)?"  # a point cannot stand in every file's name, so some write 0x5
_FIELD = re.compile(r"\{(\w+)\}")


def last_number(file: str) -> float | None:
    """The last number in a file's name, as a person writes the clicks of a setting there; None where there is none."""
    found = re.findall(r"\d+(?:\.\d+)?", Path(file).stem)
    return float(found[-1]) if found else None


def told_of(file: str, spec: BenchSpec) -> Told:
    """What is said of a file; the table goes before the name. Raises BadSettings where the name does not fit."""
    told = _by_name(file, spec.files.name) if spec.files.name is not None else {}
    given = spec.files.told.get(file)
    return Told(**{**told, **(given.model_dump(exclude_none=True) if given else {})})


def _by_name(file: str, pattern: str) -> dict[str, float | str]:
    known = [*Told.model_fields, "unit"]
    fields = _FIELD.findall(pattern)
    if not fields or len(set(fields)) < len(fields) or not set(fields) <= set(known):
        expected = "parts such as {frequency_hz}, each once, of: " + ", ".join(known)
        raise BadSettings("bench.toml, [files] name", f"found {pattern!r}", expected, "correct the pattern")
    parts = _FIELD.split(pattern)
    shape = "".join(
        f"(?P<{part}>{'.+?' if part in TEXTS else NUMBER})" if i % 2 else re.escape(part).replace(r"\*", ".*")
        for i, part in enumerate(parts)
    )
    match = re.fullmatch(shape, file)
    if match is None:
        expected = f"a name such as {pattern!r}"
        raise BadSettings(
            file, "the file's name does not fit [files] name", expected, "correct the name or the pattern"
        )
    found = {name: value for name, value in match.groupdict().items() if name != "unit"}
    return {name: v if name in TEXTS else float(re.sub("[,x]", ".", v)) for name, v in found.items()}


def spec_with(told: Told, spec: BenchSpec) -> BenchSpec:
    """The bench as it was for this record."""
    timing = {name: v for name in ("frequency_hz", "crank_rpm") if (v := getattr(told, name)) is not None}
    if timing:
        apart = {"frequency_hz": None, "crank_rpm": None, **timing}
        spec = spec.model_copy(update={"timing": spec.timing.model_copy(update=apart)})
    if told.stroke_mm is not None:
        spec = spec.model_copy(update={"motion": spec.motion.model_copy(update={"stroke_mm": told.stroke_mm})})
    return spec


def run_with(told: Told, run: Run) -> Run:
    """The run with what was said of its record in the history, and its temperature where the record has none."""
    said = told.model_dump(exclude_none=True)
    if not said:
        return run
    run = run.then(Step("told of this record", f"bench.toml, of {run.file}", tuple(said.items())))
    if told.temperature_c is None or run.temperature_c is not None:
        return run
    return replace(run, temperature_c=read_only(np.full(run.rows_used, told.temperature_c)))
