"""A frozen dataclass of ours against one of the standard library's."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError, dataclass, field, fields, is_dataclass, replace

import numpy as np
import pytest

from dampkit.frozen import frozen


@dataclass(frozen=True)
class Plain:
    force_n: float
    name: str = ""
    hidden: int = field(default=0, repr=False, compare=False)


@frozen
class Ours:
    force_n: float
    name: str = ""
    hidden: int = field(default=0, repr=False, compare=False)


@frozen
class Further(Ours):
    more: tuple[float, ...] = ()


@frozen
class Empty:
    pass


def test_shown_equal_and_hashed_as_the_standard_one() -> None:
    assert repr(Ours(1.5, "a")) == repr(Plain(1.5, "a")).replace("Plain", "Ours")
    assert repr(Further(1.5, more=(2.0,))) == "Further(force_n=1.5, name='', more=(2.0,))"
    assert Ours(1.0, "a", 3) == Ours(1.0, "a", 4)
    assert hash(Ours(1.0, "a", 3)) == hash(Plain(1.0, "a", 4)) == hash(Ours(1.0, "a", 4))
    assert Ours(1.0) != Ours(2.0)
    assert Ours(1.0) != Plain(1.0)  # type: ignore[comparison-overlap]
    assert Ours(1.0) != Further(1.0)
    assert len({Empty(), Empty()}) == 1


def test_nothing_of_it_can_be_set() -> None:
    with pytest.raises(FrozenInstanceError):
        Ours(1.0).force_n = 2.0  # type: ignore[misc]


def test_the_same_object_is_equal_whatever_its_values_are() -> None:
    values = np.zeros(3)
    assert Ours(values) == Ours(values)  # type: ignore[arg-type]
    assert Ours(float("nan")) != Ours(float("nan"))


def test_the_rest_of_dataclasses_takes_it() -> None:
    assert is_dataclass(Ours)
    assert [f.name for f in fields(Further)] == ["force_n", "name", "hidden", "more"]
    assert replace(Ours(1.0, "a"), force_n=2.0) == Ours(2.0, "a")  # type: ignore[call-arg]
    assert pickle.loads(pickle.dumps(Further(1.0, more=(2.0,)))) == Further(1.0, more=(2.0,))
