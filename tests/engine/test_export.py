"""The model as it travels to the phone: every number of it arrives, in little space."""

import gzip
import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from quickcheck import paths
from quickcheck.engine import RULES_REVISION, Model, compile_model
from quickcheck.engine.constants import LAGS, RULES, STATES
from quickcheck.engine.export import UNIT, model_json
from quickcheck.reference import DISCLOSURES, Assembly, Kind, read_reference, read_reference_text
from tests.engine.small import ladder, point, reference, sets, variant
from tests.engine.strategies import seeded
from tests.engine.toml_text import toml_text

Doc = dict[str, Any]
MOST = 5_000  # bytes, compressed, for all that is numbers
MOST_WITH_WORDS = 9_000  # with ids, labels and questions


def poplin() -> Model:
    return compile_model(read_reference(paths.DEMO / "references" / "hobbinsley-poplin"))


def carried(model: Model) -> Doc:
    """Return the model as it comes out of JSON."""
    told: Doc = json.loads(json.dumps(model_json(model)))
    return told


def unrolled(runs: Sequence[Any]) -> list[int]:
    values: list[int] = []
    for run in runs:
        value, count = run if isinstance(run, list) else (run, 1)
        values += [value] * count
    return values


def made(rows: Sequence[Sequence[Any]]) -> NDArray[np.float64]:
    """Return U of one point, put together as a phone does."""
    whole = np.array([unrolled(row) for row in rows])
    whole[-2] += UNIT - np.delete(whole, -2, axis=0).sum(axis=0)
    return whole / UNIT


def check_numbers(model: Model) -> None:
    told = carried(model)
    assert (np.array(unrolled(told["weights"])) / UNIT == model.weights).all()
    by_id = {each["id"]: each for each in told["points"]}
    for name, rows in model.rows.items():
        assert (made(by_id[name]["made"]) == model.made[rows.start : rows.stop]).all(), name
    assert {name for name, each in by_id.items() if "made" in each} == set(model.rows)


def test_every_number_arrives_exactly() -> None:
    """U and w of the demo's reference are bit for bit what the engine here starts from."""
    check_numbers(poplin())


def test_every_number_of_made_up_references_arrives_exactly() -> None:
    """So are those of references with gaps, knots, overlaps and a single month."""
    for document, _ in seeded(60):
        check_numbers(compile_model(read_reference_text(toml_text(document))))


def packed(value: object) -> int:
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    return len(gzip.compress(text.encode(), 9, mtime=0))


def test_the_model_is_small() -> None:
    """Compressed, the numbers of a reference of 26 points take 5 kB at most, all of it 9 kB."""
    told = carried(poplin())
    rows = [each.get("made") for each in told["points"]]
    numbers, whole = packed([told["weights"], rows, told["constants"]]), packed(told)
    print(f"{len(rows)} points: numbers {numbers:,} bytes, with words {whole:,} bytes")
    assert numbers <= MOST
    assert whole <= MOST_WITH_WORDS


def test_the_constants_are_those_of_the_engine() -> None:
    """Every constant travels, so that none is written down a second time."""
    told = carried(poplin())["constants"]
    assert {key: told[key] for key in asdict(RULES)} == asdict(RULES)
    assert told["states"] == {state: list(factors) for state, factors in STATES.items()}
    assert told["lags"] == list(LAGS)


def test_disclosures_are_expanded() -> None:
    """Each term tells the points that it changes or silences, in the reference's order."""
    model = compile_model(
        reference(*(point(name, variant("a")) for name in ("nut", "label", "fret-wire", "fret")))
    )
    told = carried(model)["disclosures"]
    assert list(told) == list(DISCLOSURES)
    assert told["refret"] == {"own": ["fret-wire", "fret"]}
    assert told["new-back"] == {"others": ["label"]}
    assert told["player-wear"] == {}


def test_what_holds_nothing_is_left_out() -> None:
    """A field without a value takes no space; a nought is a value."""
    plain = variant("a", odds=None)
    model = compile_model(reference(point("nut", plain, other=0.0), kappa=None))
    told = carried(model)
    (nut,) = told["points"]
    assert nut["other"] == 0.0
    assert nut["seen"] == [{"id": "a", "label": "A"}]
    assert not {"many", "unit", "bears_on", "tolerance", "tools"} & nut.keys()
    assert told["kappa"] is None


@pytest.mark.parametrize("assembly", ["body", "case"])
def test_a_sign_names_its_points(assembly: str) -> None:
    """A sign's selectors are expanded; on the case it bears on nothing."""
    glue = point(
        "glue",
        variant("seen", odds=4.0),
        kind=Kind.SIGN,
        assembly=Assembly(assembly),
        bears_on=("area:hardware",),
    )
    model = compile_model(reference(point("nut", variant("a")), glue))
    told = carried(model)["points"][1]
    assert told.get("bears_on", []) == ([] if assembly == "case" else ["nut"])
    assert "made" not in told


def test_top_fields() -> None:
    """What the model is of, its months and its sets stand at the top."""
    made_up = ladder(2, kappa=1.3, sets=sets(hardware=0.04))
    told = carried(compile_model(made_up))
    assert told["format"] == 1
    assert told["rules"] == RULES_REVISION
    assert (told["id"], told["hash"], told["edition"]) == ("small", made_up.hash, "1")
    assert told["covers"] == list(made_up.covers)
    assert told["kappa"] == 1.3
    assert told["sets"] == {"hardware": {"label": "hardware", "changed": 0.04}}
