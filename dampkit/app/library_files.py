"""Files of a job with those that the library holds; the book is opened only where a card is named."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.job import JobFiles

if TYPE_CHECKING:
    from dampkit.bench.run import Quality


@dataclass(frozen=True)
class FromLibrary:
    """The files of the job, and what the bench's record says of the day of the test."""

    files: JobFiles
    quality: tuple[Quality, ...] = ()


@contextmanager
def named_files(
    book: Path | None, named: tuple[str | None, str | None, str | None, str | None], files: JobFiles
) -> Iterator[FromLibrary]:
    """`named` are unit type, vehicle, bench and the day of the test. Raises as `store.from_library`."""
    unit_type, car, on, day = named
    if not (unit_type or car or on):
        yield FromLibrary(files)
        return
    from dampkit.store.from_library import Named, from_library
    from dampkit.store.place import default_place

    with from_library(book or default_place(), Named(unit_type, car, on, day or ""), files) as found:
        yield FromLibrary(*found)
