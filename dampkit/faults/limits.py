"""Every limit of the fault room in one table, with a hash: a study made with other limits is then known to be stale."""

from __future__ import annotations

import hashlib
import importlib
import pkgutil

import dampkit.faults


def limits() -> dict[str, float]:
    """Name of each number in capitals in this room, as `module.NAME`, and its value; sorted."""
    found: dict[str, float] = {}
    for info in pkgutil.iter_modules(dampkit.faults.__path__):
        module = importlib.import_module(f"dampkit.faults.{info.name}")
        own = {name for name in vars(module) if name.isupper() and name not in _imported(module.__name__, vars(module))}
        found |= {f"{info.name}.{name}": float(vars(module)[name]) for name in own if _is_number(vars(module)[name])}
    return dict(sorted(found.items()))


def limits_hash() -> str:
    """Hash of all names and values; changes with any of them."""
    text = "\n".join(f"{name}={value!r}" for name, value in limits().items())
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _imported(module: str, names: dict[str, object]) -> set[str]:
    """Capitals that another module of the room defines first, so each limit is listed where it lives."""
    import inspect
    import sys

    source = inspect.getsource(sys.modules[module])
    return {name for name in names if name.isupper() and f"\n{name}" not in f"\n{source}" and f", {name}" not in source}
