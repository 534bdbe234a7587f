"""The pages of the made-up sample runs, made again by one command."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dampkit.job import JobFiles

PAIR = ("internal_leak", "sound_twin_tube")  # one kind of unit for one car: as left and right, as before and after
CLICKS = (("click_0", 0.0), ("click_4", 1.5), ("click_8", 3.0))  # how far a made-up adjuster slackens a rebound spring
SMALL = ("low_oil", "sound_twin_tube")  # kept as pages by themselves, without the plot library


def write_sample_pages(samples: Path, out: Path) -> list[Path]:
    """A batch of all, a pair, before and after, a sweep of settings into `out`; beside it the small pages, returned."""
    from dampkit.app.batch import Wishes, batch
    from dampkit.app.compare import compare_command
    from dampkit.app.folder import Pages
    from dampkit.job import JobFiles

    batch([str(samples)], JobFiles(), Wishes(out / "all", jobs=1, pages=True))
    logs, side = [samples / f"{name}.csv" for name in PAIR], _side(samples, PAIR[1])
    compare_command(logs, side, Pages(folder=out / "pair"), allow=15.0)
    compare_command(logs, side, Pages(folder=out / "before_after"), allow=15.0, before_after=True)
    _sweep(out)
    return [_small(samples, name, out) for name in SMALL]


def _side(samples: Path, name: str) -> JobFiles:
    from dampkit.job import JobFiles

    return JobFiles(*(samples / f"{name}.{kind}.toml" for kind in ("bench", "damper", "vehicle")))


def _sweep(out: Path) -> None:
    """Three settings of one made-up unit on the made-up bench, then their page."""
    from dampkit.app.folder import Pages
    from dampkit.app.settings import settings_command
    from dampkit.virtual.samples import SAMPLES, write_samples

    base = next(sample for sample in SAMPLES if sample.name == "weak_blowoff")
    place = out / "clicks"
    clicks = [replace(base, name=name, faults=(("weak_blowoff", much),) if much else ()) for name, much in CLICKS]
    write_samples(place, clicks)
    logs = [place / f"{name}.csv" for name, _ in CLICKS]
    settings_command(logs, _side(place, CLICKS[0][0]), Pages(folder=out / "settings"))


def _small(samples: Path, name: str, out: Path) -> Path:
    """One page whose pictures stand still: small enough to be kept."""
    import dampkit
    from dampkit.analyse import analyse_job
    from dampkit.report.document import SHARED_LIBRARY, Look
    from dampkit.report.page import write_report

    side = _side(samples, name)
    job = side.load()
    result = analyse_job(dampkit.read_run(samples / f"{name}.csv", job.bench), job)
    return write_report(result, out.parent / f"{name}.html", Look(library=SHARED_LIBRARY))
