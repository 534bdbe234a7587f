"""Every limit of the fault room in one table, with a hash: a study made with other limits is then known to be stale."""

from __future__ import annotations

import hashlib
import importlib
import pkgutil

import dampkit.faults
from dampkit.damper.kinds import KINDS


def limits() -> dict[str, float]:
    """Name of each number in capitals in this room, as `module.NAME`, and of each kind, as `kind.name`; sorted."""
    found: dict[str, float] = {}
    for info in pkgutil.iter_modules(dampkit.faults.__path__):
        values = vars(importlib.import_module(f"dampkit.faults.{info.name}"))
        numbers = {k: v for k, v in values.items() if k.isupper() and isinstance(v, int | float)}
        found |= {f"{info.name}.{name}": float(value) for name, value in numbers.items()}
    for kind, facts in KINDS.items():
        found |= {f"{kind}.{name}": value for name, value in facts.limits().items()}
    return dict(sorted(found.items()))


def limits_hash() -> str:
    """Hash of all names and values; changes with any of them."""
    text = "\n".join(f"{name}={value!r}" for name, value in limits().items())
    return hashlib.sha256(text.encode()).hexdigest()[:16]
