"""The published JSON Schema, held against the reader by a validator of the standard (jsonschema)."""

import copy
import random
import tomllib
from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest

from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import json_schema
from quickcheck.reference.reader import read_reference_text
from tests.engine.strategies import seeded
from tests.engine.toml_text import toml_text
from tests.reference import sample
from tests.reference.test_reader import DEMO

SCHEMA = json_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
ODD: tuple[Any, ...] = (
    "",
    "Other",
    0,
    -1,
    1.5,
    True,
    [],
    {},
    ["x", "x"],
    "1950-13",
    "a b",
    1e9,
    "x" * 5000,
)


def test_is_a_schema() -> None:
    """It is one by the standard's own schema of schemas."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("folder", DEMO, ids=lambda folder: folder.name)
def test_takes_the_demo(folder: Any) -> None:
    """The references of the demo are valid."""
    (file,) = folder.glob("*.toml")
    VALIDATOR.validate(tomllib.loads(file.read_text()))


def test_takes_the_example_and_names_its_point_kinds() -> None:
    """The example of the write-up is valid, and not without its points."""
    document = tomllib.loads(sample.example())
    VALIDATOR.validate(document)
    document["point"][0]["kind"] = "guess"
    with pytest.raises(jsonschema.ValidationError):
        VALIDATOR.validate(document)


def tables(value: Any) -> Iterator[dict[str, Any]]:
    """Yield every table of a document."""
    if isinstance(value, dict):
        yield value
    for each in value.values() if isinstance(value, dict) else value:
        if isinstance(each, dict | list):
            yield from tables(each)


def altered(document: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """Return a document with one value put out of form, a key left out, or a key too many."""
    changed = copy.deepcopy(document)
    table = rng.choice([each for each in tables(changed) if each])
    key = rng.choice(sorted(table))
    act = rng.randrange(3)
    if act == 0:
        table[key] = rng.choice(ODD)
    elif act == 1:
        del table[key]
    else:
        table["no-such-key"] = 1
    return changed


def is_read(document: dict[str, Any]) -> bool:
    """Whether the reader takes a document; one that is no TOML is taken by nobody."""
    try:
        read_reference_text(toml_text(document), name="x.toml", pictures=sample.PICTURES)
    except ReferenceFaultsError:
        return False
    return True


def test_refuses_nothing_that_the_reader_takes() -> None:
    """Of 600 documents with something wrong in them, none is refused by the schema alone."""
    document = tomllib.loads(sample.example())
    rng = random.Random(4)
    cases = [altered(document, rng) for _ in range(600)]
    refused = [case for case in cases if not VALIDATOR.is_valid(case)]
    assert len(refused) > 300
    assert not [case for case in refused if is_read(case)]


def test_takes_what_the_reader_takes() -> None:
    """Documents made up at random that the reader takes are valid."""
    taken = [document for document, _ in seeded(60) if is_read(document)]
    assert len(taken) > 30
    for document in taken:
        VALIDATOR.validate(document)
