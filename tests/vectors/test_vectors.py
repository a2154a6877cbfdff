"""The engine gives back the vectors that are kept: no change of arithmetic or words is unmeant.

Where a change is meant: ``python -m tests.vectors.make`` makes them anew and tells what changed.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from quickcheck.engine import VERDICT_WORDS, compile_model, judge, read_sheet
from quickcheck.engine.constants import NOT_SEEN, STATES
from quickcheck.engine.export import model_json
from quickcheck.engine.rules import TABLE
from quickcheck.reference import DISCLOSURES, Kind, Reference, reference_from_canonical
from tests.vectors import kept
from tests.vectors.kept import Doc, differences

MOST = 2_000_000  # bytes


@pytest.fixture(scope="module")
def lines() -> list[Doc]:
    return kept.read()


@pytest.fixture(scope="module")
def judged(lines: list[Doc]) -> list[tuple[Reference, Doc]]:
    """Return every vector with its reference."""
    return list(_with_references(lines))


def _with_references(lines: list[Doc]) -> Iterator[tuple[Reference, Doc]]:
    reference: Any = None
    for line in lines:
        if "canonical" in line:
            reference = reference_from_canonical(line["canonical"].encode())
        else:
            yield reference, line


def test_there_are_enough_and_they_are_small(lines: list[Doc]) -> None:
    """There are 300 vectors or more, in 2 MB or less."""
    assert sum("name" in line for line in lines) >= 300
    assert kept.FILE.stat().st_size <= MOST


def test_no_two_have_one_name(lines: list[Doc]) -> None:
    """A name in a message leads to one vector."""
    names = Counter(line["name"] for line in lines if "name" in line)
    assert [name for name, count in names.items() if count > 1] == []


def test_the_results_are_those_kept(judged: list[tuple[Reference, Doc]]) -> None:
    """Every number to nine digits, every word, list, sentence and fault exactly."""
    wrong = []
    for reference, line in judged:
        window = tuple(line["window"]) if line["window"] else None
        came = kept.outcome(reference, line["document"], window)
        wanted = {key: line[key] for key in ("result", "sentences", "faults") if key in line}
        wrong += [f"{line['name']} {place}" for place in differences(wanted, came)[:3]]
    assert not wrong, f"{len(wrong)} places, among them:\n" + "\n".join(wrong[:20])


def test_the_models_are_those_kept(lines: list[Doc]) -> None:
    """What is sent to a phone is bit for bit what the vectors were made with."""
    for line in lines:
        if "canonical" in line:
            reference = reference_from_canonical(line["canonical"].encode())
            assert kept.text(model_json(compile_model(reference))) == kept.text(line["model"])


def test_keeping_takes_no_digit_that_is_compared() -> None:
    """A number that is kept, and the same number a billionth away, are told apart."""
    value = 0.12345678901234567
    assert differences(kept.shortened({"a": [value]}), {"a": [value]}) == []
    assert differences({"a": [value]}, {"a": [value * (1 + 3e-9)]}) != []
    assert differences({"a": 1.0, "b": "x"}, {"a": 1.0}) != []


def _results(judged: list[tuple[Reference, Doc]]) -> list[Doc]:
    return [line["result"] for _, line in judged if "result" in line]


def _answers(judged: list[tuple[Reference, Doc]]) -> Iterator[tuple[Reference, str, Doc]]:
    for reference, line in judged:
        if "result" in line:
            for name, answer in line["document"]["answers"].items():
                yield reference, name, answer


Judged = list[tuple[Reference, Doc]]
REACHED: dict[str, tuple[set[str], Callable[[Judged], set[str]]]] = {
    "verdicts": (set(VERDICT_WORDS), lambda j: {r["verdict"] for r in _results(j)}),
    "leanings": (
        {"within", "earlier", "later", "silent"},
        lambda j: {p["leaning"] for r in _results(j) for p in r["points"].values()},
    ),
    "assemblies": (
        {"neck", "body", "electrics", "hardware"},
        lambda j: {name for r in _results(j) for name in r["assemblies"]},
    ),
    "apart": ({"neck", "body"}, lambda j: {name for r in _results(j) for name in r["apart"]}),
    "states": (
        {state for state in STATES if state},
        lambda j: {a["state"] for _, _, a in _answers(j) if a.get("state")},
    ),
    "reasons": (
        set(NOT_SEEN),
        lambda j: {a["not_seen"] for _, _, a in _answers(j) if a.get("not_seen")},
    ),
    "kinds": (set(Kind), lambda j: {ref.by_id[name].kind for ref, name, _ in _answers(j)}),
    "disclosures": (
        set(DISCLOSURES),
        lambda j: {d for _, line in j for d in line["document"].get("disclosures") or ()},
    ),
    "subjects": (
        {"finding", "why", "width", "claim", "best", "apart", "found", "count", "declared"}
        | {"leaning", "unseen", "next"},
        lambda j: {about for _, line in j for about, _, _ in line.get("sentences", ())},
    ),
}


@pytest.mark.parametrize("what", REACHED)
def test_the_vectors_reach(what: str, judged: list[tuple[Reference, Doc]]) -> None:
    """Every verdict, leaning, state and so on comes up in some vector."""
    wanted, found = REACHED[what]
    assert wanted <= found(judged)


def test_every_reason_decides_somewhere(judged: Judged) -> None:
    """Each row of the table of rules is the reason, or one of them, for the verdict of a vector."""
    missing = {rule.reason for rule in TABLE}
    for reference, line in judged:
        if "result" in line:
            window = (line["window"][0], line["window"][1]) if line["window"] else None
            sheet = read_sheet(reference, line["document"], window=window)
            missing -= set(judge(compile_model(reference), sheet).because)
        if not missing:
            break
    assert missing == set()


def test_rates_of_codes_and_months_without_neighbours(judged: list[tuple[Reference, Doc]]) -> None:
    """Some references have a rate for codes, one month, a kappa; some windows leave nothing out."""
    references = [reference for reference, _ in judged]
    assert any("codes" in reference.sets for reference in references)
    assert any(reference.months == 1 for reference in references)
    assert any(reference.kappa for reference in references)
    assert any(result["bayes_factor"] is None for result in _results(judged))
