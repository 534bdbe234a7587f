"""Work over processes: every thing is answered, few are taken ahead, and one that kills its worker stops nobody."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator

import pytest

from dampkit.store.many import Crew, work_through


def double(item: int) -> tuple[int, int]:
    return item, 2 * item


def double_or_die(item: int) -> tuple[int, int]:
    if item == 7:
        os.kill(os.getpid(), signal.SIGKILL)
    return double(item)


def double_or_hang(item: int) -> tuple[int, int]:
    if item == 3:
        time.sleep(120)
    return double(item)


def lost(item: int) -> tuple[int, int]:
    return item, -1


@pytest.mark.parametrize("processes", [1, 2])
def test_every_item_is_answered_once(processes: int) -> None:
    answers = sorted(work_through(iter(range(40)), double, lost, Crew(processes)))
    assert answers == [(n, 2 * n) for n in range(40)]


def test_no_item_at_all_is_no_answer() -> None:
    assert list(work_through(iter(()), double, lost, Crew(2))) == []


@pytest.mark.parametrize("processes", [1, 2])
def test_items_are_taken_only_as_fast_as_they_are_worked_on(processes: int) -> None:
    taken = 0

    def items() -> Iterator[int]:
        nonlocal taken
        for n in range(200):
            taken += 1
            yield n

    ahead = 0
    for done, _ in enumerate(work_through(items(), double, lost, Crew(processes)), start=1):
        ahead = max(ahead, taken - done)
    assert ahead <= 200 if processes == 1 else ahead < 200


def test_one_that_kills_its_worker_is_named_and_stops_nobody() -> None:
    answers = sorted(work_through(iter(range(20)), double_or_die, lost, Crew(2)))
    assert answers == [(n, -1 if n == 7 else 2 * n) for n in range(20)]


@pytest.mark.slow
def test_one_that_never_answers_is_named_and_stops_nobody() -> None:
    answers = sorted(work_through(iter(range(6)), double_or_hang, lost, Crew(2, patience_s=10.0)))
    assert answers == [(n, -1 if n == 3 else 2 * n) for n in range(6)]
