"""Cards as bytes: the layout by hand, and everything there and back."""

from datetime import datetime, timedelta, timezone
from typing import Any

import pytest

from quickcheck.card import decode, encode
from quickcheck.engine import Mark
from quickcheck.reference import DISCLOSURES
from tests.card.kit import ISSUED, PLAIN, card_for, full, loom, sheet_of, with_answers

Doc = dict[str, Any]


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
