"""One made-up unit written down in many ways: every table says the same, and the same as the unit's log does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dampkit.bench.declared import BenchSpec
from dampkit.bench.points import Points
from dampkit.bench.test import read_test
from dampkit.bench.toml_file import declared
from dampkit.curves.trace import trace
from dampkit.damper.identify import identify
from dampkit.damper.reading import reading_at
from dampkit.damper.unit import Side, Unit
from dampkit.job import Job
from dampkit.needs.corner import Corner
from dampkit.needs.from_file import corner_of
from dampkit.needs.ratio import StageRatio, point_ratios, stage_ratios
from dampkit.quantities import DIRECTIONS, Array
from dampkit.virtual.dialects import PLAIN, bench_toml, write_csv
from dampkit.virtual.papers import vehicle_toml
from dampkit.virtual.plant import Plant
from dampkit.virtual.rig import run_bench
from dampkit.virtual.samples import BENCH, LADDER, LEVER_LADDER, SALOON
from dampkit.virtual.tables import HABITS, SPEEDS_M_S, Habit, pulls, readings, speed_under
from dampkit.virtual.truth import bench_reading
from dampkit.virtual.units import FRICTION_DISC, LEVER_ARM, MONOTUBE, TWIN_TUBE

pytestmark = pytest.mark.slow  # each writes, reads and analyses a whole test

ALIKE = 0.02  # share by which a table and the log of one unit may differ
FROM_M_S = 0.3  # the rated speed, from which the damping ratio does not hang on where the knee lies between two points
LEVER_SPEEDS = (0.005, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)


@pytest.fixture(scope="module")
def corner(tmp_path_factory: pytest.TempPathFactory) -> Corner:
    place = tmp_path_factory.mktemp("car") / "car.toml"
    place.write_text(vehicle_toml(SALOON))
    vehicle = Job.load(vehicle=place).vehicle
    assert vehicle is not None
    return corner_of(vehicle)


def logged(folder: Path, plant: Plant, corner: Corner) -> tuple[Unit, tuple[StageRatio, ...]]:
    """The unit of the plant's log, and its damping ratios."""
    programme = LEVER_LADDER if plant.kind == "lever-arm" else LADDER
    (log,) = run_bench([plant], programme, BENCH, np.random.default_rng(5))
    (folder / "log.csv").write_bytes(write_csv(log, PLAIN))
    (folder / "bench.toml").write_text(bench_toml(PLAIN))
    curves = trace(read_test([folder / "log.csv"], folder / "bench.toml").run)
    unit = identify(curves)
    return unit, stage_ratios(curves.loops, corner, unit.taken_out, curves.run)


@pytest.fixture(scope="module")
def of_log(tmp_path_factory: pytest.TempPathFactory, corner: Corner) -> tuple[Unit, tuple[StageRatio, ...]]:
    return logged(tmp_path_factory.mktemp("log"), TWIN_TUBE, corner)


def of_habit(folder: Path, habit: Habit, plant: Plant = TWIN_TUBE, speeds: tuple[float, ...] = SPEEDS_M_S) -> Points:
    path = folder / "table.csv"
    path.write_bytes(habit.write(readings(plant, speeds)).encode(habit.encoding))
    (points,) = read_test([path], declared(habit.bench, BenchSpec)).points
    return points


def curve(side: Side, v: Array) -> tuple[Array, Array, Array]:
    assert side.law is not None
    low, force, high = (
        np.interp(v, side.law.velocity_m_s, f) for f in (side.law.low_n, side.law.force_n, side.law.high_n)
    )
    return low, force, high


def same_as_log(unit: Unit, log: Unit, speeds: tuple[float, ...]) -> None:
    """Curve and reading in each direction within ALIKE of the log's own, and the log's curve inside the stated interval."""
    v = np.array([s for s in speeds if s > 0.02])
    for direction in DIRECTIONS:
        low, force, high = curve(unit.side(direction), v)
        _, wanted, _ = curve(log.side(direction), v)
        np.testing.assert_allclose(force, wanted, rtol=ALIKE)
        assert np.all((low <= wanted) & (wanted <= high))
        for speed in v:
            ours, theirs = (reading_at(float(speed), u, direction) for u in (unit, log))
            assert ours is not None
            assert theirs is not None
            assert ours.value == pytest.approx(theirs.value, rel=ALIKE)


def test_there_are_a_dozen_habits_and_more() -> None:
    assert len({habit.name for habit in HABITS}) == len(HABITS) >= 12


@pytest.mark.parametrize("habit", HABITS, ids=lambda habit: habit.name)
def test_every_habit_says_what_the_log_says(
    tmp_path: Path, habit: Habit, of_log: tuple[Unit, tuple[StageRatio, ...]], corner: Corner
) -> None:
    points = of_habit(tmp_path, habit)
    assert points.direction_known
    unit, (log, log_ratios) = identify(points), of_log
    same_as_log(unit, log, SPEEDS_M_S)
    ours = point_ratios(unit, corner)
    assert len(ours) == len(log_ratios)
    for mine, theirs in zip(ours, log_ratios, strict=True):
        apart = abs(mine.damping_ratio.value - theirs.damping_ratio.value)
        assert apart <= mine.damping_ratio.half_width + theirs.damping_ratio.half_width
        if mine.peak_velocity_m_s >= FROM_M_S:
            assert apart <= ALIKE * theirs.damping_ratio.value


@pytest.mark.slow
@pytest.mark.parametrize("plant", [MONOTUBE, LEVER_ARM], ids=lambda plant: plant.kind)
def test_other_kinds_say_what_their_log_says(tmp_path: Path, plant: Plant, corner: Corner) -> None:
    speeds = LEVER_SPEEDS if plant.kind == "lever-arm" else SPEEDS_M_S
    log, _ = logged(tmp_path, plant, corner)
    same_as_log(identify(of_habit(tmp_path, HABITS[0], plant, speeds)), log, speeds)


def test_a_test_by_hand_reads_the_units_force(tmp_path: Path) -> None:
    """Twenty pulls a load: within the doubt that rule and watch leave of what the plant's sizes give at the speeds read."""
    path = tmp_path / "hand.csv"
    path.write_text(pulls(LEVER_ARM, (2.0, 3.0, 5.0, 8.0, 12.0), 100.0, repeats=20, seed=3))
    (points,) = read_test([path]).points
    assert points.form == "hand-test"
    for direction in DIRECTIONS:
        found = points.points(direction)
        assert found is not None
        wanted = bench_reading(LEVER_ARM, direction, found.velocity_m_s)
        assert np.all(np.abs(found.force_n - wanted) <= found.half_width_n)
        assert np.all(np.abs(found.force_n / wanted - 1) < 0.12)


def test_a_friction_unit_by_hand_has_its_sliding_force(tmp_path: Path) -> None:
    """A load a little over the friction slides it; the plant's own sliding force is 210 N."""
    load = 1.01 * FRICTION_DISC.friction.sliding_n / 9.80665
    assert speed_under(FRICTION_DISC, "rebound", load * 9.80665) > 0
    rows = [f"{way},{load:.3f},100,{time}" for way in ("out", "in") for time in (2.0, 1.9, 2.1)]
    path = tmp_path / "hand.csv"
    path.write_text("\n".join(["direction,load kg,travel mm,time s", *rows]) + "\n")
    job = Job.load(damper={"damper": {"kind": "friction-disc"}})
    unit = identify(read_test([path]).points[0], job.damper)
    assert unit.friction_force_n is not None
    assert unit.friction_force_n.value == pytest.approx(FRICTION_DISC.friction.sliding_n, rel=0.02)
