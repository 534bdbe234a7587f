"""A made-up unit on a made-up bench with one flaw, written as a log and read back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np

from dampkit.bench.declared import BenchSpec
from dampkit.bench.run import Quality, Run
from dampkit.bench.test import read_run
from dampkit.virtual.dialects import PLAIN, Dialect, write_csv
from dampkit.virtual.plant import Kind, Plant
from dampkit.virtual.programme import Programme, standard_programme
from dampkit.virtual.rig import Log, Rig, run_bench
from dampkit.virtual.units import BASE, FRICTION_DISC, LEVER_ARM, MONOTUBE, TWIN_TUBE

UNITS: dict[Kind, Plant] = {
    "twin-tube": TWIN_TUBE,
    "monotube": MONOTUBE,
    "lever-arm": LEVER_ARM,
    "friction-disc": FRICTION_DISC,
    "steering-damper": BASE["steering-damper"][0],
}
SPEEDS: dict[Kind, tuple[float, ...]] = {
    "twin-tube": (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0),
    "monotube": (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0),
    "lever-arm": (0.005, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5),
    "friction-disc": (0.005, 0.05, 0.1, 0.2, 0.3, 0.4),
    "steering-damper": (0.005, 0.05, 0.1, 0.2, 0.3, 0.5),
}
SIGNS = {"force_positive": "tension", "displacement_positive": "extension"}


def ladder(kind: Kind, *, repeat_first: bool = True) -> Programme:
    """A slow pass, then the speeds of a kind, and the first of them again."""
    return standard_programme(SPEEDS[kind], repeat_first=repeat_first)


@lru_cache(maxsize=32)
def recorded(plant: Plant, rig: Rig, *, repeat_first: bool = True) -> Log:
    """What the bench writes of one unit. The same every time."""
    return run_bench([plant], ladder(plant.kind, repeat_first=repeat_first), rig, np.random.default_rng(5))[0]


def read(tmp_path: Path, log: Log, dialect: Dialect = PLAIN, **sections: Mapping[str, object]) -> Run:
    """The log written and read; the cell's zero is declared unless `sections` say otherwise."""
    path = tmp_path / "run.csv"
    path.write_bytes(write_csv(log, dialect))
    return read_run(path, BenchSpec.model_validate({"signs": SIGNS, "zero": {"force_n": 0.0}, **sections}))


def codes(quality: Sequence[Quality]) -> set[str]:
    return {entry.code for entry in quality}


def said(quality: Sequence[Quality], code: str) -> str:
    """The one sentence of a code; more or fewer than one is a failure."""
    (message,) = (entry.message for entry in quality if entry.code == code)
    return message


def figure(message: str, after: str = "") -> float:
    """The first number of a sentence, or of what follows some words of it."""
    rest = (message.split(after, 1)[1] if after else message).split()
    return next(float(word.strip(",;().%")) for word in rest if word.strip(",;().%+-").replace(".", "").isdigit())
