"""What is noticed and done while a log is read, gathered in order; it ends up in the run."""

from __future__ import annotations

from dataclasses import dataclass, field

from dampkit.bench.run import Clears, Quality, Severity, Step


@dataclass
class Notes:
    """Lives only while one log is read."""

    steps: list[Step] = field(default_factory=list)
    quality: list[Quality] = field(default_factory=list)

    def did(self, what: str, why: str, **settings: float | str) -> None:
        self.steps.append(Step(what, why, tuple(settings.items())))

    def noticed(self, code: str, severity: Severity, message: str, clears: Clears = "measure") -> None:
        self.quality.append(Quality(code, severity, message, clears))
