"""Behind `dampkit make-samples`: write the demo runs of an invented workshop."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dampkit.errors import BadSettings
from dampkit.virtual.samples import SAMPLES, Sample, sample_files


def make_samples(folder: Path, samples: Sequence[Sample] = SAMPLES) -> list[Path]:
    """Write every sample's log and TOML files into one flat folder; the paths written, in order.

    The same files, byte for byte, every time. Raises BadSettings where the folder cannot be made or written.
    """
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for sample in samples:
            for name, content in sample_files(sample).items():
                (folder / name).write_bytes(content)
                written.append(folder / name)
    except OSError as problem:
        raise BadSettings(
            str(folder), f"cannot write: {problem.strerror}", "a folder that can be written to", "choose another folder"
        ) from problem
    return written
