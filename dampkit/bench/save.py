"""A confirmed reading written down as bench.toml, so that the next log of this bench needs no guess."""

from __future__ import annotations

from dampkit.bench.channels import Channels
from dampkit.bench.declared import BenchSpec
from dampkit.bench.headings import read_heading
from dampkit.bench.layout import Layout
from dampkit.bench.signs import Orientation
from dampkit.bench.toml_write import toml_value

Value = str | float


def bench_toml(channels: Channels, layout: Layout, orientation: Orientation, spec: BenchSpec) -> str:
    """TOML text that `loadtoml_value(..., BenchSpec)` reads back to the same reading.

    Signs that were assumed are left out, with a line that asks for them.
    """
    sections: dict[str, dict[str, Value]] = {
        "columns": {_key(layout, kind, c.column): _name(layout, c.column) for kind, c in channels.items()},
        "units": {
            kind: c.unit
            for kind, c in channels.items()
            if c.unit is not None and _key(layout, kind, c.column) != "angle"
        },
        "signs": _signs(channels, orientation) if orientation.known else {},
        "text": {} if layout.paired else {"delimiter": layout.delimiter, "decimal": layout.marks.decimal},
    }
    for name in ("log", "timing", "motion", "zero", "fixture", "uncertainty", "corrections"):
        sections[name] = getattr(spec, name).model_dump(exclude_none=True, exclude_defaults=True)
    if spec.files.name is not None:
        sections["files"] = {"name": spec.files.name}
    for file, told in spec.files.told.items():
        sections[f"files.told.{toml_value(file)}"] = told.model_dump(exclude_none=True)
    lines = ["# How this bench writes its logs, as confirmed on one of them.", ""]
    for name, keys in sections.items():
        if keys:
            lines += [f"[{name}]", *(f"{key} = {toml_value(value)}" for key, value in keys.items()), ""]
    if not orientation.known:
        lines += [
            "# Not known: which way the readings count. Pull the rod out by hand, see which way they go, and write",
            *_ASK,
        ]
    return "\n".join(lines).rstrip() + "\n"


_ASK = (
    "# [signs]",
    '# force_positive = "tension"  # or "compression"',
    '# displacement_positive = "extension"  # or "compression"',
)


def _signs(channels: Channels, orientation: Orientation) -> dict[str, Value]:
    moved = "displacement" if "displacement" in channels else "velocity"
    return {
        "force_positive": "tension" if orientation.force > 0 else "compression",
        f"{moved}_positive": "extension" if orientation.motion > 0 else "compression",
    }


def _key(layout: Layout, kind: str, column: int) -> str:
    """A displacement that was worked out from a crank's angle is declared as the angle."""
    heading = layout.headings[column]
    return "angle" if kind == "displacement" and read_heading(heading).names_angle else kind


def _name(layout: Layout, column: int) -> str:
    heading = layout.headings[column].strip()
    same = sum(h.strip().casefold() == heading.casefold() for h in layout.headings)
    return heading if same == 1 else f"column {column + 1}"
