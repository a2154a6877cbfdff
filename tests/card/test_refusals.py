"""What no card can say, and what is not a card: a CardError by the field's name, nothing else."""

import dataclasses
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import Card, CardHead, card_of, decode, digits, encode, head
from quickcheck.card.code import LARGEST
from quickcheck.card.payload import SEAL_BYTES
from quickcheck.engine import Answer, compile_model, judge
from quickcheck.errors import CardError
from quickcheck.reference import DISCLOSURES, read_reference_text
from quickcheck.reference.records import Access
from tests.bench.card_bench import document_of, reference_of
from tests.card.kit import (
    FULL,
    ISSUED,
    PLAIN,
    TOML,
    card_for,
    changed,
    full,
    loom,
    sheet_of,
)

Doc = dict[str, Any]


@pytest.mark.parametrize(
    ("extra", "message"),
    [
        ({"interest": "curious"}, r"^interest: expected one of 3 choices: selling, "),
        ({"number": 0}, r"^number: expected a number from 1; got \"0\""),
        ({"number": 4096}, r"^number: expected a whole number from 0 to 4095; got \"4096\""),
        ({"issued": datetime(2026, 4, 11)}, r"^issued: expected a time with its zone"),  # noqa: DTZ001
        (
            {"issued": datetime(2019, 12, 31, tzinfo=UTC)},
            r"^issued: expected a whole number from 0",
        ),
        ({"issued": datetime(2200, 1, 1, tzinfo=UTC)}, r"^issued: expected a whole number from 0"),
    ],
)
def test_what_the_issuer_says_is_checked(extra: Doc, message: str) -> None:
    """Interest, number and time outside their range are refused by name."""
    with pytest.raises(CardError, match=message):
        card_for(PLAIN, **extra)


@pytest.mark.parametrize(
    ("extra", "message"),
    [
        ({"serial_text": "N° 7"}, r"^serial_text: expected at most 16 letters A-Z, digits"),
        ({"serial_text": "12345678901234567"}, r"^serial_text: expected at most 16 letters"),
        (
            {"marks": [{"place": "moon", "kind": "dent"}]},
            r"^marks\.place: expected one of \d+ choices",
        ),
        (
            {"marks": [{"place": "heel", "kind": "kiss"}]},
            r"^marks\.kind: expected one of \d+ choices",
        ),
        (
            {"marks": [{"place": "heel", "kind": "dent", "mm": 1024}]},
            r"^marks\.mm: expected a whole",
        ),
        ({"marks": [{"place": "heel", "kind": "dent"}] * 3}, r"^marks: expected at most 2 marks"),
    ],
)
def test_what_stands_round_the_answers_is_checked(extra: Doc, message: str) -> None:
    """A serial, a mark or a size that has no code is refused when the card is made."""
    with pytest.raises(CardError, match=message):
        card_for(PLAIN | extra)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"rules": 0}, r"^rules: expected a revision from 1"),
        ({"rules": 256}, r"^rules: expected a whole number from 0 to 255"),
        ({"reference": b"short"}, r"^reference: expected 8 bytes"),
        ({"claimed": (23000, 22999)}, r"^claimed: expected two months from 1800-01"),
        ({"reads_as": (0, 22999)}, r"^reads_as: expected two months from 1800-01"),
        ({"verdict": "fine"}, r"^verdict: expected one of 5 choices"),
        ({"found": 256}, r"^found: expected a whole number from 0 to 255"),
        (
            {"disclosures": ("polite",)},
            r"^disclosures: expected one of refinish, .* got \"polite\"",
        ),
        ({"sealed": True}, r"^sealed: expected an unsealed card; got a sealed one"),
    ],
)
def test_a_card_made_by_hand_is_checked_too(fields: Doc, message: str) -> None:
    """Whatever is put in a front, it is either encoded or refused by the field's name."""
    with pytest.raises(CardError, match=message):
        encode(changed(**fields))


def test_all_faults_of_a_front_are_told_at_once() -> None:
    """Two wrong fields are two faults."""
    with pytest.raises(CardError) as caught:
        changed(number=0, rules=0)
    assert [fault.where for fault in caught.value.faults] == ["rules", "number"]


def test_a_reference_with_too_many_points_has_no_card() -> None:
    """When the answers leave no room for a seal, the card says so instead of printing too fine."""
    top = TOML.split("[[point]]")[0]
    pot = (
        '[[point]]\nid = "pot-{}"\narea = "electrics"\nkind = "datecode"\nscheme = "source-week"\n'
    )
    many = "".join(pot.format(n) + 'ask = "?"\nsource = ["ledger"]\n' for n in range(60))
    answers = {f"pot-{n}": Answer(read="137-66-34") for n in range(60)}
    card = Card(full().head, answers, read_reference_text(top + many))
    with pytest.raises(
        CardError, match=f"at most {LARGEST - SEAL_BYTES} bytes, so that a seal fits"
    ):
        encode(card)


def test_the_fullest_card_of_25_points_has_room_for_a_seal() -> None:
    """All unsure, all with a state, the longest serial, all disclosures: 182 bytes with a seal."""
    document = document_of(reference_of(25), "NW-1953/04-1388B")
    for answer in document["answers"].values():
        answer |= {"sure": False, "state": "no-sign"}
    reference = reference_of(25)
    card = card_for(document | {"disclosures": [*DISCLOSURES]}, reference)
    assert decode(encode(card), reference) == card
    assert len(encode(card)) + SEAL_BYTES <= 182


# What is not a card


def test_the_front_needs_no_reference() -> None:
    """Everything but the answers is read from the bytes alone."""
    assert head(encode(full())) == full().head
    assert full().head.format == 1


def test_a_sealed_front_is_read_but_the_card_is_not() -> None:
    """The room for a seal is there: its bit is told, and this release reads no seals."""
    data = bytearray(encode(full()))
    data[0] |= 1
    assert head(bytes(data)).sealed
    with pytest.raises(CardError, match="This release reads no seals"):
        decode(bytes(data), loom())


def test_another_edition_is_refused() -> None:
    """A card is read with the edition it was made with, and no other."""
    other = read_reference_text(TOML.replace("2026-04", "2026-05"))
    with pytest.raises(CardError, match=f"^reference: expected the edition {loom().hash[:16]}"):
        decode(encode(full()), other)


@pytest.mark.parametrize("data", [b"", b"\x00", b"\x20" * 90, b"\xff" * 90])
def test_another_format_is_refused_first(data: bytes) -> None:
    """No other format is guessed at."""
    with pytest.raises(CardError, match=r"^format: expected (1|4 more bits); got"):
        head(data)


@pytest.mark.parametrize("extra", [b"\x00", b"\x01", b"\x00" * 68])
def test_bytes_after_the_end_are_refused(extra: bytes) -> None:
    """A card has one length: filling it up makes it another text."""
    with pytest.raises(CardError, match=r"^card: expected bytes as this software writes them"):
        decode(encode(full()) + extra, loom())


def test_every_shorter_card_is_refused() -> None:
    """Cut anywhere, the bytes are no card."""
    data = encode(full())
    for length in range(len(data)):
        with pytest.raises(CardError):
            decode(data[:length], loom())


def is_refused_or_canonical(data: bytes) -> bool:
    """Tell whether these bytes were refused; if not, they are the only bytes of their card."""
    try:
        front = head(data)
    except CardError:
        front = None
    try:
        card = decode(data, loom())
    except CardError:
        return True
    assert card.head == front
    assert encode(card) == data
    assert sheet_of(card.document()).answers == card.answers
    return False


def flipped(data: bytes, bit: int) -> bytes:
    return (int.from_bytes(data, "big") ^ 1 << bit).to_bytes(len(data), "big")


def test_a_flipped_bit_is_refused_or_makes_another_card() -> None:
    """After any single flip the bytes are refused, or they are a card's one encoding."""
    data = encode(full())
    kept = [bit for bit in range(8 * len(data)) if not is_refused_or_canonical(flipped(data, bit))]
    assert 0 < len(kept) < 8 * len(data)
    texts = {digits(flipped(data, bit)) for bit in kept}
    assert len(texts | {digits(data)}) == len(kept) + 1


@given(st.binary(max_size=LARGEST))
def test_any_bytes_are_refused_or_canonical(data: bytes) -> None:
    """Nothing but a CardError comes out of bytes that are no card."""
    is_refused_or_canonical(data)


@given(st.data())
def test_bytes_like_a_card_are_refused_or_canonical(data: st.DataObject) -> None:
    """The same with a true beginning, so that the rest of the reader is reached."""
    true = encode(full())
    start = data.draw(st.integers(10, len(true)))
    is_refused_or_canonical(true[:start] + data.draw(st.binary(max_size=60)))


ANSWERS = st.dictionaries(
    st.sampled_from([point.id for point in loom().points]),
    st.builds(
        Answer,
        seen=st.lists(st.sampled_from(["wood", "even", "other", "x"]), max_size=2).map(tuple),
        value=st.none() | st.floats(allow_nan=False, allow_infinity=False),
        read=st.none() | st.text(max_size=20),
        sure=st.booleans(),
        state=st.sampled_from([None, "changed", "signs", "x"]),
        not_seen=st.sampled_from([None, "no-tool", "x"]),
        where=st.lists(st.sampled_from(["back", "x"])).map(tuple),
    ),
)


@given(ANSWERS)
def test_encode_raises_nothing_else(answers: dict[str, Answer]) -> None:
    """Answers that no sheet would hold are encoded or refused, never a crash."""
    try:
        data = encode(Card(full().head, answers, loom()))
    except CardError:
        return
    assert encode(decode(data, loom())) == data


def test_the_card_is_made_of_the_sheet() -> None:
    """A claim judged for another window stands on the card with that window."""
    sheet = dataclasses.replace(sheet_of(FULL), access=Access.LOOK)
    verdict = judge(compile_model(loom()), sheet)
    card = card_of(sheet, verdict, issued=ISSUED, interest="none")
    assert isinstance(card.head, CardHead)
    assert (card.head.number, card.head.access) == (1, Access.LOOK)
