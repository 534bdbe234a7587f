"""What a log was analysed with: every declared file as text, and a hash of them together."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from dampkit.bench.toml_file import toml_text
from dampkit.job import JobFiles
from dampkit.store.content import plain_json, sha256_of

ALWAYS = ("bench", "damper", "vehicle")  # written also where there is none, so hashes of the first version still hold


@dataclass(frozen=True)
class Settings:
    """The TOML files as they were written; None where there was none."""

    bench: str | None = None
    damper: str | None = None
    vehicle: str | None = None
    inspection: str | None = None
    costs: str | None = None
    stock: str | None = None

    @property
    def written(self) -> dict[str, str | None]:
        """By kind, in the form that is stored and hashed."""
        return {kind: text for kind, text in asdict(self).items() if text is not None or kind in ALWAYS}

    @property
    def text(self) -> str:
        return plain_json(self.written).decode()

    @property
    def sha256(self) -> str:
        return sha256_of(self.text.encode())

    def files_in(self, folder: Path) -> JobFiles:
        """The same files again, as they were written, in a folder that exists."""
        places = {kind: folder / f"{kind}.toml" for kind, text in asdict(self).items() if text is not None}
        for kind, place in places.items():
            place.write_text(getattr(self, kind), encoding="utf-8", newline="")
        return JobFiles(**places)

    @classmethod
    def from_text(cls, text: str) -> Settings:
        """From what `text` gave. Raises ValueError or TypeError where it is something else."""
        return cls(**json.loads(text))


def read_settings(files: JobFiles) -> Settings:
    """Read the files as text; what they say is checked by the analysis.

    Raises BadSettings for one that cannot be read.
    """
    return Settings(**{kind: None if path is None else toml_text(path) for kind, path in files.by_kind.items()})
