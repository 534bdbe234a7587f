"""`dampkit samples`: the made-up sample runs, copied from the package."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from dampkit.app.say import say
from dampkit.errors import BadSettings
from dampkit.files import Output, folder_for, write_all

FolderArgument = Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to copy them.")]


def samples_command(folder: FolderArgument = Path("sample_runs")) -> None:
    """Nothing that is there already is written over."""
    names = [path.name for path in kept_samples()]
    own = folder_for(folder, "the samples")
    there = {path.name: path for path in own.iterdir() if path.name in names}
    changed = [p.name for p in kept_samples() if p.name in there and there[p.name].read_bytes() != p.read_bytes()]
    if changed:
        found = f"{len(changed)} files with these names hold something else, {changed[0]} for one"
        raise BadSettings(str(folder), found, "a folder without them", "name a new folder")
    write_all([Output(own / p.name, _copy_of(p)) for p in kept_samples() if p.name not in there])
    say(f"files copied to {folder}: {len(names) - len(there)}, there already: {len(there)}; all of it is made up")
    low = folder / "low_oil"
    say(f"next: dampkit look {low}.csv --bench {low}.bench.toml")


def kept_samples() -> list[Path]:
    """In the installed package; in a checkout the folder beside it. Raises BadSettings where neither has them."""
    import dampkit

    package = Path(dampkit.__file__).parent
    for place in (package / "sample_runs", package.parent / "sample_runs"):
        if place.is_dir():
            return sorted(path for path in place.iterdir() if path.is_file())
    raise BadSettings(str(package), "the sample runs are missing", "a whole package", "install dampkit again")


def _copy_of(source: Path) -> Callable[[Path], object]:
    return lambda to: to.write_bytes(source.read_bytes())
