"""`dampkit reference`: several known-good runs become the reference of a damper file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import get_args

from dampkit.app.say import say
from dampkit.expected.known_good import KnownGood
from dampkit.files import check_outputs, text_output, write_all
from dampkit.job import JobFiles
from dampkit.outcome.side_by_side import fitted
from dampkit.outcome.side_by_side import reference as made_of
from dampkit.quantities import Direction

FEW = 10  # below this the band is wide because few units say little about all of them; own choice


def reference(logs: Sequence[Path], files: JobFiles, save: Path | None, share: float, confidence: float) -> None:
    """Print the band, and write it where asked for."""
    if save is not None:
        check_outputs([save], [*logs, files.bench, files.damper])
    job = files.load()
    found = made_of(fitted(logs, job), share, confidence)
    say("\n".join(_lines(found)))
    if save is not None:
        write_all([text_output(save, found.to_toml())])
        say(f"written: {save}")


def _lines(found: KnownGood) -> list[str]:
    lines = [
        f"{found.units} units: limits that hold {100 * found.share:g} % of such units with {100 * found.confidence:g} % "
        f"confidence, mean +/- {found.k:.3f} s"
    ]
    for way in get_args(Direction):
        lines += [
            f"  {way} at {v:g} m/s: {mean:.0f} N +/- {room:.0f} N (s {s:.1f} N)"
            for v, mean, room, s in zip(
                found.velocity_m_s, found.mean_n[way], found.tolerance_n(way), found.deviation_n[way], strict=True
            )
        ]
    if found.units < FEW:
        lines.append(
            f"  so few units say little about all: with {FEW} the factor would be smaller. Make sure each is good."
        )
    return lines
