"""What a log was analysed with: every declared file as text, and a hash of them together."""

from __future__ import annotations

import json
from dataclasses import asdict

from pydantic import ConfigDict

from dampkit.bench.toml_file import from_text, toml_text
from dampkit.frozen import frozen
from dampkit.job import Job, JobFiles, model_of
from dampkit.store.content import plain_json, sha256_of

ALWAYS = ("bench", "damper", "vehicle")  # written also where there is none, so hashes of the first version still hold


@frozen
class Settings:
    """The TOML files as they were written; None where there was none."""

    __pydantic_config__ = ConfigDict(extra="forbid")

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

    def load(self) -> Job:
        """What the files declare. Raises BadSettings for an unusable one."""
        texts = {kind: text for kind, text in asdict(self).items() if text is not None}
        return Job.load(**{kind: from_text(text, f"{kind}.toml", model_of(kind)) for kind, text in texts.items()})

    @classmethod
    def from_text(cls, text: str) -> Settings:
        """From what `text` gave. Raises ValueError or TypeError where it is something else."""
        return cls(**json.loads(text))


def read_settings(files: JobFiles) -> Settings:
    """Read the files as text; what they say is checked by the analysis.

    Raises BadSettings for one that cannot be read.
    """
    return Settings(**{kind: None if path is None else toml_text(path) for kind, path in files.by_kind.items()})
