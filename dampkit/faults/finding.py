"""What a fault signature reports: a name, how sure, and the evidence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Evidence:
    """One measured value held against its limit; `basis` says where the limit comes from."""

    measure: str
    value: float
    unit: str
    limit: float
    basis: str
    low: float | None = None  # 95 % interval of the value
    high: float | None = None


@dataclass(frozen=True)
class Finding:
    """A fault that the log shows. `sentence` is what a mechanic would say, without a full stop."""

    code: str
    level: Literal["found", "suspected"]
    likelihood: float
    sentence: str
    evidence: tuple[Evidence, ...]
    stage_index: int | None = None  # the loop where it shows best
