"""One set of processes for all tests of the page, as starting one takes longer than most of them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from dampkit.app.serve.workers import Workers
from tests.app.serve.desk import Desk, house_in


@pytest.fixture(scope="session")
def workers() -> Iterator[Workers]:
    made = Workers(1)
    yield made
    made.close()


@pytest.fixture
def desk(tmp_path: Path, workers: Workers) -> Desk:
    return Desk(house_in(tmp_path, workers))
