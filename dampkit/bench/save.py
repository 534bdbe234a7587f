"""A confirmed reading written down as bench.toml, so that the next log of this bench needs no guess."""

from __future__ import annotations

from typing import Any

from dampkit.bench.channels import Channels
from dampkit.bench.declared import BenchSpec
from dampkit.bench.headings import read_heading
from dampkit.bench.layout import Layout
from dampkit.bench.signs import Orientation
from dampkit.bench.written import written_into


def bench_toml(channels: Channels, layout: Layout, orientation: Orientation, spec: BenchSpec, kept: str = "") -> str:
    """TOML text that `load_toml(..., BenchSpec)` reads back to the same reading.

    `kept` is the text that `spec` was read from: its comments stay. Signs that were assumed are left out, with lines
    that ask for them.
    """
    text = {} if layout.paired else {"delimiter": layout.delimiter, "decimal": layout.marks.decimal}
    sections: dict[tuple[str, ...], dict[str, Any]] = {
        ("columns",): {_key(layout, kind, c.column): _name(layout, c.column) for kind, c in channels.items()},
        ("units",): {
            kind: c.unit
            for kind, c in channels.items()
            if c.unit is not None and _key(layout, kind, c.column) != "angle"
        },
        ("signs",): _signs(channels, orientation) if orientation.known else {},
        ("text",): text,
    }
    for name in ("log", "timing", "motion", "zero", "fixture", "uncertainty", "corrections"):
        sections[(name,)] = getattr(spec, name).model_dump(exclude_none=True, exclude_defaults=True)
    if spec.files.name is not None:
        sections[("files",)] = {"name": spec.files.name}
    for file, told in spec.files.told.items():
        sections[("files", "told", file)] = told.model_dump(exclude_none=True)
    made = written_into(kept, sections, notes={(): ["How this bench writes its logs, as confirmed on one of them."]})
    ask = "" if orientation.known or _ASK[0] in made else "\n" + "\n".join(_ASK) + "\n"
    return made + ask


_ASK = (
    "# Not known: which way the readings count. Pull the rod out by hand, see which way they go, and write",
    "# [signs]",
    '# force_positive = "tension"  # or "compression"',
    '# displacement_positive = "extension"  # or "compression"',
)


def _signs(channels: Channels, orientation: Orientation) -> dict[str, str]:
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
