"""Cards as bytes: the layout by hand, and nothing but CardError on anything else."""

import dataclasses
import functools
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card import Card, CardHead, card_of, decode, digits, encode, head
from quickcheck.card.code import LARGEST
from quickcheck.card.payload import SEAL_BYTES
from quickcheck.engine import Answer, Mark, compile_model, judge
from quickcheck.errors import CardError
from quickcheck.reference import DISCLOSURES, read_reference_text
from quickcheck.reference.records import Access
from tests.bench.card_bench import document_of, reference_of
from tests.card.kit import FULL, ISSUED, PLAIN, TOML, card_for, loom, sheet_of, with_answers

Doc = dict[str, Any]


@functools.cache
def full() -> Card:
    return card_for(FULL, number=3)


def changed(**fields: Any) -> Card:
    return dataclasses.replace(full(), head=dataclasses.replace(full().head, **fields))


def back(document: Doc) -> Doc:
    """Return the answers of a document once they went through a card."""
    card = card_for(document)
    again = decode(encode(card), loom())
    assert again == card
    return again.document()["answers"]  # type: ignore[return-value]


# The layout, written out by hand


def bits(number: int, width: int) -> str:
    return format(number, f"0{width}b")


def by_hand() -> str:
    """Return the bits of `full()` from the table in the room's README, without its code."""
    months = [12 * 153 + 2, 12 * 153 + 4]  # March and May 1953, from January 1800
    reads_as = [month - 12 * 1800 for month in full().head.reads_as]
    minutes = (6 * 365 + 2 + 31 + 28 + 31 + 10) * 1440 + 10 * 60 + 3  # 2020 and 2024 have 366 days
    six_bits = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ -./?"
    refinish = list(DISCLOSURES).index("refinish")
    wear = list(DISCLOSURES).index("player-wear")
    told = ["0"] * (8 * (wear // 8 + 1))
    told[refinish] = told[wear] = "1"
    step = round((0.95 * 25.4 - 10) / 20 * 4095)
    front = [
        bits(1, 4) + bits(0, 4) + bits(full().head.rules, 8),
        bits(int(loom().hash[:16], 16), 64),
        "".join(bits(month, 12) for month in [*months, *reads_as]),
        bits(3, 3),  # too little seen
        bits(full().head.found, 8) + bits(full().head.declared, 8),
        bits(3, 12) + bits(minutes, 26),
        bits(0, 2) + "1" + bits(2, 2),  # selling it, "nothing changed", opened
        "1" + bits(5, 5) + "".join(bits(six_bits.index(sign), 6) for sign in "A 641"),
        bits(2, 2),
        bits(8, 6) + bits(0, 5) + bits(6, 10),  # a burn of 6 mm at the ninth fret
        bits(54, 6) + bits(6, 5) + bits(0, 10),  # holes under the tag, not measured
        bits(len(told) // 8, 4) + "".join(told),
    ]
    slots = [
        bits(2, 2) + "0" + bits(3, 3) + bits(0, 2),  # wood, no sign of change
        bits(3, 2) + bits(0, 3),  # changed, nothing else
        bits(1, 2) + bits(step, 12),
        bits(1, 2) + "1",  # the serial on the front
        bits(2, 2)
        + "1"
        + bits(0, 3)
        + "0"
        + "".join(bits(n, 4) for n in [1, 3, 7, 10, 6, 6, 3, 4, 15]),
        bits(1, 2) + "1010" + "1" + "101000",  # overspray and none seen; front and back
        bits(3, 2) + bits(3, 3),  # no tool
    ]
    return "".join(front + slots)


def test_the_bits_are_those_of_the_table() -> None:
    """A card written out by hand from the table has the bits that `encode` gives."""
    hand = by_hand()
    hand += "0" * (-len(hand) % 8)
    assert encode(full()) == int(hand, 2).to_bytes(len(hand) // 8, "big")


# There and back


def test_a_card_comes_back() -> None:
    """Every field and every answer of a full card is read back."""
    assert decode(encode(full()), loom()) == full()
    assert full().document() == {
        "reference": "loom-one",
        "window": ["1953-03", "1953-05"],
        "claim": {"nothing_changed": True},
        "access": "open",
        "serial_text": "A 641",
        "marks": [
            {"place": "board-9", "kind": "burn", "mm": 6.0},
            {"place": "tag", "kind": "holes", "mm": 0.0},
        ],
        "disclosures": ["refinish", "player-wear"],
        "answers": {
            "knobs": {"seen": "wood", "sure": True, "state": "no-sign"},
            "nut": {"state": "changed"},
            "depth": {"value": pytest.approx(24.13, abs=20 / 4095 / 2), "sure": True},
            "serial": {"read": "A 641", "sure": True},
            "pot": {"read": "137-6634", "sure": False},
            "signs": {"seen": ["overspray", "none"], "sure": True, "where": ["front", "back"]},
            "glow": {"not_seen": "no-tool"},
        },
    }


@pytest.mark.parametrize("reason", ["not-allowed", "not-visible", "no-tool", "no-time"])
def test_a_reason_for_not_seeing_comes_back(reason: str) -> None:
    """Why a point was not seen is told again."""
    assert back(with_answers(pot={"not_seen": reason})) == {"pot": {"not_seen": reason}}


@pytest.mark.parametrize("state", ["changed", "signs", "no-sign", "undisturbed"])
@pytest.mark.parametrize("sure", [True, False])
@pytest.mark.parametrize("seen", ["wood", "black", "cream", "other"])
def test_every_state_of_a_pick_comes_back(state: str, sure: bool, seen: str) -> None:
    """Variant, doubt and state are kept in every combination."""
    answer = {"seen": seen, "state": state, "sure": sure}
    assert back(with_answers(knobs=answer)) == {"knobs": answer}


@pytest.mark.parametrize("read", ["641", "1388", "b 641", "Z9999"])
def test_a_serial_read_apart_from_the_front_comes_back(read: str) -> None:
    """The number read at its point may differ from the serial on the front, small letters too."""
    assert back(with_answers(serial={"read": read})) == {"serial": {"read": read, "sure": True}}


@pytest.mark.parametrize(
    ("typed", "carried"),
    [
        ("137  66 34", "137 66 34"),
        ("x37-634", "X37-634"),
        ("13?634", "13?634"),
        ("1376634", "1376634"),
    ],
)
def test_a_date_code_keeps_its_signs(typed: str, carried: str) -> None:
    """Signs between the digits decide what a code can mean, so they are carried."""
    answers = back(with_answers(pot={"read": typed}))
    assert answers == {"pot": {"read": carried, "sure": True}}
    assert sheet_of(with_answers(pot={"read": typed})).answers["pot"].months == (
        sheet_of(with_answers(**answers)).answers["pot"].months
    )


def test_an_unsure_sign_with_one_tick_comes_back() -> None:
    """A point that takes one tick gives it back as one, with its place where it has one."""
    answer = {"seen": "patchy", "sure": False, "where": ["headstock"]}
    assert back(with_answers(glow=answer)) == {"glow": answer}
    assert back(with_answers(glow={"seen": "even"})) == {"glow": {"seen": "even", "sure": True}}


def test_doubt_about_nothing_is_dropped() -> None:
    """What is neither an answer nor a reason is not on the card: a note, a doubt, a place."""
    document = with_answers(
        knobs={"note": "look again"},
        nut={"state": "changed", "sure": False, "where": ["front"]},
        depth={"not_seen": "no-tool", "sure": False},
        pot={"read": "137-634", "where": ["open"]},
    )
    assert back(document) == {
        "nut": {"state": "changed"},
        "depth": {"not_seen": "no-tool"},
        "pot": {"read": "137-634", "sure": True},
    }


def test_the_time_is_cut_to_the_minute_and_kept_in_any_zone() -> None:
    """Seconds go; the same instant in two zones is one card."""
    zone = timezone(timedelta(hours=2))
    card = card_for(PLAIN, issued=datetime(2026, 4, 11, 12, 3, 59, 7, tzinfo=zone))
    assert encode(card) == encode(card_for(PLAIN, issued=ISSUED))
    assert decode(encode(card), loom()) == card


def test_blanks_round_the_serial_are_dropped_and_marks_are_whole_millimetres() -> None:
    """The front holds a tidy serial, and sizes to the millimetre."""
    card = card_for(
        PLAIN
        | {"serial_text": "  A \t 641 ", "marks": [{"place": "heel", "kind": "dent", "mm": 6.6}]}
    )
    assert card.head.serial_text == "A 641"
    assert card.head.marks == (Mark("heel", "dent", 7.0),)
    assert decode(encode(card), loom()) == card


@pytest.mark.parametrize("term", [*DISCLOSURES])
def test_every_disclosure_comes_back(term: str) -> None:
    """Each term of the table has its bit, whichever block it is in."""
    card = card_for(PLAIN | {"disclosures": [term, term]})
    assert decode(encode(card), loom()).head.disclosures == (term,)


# What no card can say


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
