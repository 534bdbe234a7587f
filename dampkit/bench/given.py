"""What a record may be given as: a file by its name, bytes, an open file, or columns held in memory."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import numpy as np

from dampkit.bench import gate
from dampkit.bench.memory import Columns, columns_of, is_frame
from dampkit.errors import BadSettings, printable
from dampkit.frozen import frozen

if TYPE_CHECKING:
    import numpy.typing as npt
    import pandas as pd

    Arrays = Mapping[str, Any]  # of heading to one value a row: an array, a Series, a list
    Source = (
        str
        | os.PathLike[str]
        | bytes
        | bytearray
        | memoryview
        | IO[bytes]
        | IO[str]
        | pd.DataFrame
        | Arrays
        | npt.NDArray[Any]
    )

EXPECTED = "a path, bytes, an open file, a DataFrame, or a mapping of headings to arrays"


@frozen
class Given:
    """One of `path`, `data` and `columns` holds the record; `file` is its name alone, `where` as an error names it."""

    file: str
    where: str
    path: Path | None = None
    data: bytes | None = None
    columns: Columns | None = None
    decoded: bool = False  # the text was text already, so its bytes are UTF-8 whatever the bench writes

    def content(self) -> bytes:
        """All bytes of a file or of what was given as such. Raises UnreadableLog where there is none or too much."""
        if self.path is not None:
            return gate.file_bytes(self.path, gate.A_LOG)
        data = self.data or b""
        gate.check_size(len(data), self.where, gate.A_LOG)
        return data


def given(source: Source | Given, name: str | None = None) -> Given:
    """`name` stands for a file's name where there is no file. Raises BadSettings for what is no record, DataError for bad columns."""
    if isinstance(source, Given):
        return source
    if isinstance(source, str | os.PathLike):
        return _file(source, name)
    if isinstance(source, bytes | bytearray | memoryview):
        return _named(name or "bytes", data=bytes(source))
    if hasattr(source, "read"):
        return _opened(source, name)
    if is_frame(source) or isinstance(source, Mapping | np.ndarray):
        label = name or ("DataFrame" if is_frame(source) else "arrays")
        return _named(label, columns=columns_of(source, printable(label)))
    found = f"found a {type(source).__name__}"
    raise BadSettings("read_run", found, EXPECTED, "several records of one test are for read_test")


def refuse_lone(tests: object, call: str) -> None:
    """Raises BadSettings where one record stands in place of several: a path would be taken letter by letter."""
    if isinstance(tests, str | os.PathLike | bytes | Mapping) or is_frame(tests):
        found = f"found a {type(tests).__name__}, which is one record"
        raise BadSettings(call, found, "a list of records", "put it in brackets: [record]; one alone is for read_run")


def all_given(sources: Sequence[Source | Given], names: Sequence[str] | None = None) -> list[Given]:
    """Each of them; raises BadSettings where `names` are not as many."""
    if names is not None and len(names) != len(sources):
        raise BadSettings("names", f"{len(names)} names for {len(sources)} records", "one for each", "correct them")
    called: Sequence[str | None] = names if names is not None else [None] * len(sources)
    return [given(source, name) for source, name in zip(sources, called, strict=True)]


def _file(source: str | os.PathLike[str], name: str | None) -> Given:
    if "\n" in str(source):
        do = "give text as bytes or in io.StringIO; a str is taken for a path"
        raise BadSettings("read_run", "a path with line ends in it", EXPECTED, do)
    path = Path(source)
    return Given(printable(name or path.name), str(path), path)


def _named(name: str, **held: Any) -> Given:
    return Given(printable(name), printable(name), **held)


def _opened(source: Any, name: str | None) -> Given:
    """What is left to read of an open file; text as UTF-8."""
    content = source.read(gate.LOG.most + 1)
    label = getattr(source, "name", None)
    named = name or (Path(label).name if isinstance(label, str) else "buffer")
    if isinstance(content, str):
        return _named(named, data=content.encode(), decoded=True)
    return _named(named, data=bytes(content))
