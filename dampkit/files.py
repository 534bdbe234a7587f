"""The one way to write a file: to a temporary neighbour, then moved into place, so that nobody ever sees half of one.

Only calls that every system has, or with an answer for those that have not; here is the one place for them. A new file's
access rights are the system's.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO

from dampkit.errors import BadSettings
from dampkit.frozen import frozen

WINDOWS = os.name == "nt"
# names that Windows never gives to a file, whatever their ending; source: its published rules for naming files
DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))}
EXPECTED = "a file name in a folder that can be written to, with space left"
FAR = 2**30  # a place in a file that nobody reads; Windows holds bytes, not files
PUBLIC, PRIVATE = 0o666, 0o600  # access rights of a new file, less what the system's own mask takes away


@frozen
class Output:
    """A file to write, and what writes it to the path it is given."""

    path: Path
    write: Callable[[Path], object]


def text_output(path: Path, text: str) -> Output:
    return Output(path, lambda to: to.write_text(text, encoding="utf-8", newline="\n"))


def check_outputs(paths: Sequence[Path], inputs: Sequence[Path | None]) -> None:
    """Raises BadSettings where a file cannot be written there or would overwrite what is read."""
    sources = {_whole(path) for path in inputs if path is not None}
    for path in paths:
        if _whole(path) in sources:
            found = "this file is read by the same command"
            raise BadSettings(str(path), found, "another file to write", "give another name")
        if WINDOWS and path.name.split(".")[0].rstrip().upper() in DEVICES:
            found = "Windows keeps this name for a device"
            raise BadSettings(str(path), found, "a name that a file can have", "give another name")
        if path.is_dir():
            raise BadSettings(str(path), "this is a directory", "a file to write", "give the name of a file in it")
        if not path.parent.is_dir():
            raise BadSettings(str(path), f"there is no directory {path.parent}", "a file in a directory", "make it")
    if len({_whole(path) for path in paths}) < len(paths):
        raise BadSettings(str(paths[0]), "two outputs have the same name", "a file for each", "give another name")


def _whole(path: Path) -> str:
    """The one name of a file, links followed; links in a circle stay as they are, for whoever opens them to refuse."""
    return os.path.realpath(path)


def write_all(outputs: Sequence[Output]) -> None:
    """Write every file, then move all into place. Raises BadSettings where the disk or its owner refuses."""
    with ExitStack() as drafts:
        for output in outputs:
            output.write(drafts.enter_context(whole_file(output.path)))


def write_text(place: Path, text: str, *, make_folder: bool = False) -> Path:
    """Raises BadSettings where the place cannot be written to."""
    with whole_file(place, make_folder=make_folder) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")
    return place


@contextmanager
def whole_file(place: Path, *, make_folder: bool = False, private: bool = False) -> Iterator[Path]:
    """A file to write to; it gets the name `place` when the block ends well, and is removed when it does not.

    A private one is its owner's alone, where the system knows owners. Raises BadSettings where the place cannot be written to.
    """
    draft = draft_beside(place)
    try:
        if make_folder:
            place.parent.mkdir(parents=True, exist_ok=True)
        try:
            draft.touch(mode=PRIVATE if private else PUBLIC, exist_ok=False)
            yield draft
            draft.replace(place)
        finally:
            draft.unlink(missing_ok=True)
    except OSError as error:
        found = f"cannot be written: {error.strerror or error}"
        raise BadSettings(str(place), found, EXPECTED, _way_out(error)) from error


def _way_out(error: OSError) -> str:
    """On Windows a file that another program has open cannot be replaced."""
    if isinstance(error, PermissionError):
        return "close it in other programs, allow writing to its folder, or choose another place"
    return "choose another place or free some space"


def draft_beside(place: Path) -> Path:
    """A name that no other file has, in the same folder, hidden, and of no kind that anything looks for."""
    return place.with_name(f".{place.name[:40]}.{os.urandom(6).hex()}.part")


def name_if_free(draft: Path, place: Path) -> None:
    """Give a finished draft its name, where no other process was first; its file is then the one that stays."""
    try:
        os.link(draft, place)
    except FileExistsError:
        return
    except (OSError, AttributeError):  # a file system or a system without links
        if not place.exists():
            draft.replace(place)


def check_free(place: Path) -> None:
    """Raises BadSettings where there is a file already that is not to be lost."""
    if place.exists():
        do = "choose a new name; nothing was overwritten"
        raise BadSettings(str(place), "there is a file here already", "a name that is not taken", do)


def held(place: Path) -> IO[bytes] | None:
    """A file, open, that no other process holds until this one closes it or ends; None where another holds it.

    On a drive that knows no such holding it is never another's.
    """
    file = place.open("a+b")
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(FAR)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            file.close()
            return None
    return file


def onto_disk(place: Path) -> None:
    """Wait until the disk has all of a file; opened for writing, as Windows wants it."""
    with place.open("rb+") as file:
        os.fsync(file.fileno())


def folder_for(place: Path, what: str) -> Path:
    """The folder, made where it is missing. Raises BadSettings where it cannot be."""
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        found = f"cannot be made: {error.strerror or error}"
        raise BadSettings(str(place), found, f"a folder for {what}", "choose another") from None
    return place
