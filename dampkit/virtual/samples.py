"""The demo runs of an invented workshop: which unit, what is wrong with it, how its bench writes.

The Hollow Moon Damper Works, its people, dampers and cars are made up, and so are all readings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from dampkit.files import Output, folder_for, write_all
from dampkit.frozen import frozen
from dampkit.quantities import Array
from dampkit.virtual.dialects import GERMAN, INCH, PLAIN, Dialect, bench_toml, write_csv
from dampkit.virtual.faulted import faulted
from dampkit.virtual.form_samples import form_sample_files
from dampkit.virtual.papers import ARM_LENGTH_MM, Car, Written, damper_toml, vehicle_toml
from dampkit.virtual.plant import Plant
from dampkit.virtual.programme import Drive, Programme, standard_programme
from dampkit.virtual.rig import Rig, run_bench
from dampkit.virtual.tables import HABITS, NOTE, pulls, readings, torques
from dampkit.virtual.units import (
    FRICTION_DISC,
    LEVER_ARM,
    MONOTUBE,
    MONOTUBE_SMALL,
    STEERING_DAMPER,
    STRUT,
    TWIN_TUBE,
    TWIN_TUBE_LARGE,
)

BENCH = Rig(sample_rate_hz=500.0)
COARSE = Rig(sample_rate_hz=200.0, temperature="none")
NO_PROBE = replace(BENCH, temperature="none")
SPEEDS_M_S, CYCLES = (0.005, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0), (1, 3, 4, 5, 5, 5, 5, 5)
LADDER = Programme(tuple(Drive.at_speed(v, c) for v, c in zip(SPEEDS_M_S, CYCLES, strict=True)))
LEVER_SPEEDS_M_S = (0.005, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
LEVER_LADDER = standard_programme(LEVER_SPEEDS_M_S)
DISC_LADDER = standard_programme((0.005, 0.05, 0.1, 0.2, 0.3, 0.4))
SHORT_LADDER = standard_programme((0.005, 0.05, 0.1, 0.2, 0.4, 0.6))
WARMING = Programme(
    (
        Drive.at_speed(0.005, 1.0),
        Drive.at_speed(0.1, 5.0),
        Drive.at_speed(0.3, 5.0),
        Drive.at_speed(0.5, 5.0),
        Drive.at_speed(1.0, 120.0),
        Drive.at_speed(0.5, 5.0),
        Drive.at_speed(0.3, 5.0),
        Drive.at_speed(0.1, 5.0),
    )
)


TOURER = Car("Lantern Tourer, front (made up)", 290.0, 38.0, 19.0, 190.0, 0.92, 0.30, 0.68)
SALOON = Car("Pebble Saloon, rear (made up)", 340.0, 44.0, 24.0, 205.0, 0.80, 0.27, 0.70)
COUPE = Car("Kestrel-Moth Coupe, rear (made up)", 360.0, 40.0, 28.0, 220.0, 0.88, 0.32, 0.60)
ROADSTER = Car("Thistle Roadster, front (made up)", 230.0, 34.0, 20.0, 175.0, 0.72, 0.25, 0.58)
VETERAN = Car("Old Barn Four, front (made up)", 310.0, 55.0, 32.0, 210.0, 0.85, 0.22, 0.50)


@frozen
class Sample:
    """One demo run. `holds` says in a few words what to expect; `faults` are code and severity put into the plant."""

    name: str
    holds: str
    unit: Plant
    car: Car | None  # None of a unit that damps no wheel
    faults: tuple[tuple[str, float], ...] = ()
    dialect: Dialect = PLAIN
    programme: Programme = LADDER
    rig: Rig = BENCH
    broken: bool = False
    reference: Written = "force"


SAMPLES: tuple[Sample, ...] = (
    Sample("sound_twin_tube", "a sound twin-tube, plain log", TWIN_TUBE, SALOON),
    Sample(
        "sound_monotube", "a sound monotube; semicolons, decimal commas, kilonewtons", MONOTUBE, COUPE, dialect=GERMAN
    ),
    Sample(
        "sound_lever_arm",
        "a sound lever-arm; tabs, inches, pounds, compression positive",
        LEVER_ARM,
        ROADSTER,
        dialect=INCH,
        programme=LEVER_LADDER,
    ),
    Sample("sound_friction_disc", "a sound friction-disc damper", FRICTION_DISC, VETERAN, programme=DISC_LADDER),
    Sample("low_oil", "gasless twin-tube with the oil level low", TWIN_TUBE_LARGE, TOURER, (("low_oil", 4.0),)),
    Sample(
        "aerated_oil",
        "gasless twin-tube with foamed oil",
        TWIN_TUBE_LARGE,
        TOURER,
        (("aerated_oil", 1.5),),
        dialect=INCH,
    ),
    Sample(
        "low_gas_pressure",
        "monotube that has lost most of its gas",
        MONOTUBE,
        COUPE,
        (("low_gas_pressure", 4.5),),
        dialect=GERMAN,
    ),
    Sample("internal_leak", "twin-tube with a worn piston", TWIN_TUBE, SALOON, (("internal_leak", 4.0),), rig=NO_PROBE),
    Sample("weak_blowoff", "monotube with a tired rebound spring", MONOTUBE_SMALL, COUPE, (("weak_blowoff", 3.0),)),
    Sample(
        "blocked_bleed",
        "twin-tube with dirt in the rebound bleed",
        TWIN_TUBE_LARGE,
        TOURER,
        (("blocked_bleed", 3.0),),
        dialect=GERMAN,
    ),
    Sample("high_friction", "twin-tube with a tight gland", TWIN_TUBE, SALOON, (("high_friction", 3.0),), dialect=INCH),
    Sample("bent_rod", "monotube with a bent rod", MONOTUBE_SMALL, COUPE, (("bent_rod", 4.0),)),
    Sample(
        "loose_mount", "twin-tube with a worn lower eye", TWIN_TUBE_LARGE, TOURER, (("loose_mount", 4.0),), rig=NO_PROBE
    ),
    Sample("fade", "twin-tube that fades in a long warm stage", TWIN_TUBE, SALOON, (("fade", 4.0),), programme=WARMING),
    Sample(
        "trapped_air",
        "twin-tube not primed after a rebuild; clears within the run",
        TWIN_TUBE_LARGE,
        TOURER,
        (("trapped_air", 5.0),),
    ),
    Sample(
        "starved_lever_arm",
        "lever-arm whose refill valve sticks",
        LEVER_ARM,
        ROADSTER,
        (("starved_refill", 3.0),),
        programme=LEVER_LADDER,
    ),
    Sample(
        "broken_log",
        "a log with points and commas mixed as decimal marks: to be refused",
        TWIN_TUBE,
        SALOON,
        dialect=GERMAN,
        broken=True,
    ),
    Sample(
        "dry_strut",
        "a strut with a side load on its rod and a dry bush",
        STRUT,
        SALOON,
        (("dry_bush", 3.0),),
        programme=SHORT_LADDER,
        rig=COARSE,
    ),
    Sample(
        "uneven_steering_damper",
        "a steering damper with one valve held open; no car, no known-good forces",
        STEERING_DAMPER,
        None,
        (("dead_rebound", 3.0),),
        programme=SHORT_LADDER,
        rig=COARSE,
        reference="none",
    ),
)


def write_samples(folder: Path, samples: Sequence[Sample] = SAMPLES, points: Sequence[PointSample] = ()) -> list[Path]:
    """Write every sample's log and TOML files into one flat folder, and with all of them those of other forms of test;
    the paths written, in order.

    The same files, byte for byte, every time. Raises BadSettings where the folder cannot be made or written.
    """
    folder_for(folder, "the samples")
    made = (*map(sample_files, samples), *map(point_sample_files, points))
    files = {name: content for each in made for name, content in each.items()}
    files |= form_sample_files() if samples is SAMPLES else {}
    outputs = [
        Output(folder / name, lambda to, content=content: to.write_bytes(content))  # type: ignore[misc]
        for name, content in files.items()
    ]
    write_all(outputs)
    return [output.path for output in outputs]


@frozen
class PointSample:
    """A demo record of points: what is written of the unit, and what eyes and hands found. `speeds` are its reference's."""

    name: str
    holds: str
    unit: Plant
    car: Car
    text: Callable[[], str]
    speeds: tuple[float, ...] = SPEEDS_M_S[1:]
    bench: str = ""
    reference: Written = "force"


def _drawing() -> str:
    """A table of seven speeds as on a drawing's sheet, one friction pull by spring balance first."""
    made = readings(TWIN_TUBE, SPEEDS_M_S)
    (sides,) = (habit for habit in HABITS if habit.name == "sides")
    return f"# {NOTE}: readings of unit HM-201, gas force out\n" + sides.write(made)


def _torques() -> str:
    return torques(readings(LEVER_ARM, LEVER_SPEEDS_M_S), 1e-3 * ARM_LENGTH_MM)


def _by_hand() -> str:
    return pulls(LEVER_ARM, (2.0, 3.0, 5.0, 8.0, 12.0, 20.0), 100.0, repeats=5, seed=7)


POINT_SAMPLES: tuple[PointSample, ...] = (
    PointSample("drawing_table", "a table of seven speeds and a slow pull", TWIN_TUBE, SALOON, _drawing),
    PointSample(
        "hand_test_lever_arm",
        "a lever-arm tested by hand: loads, a rule and a stop-watch",
        LEVER_ARM,
        ROADSTER,
        _by_hand,
        (0.03, 0.06, 0.1, 0.15),
    ),
    PointSample(
        "torque_lever_arm",
        "a lever-arm as torque at its shaft against angular speed, in lb ft",
        LEVER_ARM,
        ROADSTER,
        _torques,
        LEVER_SPEEDS_M_S[1:],
        f"[motion]\neye_arm_mm = {ARM_LENGTH_MM:.1f}\n",
        "torque",
    ),
)
INSPECTED = """# made up
[inspection]
rod_straight = true
rod_pitting = "none"
bore = "sound"
body = "sound"
eyes = "sound"
leak = "dry"
oil_level = "full"
oil_look = "clear"
parts_available = true
hand_stroke = "no dead travel"
"""


def point_sample_files(sample: PointSample) -> dict[str, bytes]:
    """File name -> bytes of one record of points: table, damper, vehicle and inspection sheet. The same every time."""
    number = 201 + POINT_SAMPLES.index(sample)
    paper = damper_toml(sample.unit, number, np.array(sample.speeds), 20.0, sample.reference)
    bench = {f"{sample.name}.bench.toml": f"# made up\n{sample.bench}".encode()} if sample.bench else {}
    return {
        f"{sample.name}.csv": sample.text().encode(),
        **bench,
        f"{sample.name}.damper.toml": paper.encode(),
        f"{sample.name}.vehicle.toml": vehicle_toml(sample.car).encode(),
        f"{sample.name}.inspection.toml": INSPECTED.encode(),
    }


def sample_files(sample: Sample) -> dict[str, bytes]:
    """File name -> bytes of one sample: log, bench, damper and vehicle. The same every time."""
    plant = unit = sample.unit
    number = 100 + SAMPLES.index(sample) if sample in SAMPLES else 999
    for code, severity in sample.faults:
        plant = faulted(plant, code, severity)
    rng = np.random.default_rng([ord(letter) for letter in sample.name])
    log = run_bench([plant], sample.programme, sample.rig, rng)[0]
    csv = write_csv(log, sample.dialect)
    paper = damper_toml(unit, number, _speeds(sample), unit.start_c, sample.reference)
    car = {} if sample.car is None else {f"{sample.name}.vehicle.toml": vehicle_toml(sample.car).encode()}
    return {
        f"{sample.name}.csv": _broken(csv) if sample.broken else csv,
        f"{sample.name}.bench.toml": bench_toml(sample.dialect, extra=_uncertainty(sample.rig)).encode(),
        f"{sample.name}.damper.toml": paper.encode(),
        **car,
    }


def _uncertainty(rig: Rig) -> str:
    return f"[uncertainty]\nforce_percent = 0.5\nforce_n = {rig.force_noise_n:.1f}\ndisplacement_mm = 0.02\n"


def _broken(csv: bytes) -> bytes:
    """The first part of a log, every third row with points for decimal marks, as when two programs wrote in turn."""
    lines = csv.split(b"\r\n")[:3000]
    head = 6
    rows = [row.replace(b",", b".") if i % 3 == 2 else row for i, row in enumerate(lines[head:])]
    return b"\r\n".join(lines[:head] + rows) + b"\r\n"


def _speeds(sample: Sample) -> Array:
    """The peak speeds of the programme above the slow pass, rising."""
    return np.unique(np.round([d.peak_velocity_m_s for d in sample.programme.drives[1:]], 4))
