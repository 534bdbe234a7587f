"""A fixed share of the long fuzz over all forms (tests/benchmarks/fuzz_forms.py)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.fuzz_forms import fuzz_forms


@pytest.mark.slow
def test_damaged_records_of_every_form_are_read_or_refused(tmp_path: Path) -> None:
    answers, offenders = fuzz_forms(150, 5, tmp_path)
    assert not offenders, offenders[:3]
    assert answers["refused"] > 10
    assert answers["traced"] > 10


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6, 14))
def test_many_damaged_records_are_read_or_refused(tmp_path: Path, seed: int) -> None:
    assert not fuzz_forms(100, seed, tmp_path)[1]
