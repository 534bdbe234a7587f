"""Every result that these tests make is one that the published schema describes."""

from __future__ import annotations

import jsonschema
import pytest

from dampkit.outcome.published import schema_of
from tests.report.test_sentences import MADE, SAMPLES, sample


@pytest.mark.parametrize("name", [*MADE, *SAMPLES])
def test_result_fits_the_schema(name: str) -> None:
    """By jsonschema, against draft 2020-12, which pydantic states it writes."""
    result = MADE[name]() if name in MADE else sample(name)
    jsonschema.Draft202012Validator(schema_of("result")).validate(result.to_dict())


def test_the_schema_refuses_a_key_that_it_does_not_hold() -> None:
    broken = MADE["sound"]().to_dict() | {"unheard_of": 1}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema_of("result")).validate(broken)
