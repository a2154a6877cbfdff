"""The signed recall list: one text, verified before it is read, believed from known keys only."""

import json
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import KeyRing, Recall, RecallKind, RecallList, read_recalls, sign_recalls
from quickcheck.card.recall import LARGEST_LIST
from quickcheck.errors import CardError
from tests.card.sealing import LATER, MADE, key, recall, sealed, signer

ONE, TWO = sealed(1).card_id, sealed(2).card_id
RING = KeyRing.of([key(1), key(2, revoked=LATER)])
LIST = RecallList(LATER, (recall(TWO), recall(ONE, by=TWO)), {signer(2).id: LATER})
NO_LIST = r"^recall list: expected a signed recall list of this issuer, as its program writes it"


def published(text: str, number: int = 1, *, domain: bytes = b"qr-recall-v1\0") -> str:
    signature = signer(number).sign(domain + text.encode()).hex()
    told = {"key": signer(number).id.hex(), "list": text, "signature": signature}
    return json.dumps(told, separators=(",", ":"))


def test_a_list_comes_back() -> None:
    """What was signed is read again, in the order of card and key."""
    found = read_recalls(sign_recalls(LIST, signer()), RING)
    assert found == LIST
    assert [one.card for one in found.recalls] == sorted([ONE, TWO])
    assert {one.card: one for one in found.recalls} == {ONE: recall(ONE, by=TWO), TWO: recall(TWO)}
    assert found.revoked == {signer(2).id: LATER}


def test_the_text() -> None:
    """It is JSON without blanks, written out here by hand."""
    text = RecallList(LATER, (recall("a" * 16, by="b" * 16),), {b"\1\2\3\4": MADE}).text()
    assert text == (
        '{"cards":[{"at":"2026-12-01T09:00:00Z","by":"bbbbbbbbbbbbbbbb","card":"aaaaaaaaaaaaaaaa",'
        '"what":"corrected"}],"format":1,"keys":[{"key":"01020304","revoked":'
        '"2026-01-01T08:30:45Z"}],"made":"2026-12-01T09:00:00Z"}'
    )


def test_an_empty_list_is_a_list() -> None:
    """That nothing was recalled is worth knowing, with its date."""
    empty = RecallList(LATER, (), {})
    assert read_recalls(sign_recalls(empty, signer()), RING) == empty


def test_moments_are_in_utc_and_cut_to_the_second() -> None:
    """Whatever zone they came in."""
    summer = datetime(2026, 6, 1, 11, 0, 1, 999, tzinfo=timezone(timedelta(hours=1)))
    assert RecallList(summer, (), {}).made == datetime(2026, 6, 1, 10, 0, 1, tzinfo=UTC)


CANNOT_BE = {
    "a short name": lambda: recall("short"),
    "a name in capitals": lambda: recall("A" * 16),
    "a name of other signs": lambda: recall(ONE, by="1" * 16),
    "by itself": lambda: recall(ONE, by=ONE),
    "corrected by nothing": lambda: Recall(ONE, RecallKind.CORRECTED, LATER),
    "withdrawn by a card": lambda: Recall(ONE, RecallKind.WITHDRAWN, LATER, TWO),
    "at a part of a second": lambda: recall(ONE, at=MADE),
    "at a time without zone": lambda: recall(ONE, at=datetime(2026, 1, 1)),  # noqa: DTZ001
    "a list without zone": lambda: RecallList(datetime(2026, 1, 1), (), {}),  # noqa: DTZ001
    "a card twice": lambda: RecallList(LATER, (recall(ONE), recall(ONE)), {}),
}


@pytest.mark.parametrize("made", CANNOT_BE.values(), ids=CANNOT_BE)
def test_a_recall_that_cannot_be_is_refused(made: Any) -> None:
    """Another card's name, no card in its place, a card twice, a time that the list can't hold."""
    with pytest.raises(CardError, match=NO_LIST):
        made()


NOT_BY_THE_ISSUER = (
    published(LIST.text(), 3),  # a key that nobody knows
    published(LIST.text(), 2),  # a revoked one
    published(LIST.text(), domain=b""),
    published(LIST.text(), domain=b"qr-card-v1\0"),
    sign_recalls(LIST, signer()).replace("withdrawn", "corrected"),
    sign_recalls(LIST, signer()).replace('"key":"', '"key":" '),
    sign_recalls(LIST, signer()) + " ",
    sign_recalls(LIST, signer()).replace(",", ", ", 1),
    sign_recalls(LIST, signer()).replace("}", ',"z":1}'),
    json.dumps({"list": LIST.text(), "key": 7, "signature": ""}),
    '{"key":"01020304","list":[],"signature":"05"}',
    '{"key":"01020304","list":7,"signature":"05"}',
    published("", 1).replace('"list":""', '"list":null'),
    "[]",
    "{}",
    "",
    "null",
    "[" * 100_000,
    " " * (LARGEST_LIST + 1),
)


@pytest.mark.parametrize("text", NOT_BY_THE_ISSUER, ids=range(len(NOT_BY_THE_ISSUER)))
def test_what_is_no_list_of_the_issuer_is_refused(text: str) -> None:
    """Other keys, other words before the signature, other spellings, and what is no list at all."""
    with pytest.raises(CardError, match=NO_LIST):
        read_recalls(text, RING)


TRUE = json.loads(LIST.text())


NO_LIST_AT_ALL = (
    json.dumps(TRUE),  # with blanks
    json.dumps(TRUE | {"format": 2}, separators=(",", ":")),
    json.dumps(TRUE | {"made": "2026-12-01T09:00:00+00:00"}, separators=(",", ":")),
    json.dumps(TRUE | {"made": "2026-12-1T09:00:00Z"}, separators=(",", ":")),
    json.dumps(TRUE | {"made": 5}, separators=(",", ":")),
    json.dumps(TRUE | {"cards": [{}]}, separators=(",", ":")),
    json.dumps(TRUE | {"cards": [7]}, separators=(",", ":")),
    json.dumps(TRUE | {"cards": [{"what": "lost"}]}, separators=(",", ":")),
    json.dumps(TRUE | {"keys": {"a": "b"}}, separators=(",", ":")),
    json.dumps(TRUE | {"more": 1}, separators=(",", ":")),
    "[]",
    "no JSON",
    "é",
)


@pytest.mark.parametrize("text", NO_LIST_AT_ALL, ids=range(len(NO_LIST_AT_ALL)))
def test_a_signed_text_that_is_no_list_is_refused(text: str) -> None:
    """Even where the key signed it: there is one way to write a list."""
    with pytest.raises(CardError, match=NO_LIST):
        read_recalls(published(text), RING)


def test_a_list_of_after_the_retirement_of_its_key_is_refused() -> None:
    """A retired key may not take cards back either."""
    text = sign_recalls(LIST, signer())
    assert read_recalls(text, KeyRing.of([key(retired=LATER)])) == LIST
    with pytest.raises(CardError, match=NO_LIST):
        read_recalls(text, KeyRing.of([key(retired=LATER - timedelta(seconds=1))]))


@given(st.text(max_size=60) | st.text('{}[]",:0123456789abcdefkeylistsignature', max_size=60))
def test_any_text_is_refused(text: str) -> None:
    """Nothing but a CardError comes out of it."""
    with pytest.raises(CardError, match=NO_LIST):
        read_recalls(text, RING)


JSON: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["cards", "card", "keys", "key", "made", "what", "at", "by", "list"]),
            inner,
            max_size=4,
        )
    ),
)


@given(JSON)
def test_any_signed_json_is_refused(told: Any) -> None:
    """Whatever a known key may have signed, nothing but a list is one."""
    with pytest.raises(CardError, match=NO_LIST):
        read_recalls(published(json.dumps(told, separators=(",", ":"))), RING)


@given(JSON)
def test_any_json_is_refused(told: Any) -> None:
    """The same without a signature."""
    with pytest.raises(CardError, match=NO_LIST):
        read_recalls(json.dumps(told, separators=(",", ":")), RING)
