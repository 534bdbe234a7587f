"""A made-up run, written in the habits of many benches. The run is a formula, so what a reader must find is known."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from dampkit.bench.declared import BenchSpec
from dampkit.quantities import Array

RATE_HZ = 500.0
# exact by definition: inch (international yard and pound agreement, 1959), pound-force and kilogram-force
# (standard gravity, CGPM 1901), kelvin and degree Fahrenheit (their scales' definitions); all from memory
LENGTH_M = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254}
FORCE_N = {"N": 1.0, "kN": 1e3, "daN": 10.0, "kgf": 9.80665, "lbf": 0.45359237 * 9.80665}
TIME_S = {"s": 1.0, "ms": 1e-3}
FROM_C: dict[str, Callable[[Array], Array]] = {
    "degC": lambda c: c,
    "degF": lambda c: c * 9 / 5 + 32,
    "K": lambda c: c + 273.15,
}
WORDS = {
    "en": ("Time", "Displacement", "Velocity", "Force", "Temperature", "Sample"),
    "en2": ("elapsed", "stroke", "speed", "load", "oil temp", "index"),
    "de": ("Zeit", "Weg", "Geschwindigkeit", "Kraft", "Temperatur", "Messpunkt"),
    "de2": ("Zeit", "Dämpferweg", "Kolbengeschwindigkeit", "Dämpferkraft", "Öltemperatur", "Nr"),
    "fr": ("Temps", "Déplacement", "Vitesse", "Force", "Température", "Échantillon"),
    "es": ("Tiempo", "Desplazamiento", "Velocidad", "Fuerza", "Temperatura", "Muestra"),
    "it": ("Tempo", "Spostamento", "Velocità", "Forza", "Temperatura", "Campione"),
    "nl": ("Tijd", "Verplaatsing", "Snelheid", "Kracht", "Temperatuur", "Index"),
    "symbols": ("t", "x", "v", "F", "T", "#"),
}
HEADS: dict[str, Callable[[str, str], str]] = {
    "round": lambda name, unit: f"{name} ({unit})",
    "square": lambda name, unit: f"{name} [{unit}]",
    "slash": lambda name, unit: f"{name}/{unit}",
    "underscore": lambda name, unit: f"{name}_{unit.replace('/', '_')}",
    "row of units": lambda name, unit: name,
}


@dataclass(frozen=True)
class Truth:
    """SI, displacement positive in extension, force positive in tension; arrays of shape (N,)."""

    time_s: Array
    displacement_m: Array
    velocity_m_s: Array
    force_n: Array
    temperature_c: Array


@dataclass(frozen=True)
class Habit:
    encoding: str = "utf-8"
    delimiter: str = ","
    decimal: str = "."
    newline: str = "\n"
    words: str = "en"
    heads: str = "round"
    length: str = "mm"
    force: str = "N"
    temperature: str | None = "degC"
    time: str = "s"  # s, ms, clock, sample, none
    moved: str = "displacement"  # displacement, velocity, both
    preamble: int = 0
    footer: bool = False
    quoted: bool = False
    force_positive: str = "tension"
    displacement_positive: str = "extension"


def made_run(stages: tuple[tuple[float, int], ...] = ((0.5, 2), (2.0, 4), (5.0, 6))) -> Truth:
    """Stages from turning point to turning point, 20 mm half stroke, short dwells; valve, friction and gas force."""
    half_m = 0.02
    time, x, v = [], [], []
    start = 0.0
    for frequency_hz, cycles in stages:
        n = round(cycles / frequency_hz * RATE_HZ)
        t = np.arange(n + round(0.2 * RATE_HZ)) / RATE_HZ
        angle = 2 * np.pi * frequency_hz * t
        moving = t < cycles / frequency_hz
        time.append(start + t)
        x.append(-half_m * np.where(moving, np.cos(angle), 1.0))
        v.append(half_m * 2 * np.pi * frequency_hz * np.sin(angle) * moving)
        start += t.size / RATE_HZ
    position, velocity = np.concatenate(x), np.concatenate(v)
    force = (
        np.where(velocity > 0, 2400.0, 900.0) * velocity + 25.0 * np.tanh(velocity / 0.002) - 110.0 + 800.0 * position
    )
    t_all = np.concatenate(time)
    return Truth(t_all, position, velocity, force, 24.0 + 0.1 * t_all)


def spec_for(habit: Habit) -> BenchSpec:
    """What has to be declared for a log in this habit: the signs always, the rate where nothing in the log gives it."""
    data: dict[str, Any] = {
        "signs": {"force_positive": habit.force_positive, "displacement_positive": habit.displacement_positive},
        "zero": {"force_n": 0.0},
    }
    if habit.time == "none" and habit.preamble < 2:
        data["timing"] = {"sample_rate_hz": RATE_HZ}
    if habit.time == "sample" and habit.preamble < 2:
        data["timing"] = {"sample_rate_hz": RATE_HZ}
    return BenchSpec.model_validate(data)


def write_log(path: Path, habit: Habit, truth: Truth) -> Path:
    """The run as text in one habit."""
    columns = _columns(habit, truth)
    names = [name for name, _, _ in columns]
    units = [unit for _, unit, _ in columns]
    heads = [HEADS[habit.heads](name, unit) if unit else name for name, unit in zip(names, units, strict=True)]
    rows = [_joined(heads, habit)]
    if habit.heads == "row of units":
        rows.append(_joined([unit or "-" for unit in units], habit))
    rows += [_joined(list(cells), habit) for cells in zip(*(cells for _, _, cells in columns), strict=True)]
    lines = _preamble(habit) + rows + (["", "end of log"] if habit.footer else [])
    text = habit.newline.join(lines) + habit.newline
    path.write_bytes(text.encode(habit.encoding))
    return path


def _columns(habit: Habit, truth: Truth) -> list[tuple[str, str, list[str]]]:
    words = WORDS[habit.words]
    way = 1.0 if habit.displacement_positive == "extension" else -1.0
    pull = 1.0 if habit.force_positive == "tension" else -1.0
    out: list[tuple[str, str, list[str]]] = _time_columns(habit, truth)
    if habit.moved in ("displacement", "both"):
        out.append((words[1], habit.length, _written(way * truth.displacement_m / LENGTH_M[habit.length], 7, habit)))
    if habit.moved in ("velocity", "both"):
        out.append(
            (words[2], f"{habit.length}/s", _written(way * truth.velocity_m_s / LENGTH_M[habit.length], 7, habit))
        )
    out.append((words[3], habit.force, _written(pull * truth.force_n / FORCE_N[habit.force], 6, habit)))
    if habit.temperature:
        out.append((words[4], habit.temperature, _written(FROM_C[habit.temperature](truth.temperature_c), 3, habit)))
    return out


def _time_columns(habit: Habit, truth: Truth) -> list[tuple[str, str, list[str]]]:
    words = WORDS[habit.words]
    if habit.time == "none":
        return []
    if habit.time == "sample":
        return [(words[5], "", [str(i) for i in range(truth.time_s.size)])]
    if habit.time == "clock":
        base = 23 * 3600 + 59 * 60 + 57  # runs past midnight
        return [("clock", "", [_clock(base + t, habit) for t in truth.time_s])]
    return [(words[0], habit.time, _written(truth.time_s / TIME_S[habit.time], 4, habit))]


def _clock(seconds: float, habit: Habit) -> str:
    ms = round(1000 * seconds) % 86_400_000
    text = f"{ms // 3_600_000:02d}:{ms // 60_000 % 60:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}"
    return text.replace(".", habit.decimal)


def _written(values: Array, places: int, habit: Habit) -> list[str]:
    return [f"{value:.{places}f}".replace(".", habit.decimal) for value in values]


def _joined(cells: list[str], habit: Habit) -> str:
    if habit.quoted:
        cells = [f'"{cell}"' for cell in cells]
    return ("  " if habit.delimiter == " " else habit.delimiter).join(cells)


def _preamble(habit: Habit) -> list[str]:
    lines = ["Bench log of an invented workshop", "Sample rate: 500 Hz", "Operator: nobody", ""]
    lines += [f"note {i}: free text, with commas; and semicolons" for i in range(max(0, habit.preamble - len(lines)))]
    return lines[: habit.preamble]


def habits(count: int, seed: int = 5) -> list[Habit]:
    """So many different habits, each choice drawn anew; the plain one comes first."""
    draw = random.Random(seed)
    choices: dict[str, list[Any]] = {
        "encoding": ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"],
        "delimiter": [",", ";", "\t", " ", "|"],
        "decimal": [".", ","],
        "newline": ["\n", "\r\n", "\r"],
        "words": sorted(WORDS),
        "heads": sorted(HEADS),
        "length": sorted(LENGTH_M),
        "force": sorted(FORCE_N),
        "temperature": [None, *FROM_C],
        "time": ["s", "s", "ms", "clock", "sample", "none"],
        "moved": ["displacement", "displacement", "both", "velocity"],
        "preamble": [0, 3, 4, 60],
        "footer": [False, True],
        "quoted": [False, False, False, True],
        "force_positive": ["tension", "compression"],
        "displacement_positive": ["extension", "compression"],
    }
    found = [Habit()]
    while len(found) < count:
        habit = replace(Habit(), **{name: draw.choice(values) for name, values in choices.items()})
        if habit.delimiter == " " and (habit.quoted or habit.heads == "row of units"):
            habit = replace(habit, quoted=False, heads="square")
        if habit not in found:
            found.append(habit)
    return found
