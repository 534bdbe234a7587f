"""A file that starts the page by a double click, of the kind that this system knows."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import whole_file

if TYPE_CHECKING:
    from dampkit.app.serve.run import Wish

NAME = "dampkit at the bench"
DESKTOP = """[Desktop Entry]
Type=Application
Name={name}
Comment=From a damper bench log to a verdict
Exec={command}
Terminal=true
Categories=Science;Engineering;
"""


def write_shortcut(wish: Wish) -> None:
    """Write it where the command is given; a file that exists is kept. Raises BadSettings."""
    place, text = shortcut(wish, sys.platform)
    if place.exists():
        raise BadSettings(
            str(place), "this file exists and is kept", "a folder without it", "remove it first, or go elsewhere"
        )
    with whole_file(place) as draft:
        draft.write_text(text, encoding="utf-8", newline="")
        if os.name != "nt":
            draft.chmod(0o755)
    say(f"written: {place}")


def shortcut(wish: Wish, system: str) -> tuple[Path, str]:
    """The name and the text of the file; the interpreter is the one that runs now."""
    words = [sys.executable, "-m", "dampkit", "serve", "--port", str(wish.port), "--book", str(wish.book.absolute())]
    words += ["--watch", str(wish.watch.absolute())] if wish.watch is not None else []
    words += ["--share"] if wish.share else []
    words += [part for name in wish.known_as for part in ("--known-as", name)]
    if system == "win32":
        line = subprocess.list2cmdline(words).replace("%", "%%")
        return Path(f"{NAME}.bat"), f"@echo off\r\nchcp 65001 >nul\r\n{line}\r\npause\r\n"
    if system == "darwin":
        return Path(f"{NAME}.command"), f"#!/bin/sh\nexec {shlex.join(words)}\n"
    return Path(f"{NAME}.desktop"), DESKTOP.format(name=NAME, command=" ".join(map(_desktop_word, words)))


def _desktop_word(word: str) -> str:
    """Quoted as the Desktop Entry Specification asks: in double quotes, with backslashes doubled once more for the file."""
    inner = "".join(f"\\{c}" if c in '"`$\\' else c for c in word).replace("%", "%%")
    return '"' + inner.replace("\\", "\\\\") + '"'
