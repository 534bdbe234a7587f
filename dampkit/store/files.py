"""Files written beside their place and moved there, so that nobody ever sees half of one."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dampkit.errors import BadSettings


@contextmanager
def whole_file(place: Path) -> Iterator[Path]:
    """A file to write to; it gets the name `place` when the block ends well, and is removed when it does not.

    Raises BadSettings where the place cannot be written to.
    """
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{place.name[:40]}.", suffix=".part", dir=place.parent)
        os.close(handle)
        draft = Path(name)
        try:
            yield draft
            draft.chmod(0o644)
            draft.replace(place)
        finally:
            draft.unlink(missing_ok=True)
    except OSError as error:
        found = f"cannot be written: {error.strerror or error}"
        expected = "a file name in a folder that can be written to, with space left"
        raise BadSettings(str(place), found, expected, "choose another place or free some space") from error
