"""Files are written to a temporary neighbour and moved into place, all of them or none."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from dampkit.errors import BadSettings


@dataclass(frozen=True)
class Output:
    """A file to write, and what writes it to the path it is given."""

    path: Path
    write: Callable[[Path], object]


def text_output(path: Path, text: str) -> Output:
    return Output(path, lambda to: to.write_text(text, encoding="utf-8"))


def check_outputs(paths: Sequence[Path], inputs: Sequence[Path | None]) -> None:
    """Raises BadSettings where a file cannot be written there or would overwrite what is read."""
    sources = {path.resolve() for path in inputs if path is not None}
    for path in paths:
        if path.resolve() in sources:
            raise BadSettings(
                str(path), "this file is read by the same command", "another file to write", "give another name"
            )
        if path.is_dir():
            raise BadSettings(str(path), "this is a directory", "a file to write", "give the name of a file in it")
        if not path.parent.is_dir():
            raise BadSettings(
                str(path), f"there is no directory {path.parent}", "a file in a directory", "make it first"
            )
    if len({path.resolve() for path in paths}) < len(paths):
        raise BadSettings(str(paths[0]), "two outputs have the same name", "a file for each", "give another name")


def write_all(outputs: Sequence[Output]) -> None:
    """Write every file, then move all into place. Raises BadSettings where the disk or its owner refuses."""
    ready: list[tuple[Path, Path]] = []
    try:
        for output in outputs:
            ready.append((_neighbour(output.path), output.path))
            output.write(ready[-1][0])
        for temporary, path in ready:
            os.replace(temporary, path)
    except OSError as error:
        where = str(outputs[len(ready) - 1].path) if ready else str(outputs[0].path)
        reason = error.strerror or str(error)
        raise BadSettings(where, f"cannot be written: {reason}", "a place with room to write", "check it") from None
    finally:
        for temporary, _ in ready:
            temporary.unlink(missing_ok=True)


def _neighbour(path: Path) -> Path:
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=path.suffix, dir=path.parent)
    os.fchmod(handle, 0o666 & ~_umask())
    os.close(handle)
    return Path(name)


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
