"""Public keys as text, and the words for a seal."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import SEAL_WORDS, KeyRing, SealState, check_seal, encode, seal_words
from quickcheck.card.key_list import LARGEST_KEY_LIST, key_json, keys_json, read_keys
from quickcheck.errors import CardError
from tests.card.kit import ISSUED, full
from tests.card.sealing import LATER, MADE, flipped, key, known, recall, sealed, signer

KEYS = (key(1), key(2, retired=LATER), key(3, retired=LATER, revoked=LATER))
NO_KEYS = r"^public keys: expected a list of public keys as the issuer publishes it"


def test_the_keys_come_back() -> None:
    """Written and read again they are the same, more fields or not."""
    text = json.dumps(keys_json(KEYS) | {"more": 1})
    assert read_keys(text) == KeyRing.of(KEYS)


def test_what_is_told_of_a_key() -> None:
    """Its public half, its name and its times; nothing else is there to tell."""
    assert key_json(key(2, retired=LATER)) == {
        "id": signer(2).id.hex(),
        "issuer": "Fettle & Daughter",
        "public": signer(2).public.hex(),
        "fingerprint": key_json(key(2))["fingerprint"],
        "made": "2026-01-01T08:30:45.000006+00:00",
        "retired": "2026-12-01T09:00:00+00:00",
        "revoked": None,
    }


@pytest.mark.parametrize(
    "told",
    [
        None,
        [],
        {},
        {"keys": 7},
        {"keys": [7]},
        {"keys": [{}]},
        {"keys": [key_json(key()) | {"id": "00000000"}]},
        {"keys": [key_json(key()) | {"public": "xy"}]},
        {"keys": [key_json(key()) | {"made": "yesterday"}]},
        {"keys": [key_json(key()) | {"made": 7}]},
        {"keys": [key_json(key()) | {"retired": ["x"]}]},
    ],
)
def test_what_is_no_list_of_keys_is_refused(told: Any) -> None:
    """Other shapes, an id that is not the key's, times that are none."""
    with pytest.raises(CardError, match=NO_KEYS):
        read_keys(json.dumps(told))


@pytest.mark.parametrize("text", ["", "[" * 100_000, " " * (LARGEST_KEY_LIST + 1)], ids=range(3))
def test_no_json_and_too_much(text: str) -> None:
    """Neither is read."""
    with pytest.raises(CardError, match=NO_KEYS):
        read_keys(text)


def test_a_key_that_cannot_be_is_told_by_its_field() -> None:
    """As where it is typed."""
    with pytest.raises(CardError, match=r"^key\.issuer: "):
        read_keys(json.dumps({"keys": [key_json(key()) | {"issuer": ""}]}))


@given(st.text(max_size=40))
def test_any_text_is_refused(text: str) -> None:
    """Nothing but a CardError comes out."""
    with pytest.raises(CardError, match=NO_KEYS):
        read_keys(text)


NAME = sealed().card_id
WITHDRAWN, CORRECTED = recall(NAME), recall(NAME, by=sealed(2).card_id)
UNCHANGED = (
    "Text unchanged since issued on 11 April 2026, 10:03 UTC by Fettle & Daughter; the seal says "
    "nothing about the instrument."
)
SAID = {
    UNCHANGED: known(),
    f"{UNCHANGED} Its key signs no more since 1 December 2026.": known(key(retired=LATER)),
    f"{UNCHANGED} Its key was revoked on 1 December 2026; this card stands in the issuer’s own "
    "list of cards all the same.": known(key(revoked=LATER), logged=frozenset({sealed().data})),
    "Corrected on 1 December 2026: another card takes the place of this one, which was issued on "
    "11 April 2026, 10:03 UTC by Fettle & Daughter.": known(recalls={NAME: CORRECTED}),
    "Withdrawn on 1 December 2026 by Fettle & Daughter, who issued it on 11 April 2026, 10:03 UTC. "
    "Do not rely on it.": known(recalls={NAME: WITHDRAWN}),
    "Do not rely on it: it says 11 April 2026, 10:03 UTC, and the key of Fettle & Daughter that "
    "sealed it was not in use then.": known(key(retired=MADE)),
    "Do not rely on it: the key of Fettle & Daughter that sealed it was revoked on 11 April 2026, "
    "and it is not in the issuer’s own list of cards.": known(key(revoked=ISSUED)),
    f"Unknown issuer: nobody here knows the key {signer().id.hex()} that it names, so nothing "
    "tells whether its text was changed.": known(key(2)),
}


@pytest.mark.parametrize(("words", "facts"), SAID.items(), ids=range(len(SAID)))
def test_what_a_seal_is_worth_in_words(words: str, facts: Any) -> None:
    """Each state has its sentence, with names and dates."""
    assert seal_words(check_seal(sealed().data, facts)) == words


def test_altered_and_unsealed_in_words() -> None:
    """Neither names an issuer, for none is behind it."""
    altered = check_seal(flipped(sealed().data, 0), known())
    assert seal_words(altered) == (
        f"Altered or damaged: this is not what the key {signer().id.hex()} sealed."
    )
    assert seal_words(check_seal(encode(full()), known())) == (
        "Not sealed: nothing tells who wrote it or whether it was changed."
    )


def test_no_state_is_said_to_be_valid() -> None:
    """Every state has words, and none promises anything about the instrument."""
    assert set(SEAL_WORDS) == set(SealState)
    text = " ".join(SEAL_WORDS.values()).lower()
    for word in ("valid", "genuine", "authentic", "verified", "guarantee", "original", "fake"):
        assert word not in text
