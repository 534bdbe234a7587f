"""Whatever is taken out of the table of causes or out of the measures, some case of the contract must notice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import pytest

from dampkit.faults.causes import CAUSES, Cause
from tests.faults.cases import ALL, Case, holds, seen

Group = Literal["moves", "denies"]  # what a cause expects is checked on the table itself, in test_explain.py
GROUPS: tuple[Group, ...] = ("moves", "denies")
# Evidence that never comes without another measure of the same cause: in the table because the finding shows it.
TOGETHER = {
    ("valve_stuck_open", "bleed_takes+"),
    ("valves_swapped", "off_other"),
    ("valves_swapped", "own_over_other"),
    ("weak_blowoff", "force_short+"),  # a knee is only asked for where some force is half a tolerance off
}
GATE = "comes_after"  # says whether what a cause disturbs may be laid to it
KEYS = sorted(
    {key.rstrip("+-") for c in CAUSES for key in c.moves + c.may + c.denies + c.expects + c.disturbs} | {GATE}
)


def nearest(cause: Cause) -> list[Case]:
    """Cases of the cause's own code first, then all others."""
    return sorted(ALL, key=lambda case: (case.about != cause.code, cause.code not in case.found | case.suspected))


def without(cause: Cause) -> tuple[Cause, ...]:
    return tuple(c for c in CAUSES if c is not cause)


def changed(cause: Cause, **new: object) -> tuple[Cause, ...]:
    return tuple(replace(c, **new) if c is cause else c for c in CAUSES)  # type: ignore[arg-type]


@pytest.mark.slow
def test_every_measure_is_in_the_table_of_causes() -> None:
    assert sorted({m.key for case in ALL for m in seen(case.name)[1]}) == KEYS


@pytest.mark.parametrize("cause", CAUSES, ids=lambda c: f"{c.code}, {c.moves[0]}")
def test_no_cause_can_be_left_out(cause: Cause) -> None:
    assert not all(holds(case, without(cause)) for case in nearest(cause))


@pytest.mark.parametrize("key", KEYS)
def test_no_measure_can_be_left_out(key: str) -> None:
    asked = {k.rstrip("+-") for c in CAUSES for k in c.disturbs} if key == GATE else {key}
    causes = [c for c in CAUSES if any(k.rstrip("+-") in asked for k in c.moves + c.denies + c.expects)]
    cases = sorted(ALL, key=lambda case: case.about not in {c.code for c in causes})
    assert not all(holds(case, without=key) for case in cases)


def _entries() -> Iterator[tuple[Cause, Group, str]]:
    for cause in CAUSES:
        for group in GROUPS:
            keys = [key for key in getattr(cause, group) if len(cause.moves) > 1 or group != "moves"]
            yield from ((cause, group, key) for key in keys if (cause.code, key) not in TOGETHER)


@pytest.mark.parametrize(
    ("cause", "group", "key"), tuple(_entries()), ids=lambda x: x.code if isinstance(x, Cause) else x
)
def test_no_measure_of_a_cause_can_be_left_out(cause: Cause, group: Group, key: str) -> None:
    kept = tuple(k for k in getattr(cause, group) if k != key)
    assert not all(holds(case, changed(cause, **{group: kept})) for case in nearest(cause))
