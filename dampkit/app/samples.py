"""Behind `dampkit samples`: write the demo runs of an invented workshop."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from dampkit.files import Output, folder_for, write_all
from dampkit.virtual.samples import SAMPLES, Sample, sample_files


def make_samples(folder: Path, samples: Sequence[Sample] = SAMPLES) -> list[Path]:
    """Write every sample's log and TOML files into one flat folder; the paths written, in order.

    The same files, byte for byte, every time. Raises BadSettings where the folder cannot be made or written.
    """
    folder_for(folder, "the samples")
    outputs = [
        Output(folder / name, lambda to, content=content: to.write_bytes(content))  # type: ignore[misc]
        for sample in samples
        for name, content in sample_files(sample).items()
    ]
    write_all(outputs)
    return [output.path for output in outputs]
