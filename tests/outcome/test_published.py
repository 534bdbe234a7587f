"""The published schemas are those of the models, well formed, and take the sample files; results are held against theirs."""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest

from dampkit.job import MODELS
from dampkit.outcome.published import NAMES, made_from_models, place_of, schema_of
from tests.report.made_up import low_oil

SAMPLES = Path(__file__).parents[2] / "sample_runs"


@pytest.mark.parametrize("name", NAMES)
def test_published_schema_is_as_the_models_are(name: str) -> None:
    assert place_of(name).read_text(encoding="utf-8") == made_from_models(name), (
        "stale: run  python -m dampkit.outcome.published"
    )


@pytest.mark.parametrize("name", NAMES)
def test_published_schema_is_one(name: str) -> None:
    schema = schema_of(name)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"] == f"urn:dampkit:schema:{name}:1"


@pytest.mark.parametrize("kind", MODELS)
def test_every_sample_file_fits_the_schema_of_its_kind(kind: str) -> None:
    files = sorted(SAMPLES.glob(f"*.{kind}.toml"))
    schema = jsonschema.Draft202012Validator(schema_of(kind))
    for file in files:
        schema.validate(tomllib.loads(file.read_text()))
        assert not schema.is_valid({**tomllib.loads(file.read_text()), "unheard_of": 1})
    assert files


def test_results_of_the_tests_are_held_against_the_schema() -> None:
    """What `tests/conftest.py` puts round `Result.to_dict` does refuse."""
    result = low_oil()
    assert result.to_dict()["faults"][0]["likelihood"] <= 1
    unsure = result.faults[0].model_copy(update={"likelihood": 1.5})
    with pytest.raises(jsonschema.ValidationError):
        result.model_copy(update={"faults": (unsure,)}).to_dict()
