"""What a card carries is what the verdict needs, on references and answers made up at random."""

import contextlib
import functools
import os
import random
from collections.abc import Iterator
from itertools import islice
from typing import Any

import pytest

from quickcheck.card import MARK_KINDS, MARK_PLACES, Card, card_of, data_of, decode, digits, encode
from quickcheck.engine import Sheet, Verdict, compile_model, judge, read_sheet
from quickcheck.errors import ReferenceFaultsError
from quickcheck.reference import DISCLOSURES, Reference, read_reference_text
from tests.card.kit import ISSUED
from tests.engine.strategies import seeded
from tests.engine.toml_text import toml_text

Doc = dict[str, Any]

CASES = 500 if os.environ.get("QUICKCHECK_FULL") else 100


def dressed(document: Doc, seed: int) -> Doc:
    """Add what stands around the answers, and notes and tools, which a card leaves behind."""
    rng = random.Random(seed)
    answers = {
        name: answer | {"note": "x" * rng.randrange(40)}
        for name, answer in document["answers"].items()
    }
    return document | {
        "answers": answers,
        "claim": {"words": "a story", "nothing_changed": rng.random() < 0.3},
        "access": rng.choice(["look", "handle", "open"]),
        "tools": rng.sample(["lamp", "gauge", "scale"], rng.randrange(4)),
        "serial_text": rng.choice(["", "77", "1388", "A 1/20-b"]),
        "disclosures": rng.sample(sorted(DISCLOSURES), rng.choice([0, 0, 1, 3])),
        "marks": [
            {"place": rng.choice([*MARK_PLACES]), "kind": rng.choice([*MARK_KINDS]), "mm": 5.4}
            for _ in range(rng.randrange(3))
        ],
    }


@functools.cache
def judged() -> tuple[tuple[Sheet, Verdict, Card], ...]:
    """Return sheet, verdict and card of every seeded case."""
    found = []
    for seed, (reference, document) in enumerate(islice(_read_cases(), CASES)):
        sheet = read_sheet(reference, dressed(document, seed))
        verdict = judge(compile_model(sheet.reference), sheet)
        card = card_of(sheet, verdict, issued=ISSUED, interest="none", number=1 + seed)
        found.append((sheet, verdict, card))
    return tuple(found)


def _read_cases() -> Iterator[tuple[Reference, Doc]]:
    """Yield the seeded cases whose reference the reader takes."""
    for reference, document in seeded(2 * CASES, tuple(DISCLOSURES)):
        with contextlib.suppress(ReferenceFaultsError):
            yield read_reference_text(toml_text(reference)), document


def test_a_card_comes_back_from_its_digits() -> None:
    """Bytes → digits → bytes → card is the identity, on every case."""
    for sheet, _, card in judged():
        data = encode(card)
        assert decode(data_of(digits(data)), sheet.reference) == card


def test_the_rebuilt_document_is_judged_the_same() -> None:
    """The verdict on the card's own document equals the first one, to the last digit."""
    for sheet, verdict, card in judged():
        again = read_sheet(sheet.reference, decode(encode(card), sheet.reference).document())
        rebuilt = judge(compile_model(sheet.reference), again)
        assert rebuilt == verdict


def test_the_front_repeats_the_verdict() -> None:
    """Verdict, months and counts on the front are those of the verdict."""
    for sheet, verdict, card in judged():
        front = card.head
        assert (front.verdict, front.rules) == (verdict.verdict, verdict.rules)
        assert front.claimed == sheet.claimed
        assert front.reads_as == (verdict.reads_as[0][0], verdict.reads_as[-1][1])
        assert (front.found, front.declared) == (len(verdict.found), len(verdict.declared))


def test_the_cases_reach_every_way_of_answering() -> None:
    """Every kind of answer, every state, several runs and every verdict occur among the cases."""
    answers = [answer for _, _, card in judged() for answer in card.answers.values()]
    assert {"changed", "signs", "no-sign", "undisturbed"} <= {a.state for a in answers}
    assert any(a.value is not None for a in answers)
    assert any(a.months for a in answers)
    assert any(a.number is not None for a in answers)
    assert any(len(a.seen) > 1 for a in answers)
    assert any("other" in a.seen for a in answers)
    assert any(a.not_seen for a in answers)
    assert any(not a.sure for a in answers)
    assert any(a.state and not a.has_reading for a in answers)
    assert any(len(verdict.reads_as) > 1 for _, verdict, _ in judged())
    assert len({verdict.verdict for _, verdict, _ in judged()}) >= 4
    assert len(judged()) == CASES


@pytest.mark.parametrize("left_behind", ["note", "words", "tools"])
def test_what_is_left_behind_is_not_on_the_card(left_behind: str) -> None:
    """Notes, the claim's words and the tools are nowhere in the rebuilt document."""
    assert all(left_behind not in repr(card.document()) for _, _, card in judged())
