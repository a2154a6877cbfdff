"""A card as bytes and back: one encoding each, and nothing read that would not be written.

The front (`front`) needs no reference, the back (`slots`) does. A seal is not part of this format
yet, but there is room: the second field says "sealed", and a key id and a signature would follow
the padded body without a bit of it changing place.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from quickcheck.card.bits import BitReader, BitWriter, unreadable
from quickcheck.card.code import LARGEST
from quickcheck.card.front import CardHead, read_front, write_front
from quickcheck.card.slots import answer_document, carried, read_slots, write_slots
from quickcheck.engine import Answer, Sheet, Verdict, read_sheet
from quickcheck.errors import AnswerError, CardError, Fault
from quickcheck.reference.disclosures import DISCLOSURES
from quickcheck.reference.records import Reference

SEAL_BYTES: Final = 4 + 64
"""Key id and Ed25519 signature (RFC 8032): room that an unsealed card must leave."""
_PREFIX: Final = 8  # bytes of the reference's hash


@dataclass(frozen=True)
class Card:
    """What the code carries: the front, and the answers in the terms of its reference.

    Whatever answers it is made with are checked as if they had been typed, and kept as a card
    carries them (`carried`); CardError where no sheet would hold them.
    """

    head: CardHead
    answers: Mapping[str, Answer]  # in the reference's order
    reference: Reference = field(repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "answers", self._as_carried())

    def _as_carried(self) -> dict[str, Answer]:
        try:
            sheet = read_sheet(self.reference, self.document())
        except AnswerError as error:
            remedy = "No card says this: scan the code again, or correct the answer."
            faults = (Fault(f.where, f.expected, f.came, remedy) for f in error.faults)
            raise CardError(*faults) from error
        by_id = self.reference.by_id
        return {point_id: carried(by_id[point_id], one) for point_id, one in sheet.answers.items()}

    def document(self) -> dict[str, object]:
        """Return an answers document that `read_sheet` accepts and that is judged the same."""
        answers = {
            point_id: answer_document(answer)
            for point_id, answer in self.answers.items()
            if answer.looked or answer.not_seen
        }
        return {"reference": self.reference.id, **self.head.document(), "answers": answers}


def card_of(
    sheet: Sheet, verdict: Verdict, *, issued: datetime, interest: str, number: int = 1
) -> Card:
    """Return the card for a verdict. CardError where the card has no room or no word for something.

    ``issued`` has a time zone and is cut to the minute; ``interest`` is one of `INTERESTS`;
    ``number`` counts this issuer's cards for this serial.
    """
    front = CardHead(
        rules=verdict.rules,
        reference=_prefix(sheet.reference),
        claimed=sheet.claimed,
        reads_as=(verdict.reads_as[0][0], verdict.reads_as[-1][1]),
        verdict=verdict.verdict,
        found=len(verdict.found),
        declared=len(verdict.declared),
        number=number,
        issued=issued.replace(second=0, microsecond=0),
        interest=interest,
        nothing_changed=sheet.nothing_changed,
        access=sheet.access,
        serial_text=" ".join(sheet.serial_text.split()),
        marks=tuple(replace(mark, mm=float(round(mark.mm))) for mark in sheet.marks),
        disclosures=tuple(term for term in DISCLOSURES if term in sheet.disclosures),
    )
    card = Card(front, sheet.answers, sheet.reference)
    encode(card)
    return card


def encode(card: Card) -> bytes:
    """Return the one encoding of a card; CardError where something does not fit."""
    if card.head.sealed:
        raise _seal_fault()
    bits = BitWriter()
    write_front(card.head, bits)
    write_slots(card.reference, card.answers, bits, serial_text=card.head.serial_text)
    data = bits.data()
    if len(data) + SEAL_BYTES > LARGEST:
        raise CardError.of(
            "card",
            expected=f"at most {LARGEST - SEAL_BYTES} bytes, so that a seal fits",
            came=f"{len(data)}",
            remedy="The reference has too many points for one code; keep the answers in the book.",
        )
    return data


def head(data: bytes) -> CardHead:
    """Return the front of a card, which needs no reference; CardError where it is none."""
    bits, again = BitReader(data), BitWriter()
    front = read_front(bits)
    write_front(front, again)
    if BitReader(data).take(again.length, where="card") != again.bits()[0]:
        raise _not_canonical()
    return front


def decode(data: bytes, reference: Reference) -> Card:
    """Return the card of these bytes; CardError unless `encode` would give the same bytes.

    The reference must be the edition that the card names. The answers are checked again as if
    they had been typed.
    """
    bits = BitReader(data)
    front = read_front(bits)
    if front.sealed:
        raise _seal_fault()
    if front.reference != _prefix(reference):
        raise CardError.of(
            "reference",
            expected=f"the edition {front.reference.hex()}",
            came=_prefix(reference).hex(),
            remedy="Open the card with the edition that it was made with.",
        )
    card = Card(front, read_slots(reference, bits, serial_text=front.serial_text), reference)
    if encode(card) != data:
        raise _not_canonical()
    return card


def _prefix(reference: Reference) -> bytes:
    return bytes.fromhex(reference.hash)[:_PREFIX]


def _not_canonical() -> CardError:
    return unreadable("card", expected="bytes as this software writes them", came="others")


def _seal_fault() -> CardError:
    return CardError.of(
        "sealed",
        expected="an unsealed card",
        came="a sealed one",
        remedy="This release reads no seals; use a newer one.",
    )
