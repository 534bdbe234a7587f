"""One row a kind: whole, with where each figure comes from, and asked everywhere instead of the kind's name."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from dampkit.damper.kinds import KINDS, Kind, facts_of
from dampkit.faults.limits import limits
from dampkit.virtual.plant import KINDS as MADE

PACKAGE = Path(__file__).parents[2] / "dampkit"
ENDS = ("app", "guide", "studies", "virtual")
# Of oil levels, which only the room for them knows; the kind of a linkage, which is none of a unit
OTHERS = ("outcome/oil_state.py", "needs/declared.py")


def test_every_kind_has_its_row_and_a_made_up_unit() -> None:
    assert set(KINDS) == set(get_args(Kind)) == set(MADE)


@pytest.mark.parametrize("kind", get_args(Kind))
def test_a_figure_has_a_source_or_is_called_common_practice(kind: Kind) -> None:
    assert {basis for _, basis in facts_of(kind).friction_limit_n.values()} <= {"published", "common practice"}
    assert (
        facts_of(kind).limits().items()
        <= {
            name.removeprefix(f"{kind}."): value for name, value in limits().items() if name.startswith(f"{kind}.")
        }.items()
    )


def test_no_room_asks_for_a_kind_by_its_name() -> None:
    names = "|".join(get_args(Kind))
    asked = re.compile(rf'kind\s*(?:==|!=|in|not in)\s*\(?["\'](?:{names})')
    for path in PACKAGE.rglob("*.py"):
        room = path.relative_to(PACKAGE)
        if room.parts[0] in ENDS or room.as_posix() in OTHERS:
            continue
        assert not asked.search(path.read_text(encoding="utf-8")), room


def test_published_friction_is_as_published() -> None:
    """[qct491] from a reprint: 55 N, 150 N under side load; [testmemos1913]: 10 lb at a lever's ball-pin, 44.5 N."""
    assert facts_of("twin-tube").friction_limit_n == {"car": (55.0, "published"), "strut": (150.0, "published")}
    assert facts_of("lever-arm").friction_limit_n["car"][0] == pytest.approx(10 * 4.4482216152605, abs=0.05)
