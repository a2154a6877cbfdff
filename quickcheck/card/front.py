"""The front of a card: everything that can be read without the reference it was made with.

Where that edition is missing a page can still show the verdict, the months, the serial and the
marks. The back, one slot a point, is in `quickcheck.card.slots`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import ClassVar, Final

from quickcheck.card.bits import BitReader, BitWriter, choice, number_of, unreadable
from quickcheck.card.vocabulary import (
    ACCESS,
    INTERESTS,
    MARK_KINDS,
    MARK_PLACES,
    MOST_MARKS,
    VERDICTS,
)
from quickcheck.engine import Mark
from quickcheck.errors import CardError, Fault, shown
from quickcheck.readings.months import FIRST, LAST, month_text
from quickcheck.reference.disclosures import DISCLOSURES
from quickcheck.reference.records import Access

FORMAT: Final = 1
EPOCH: Final = datetime(2020, 1, 1, tzinfo=UTC)
_MINUTE: Final = timedelta(minutes=1)

WIDTHS: Final[Mapping[str, int]] = MappingProxyType(
    {
        "format": 4,
        "sealed": 4,
        "rules": 8,
        "reference": 64,
        "claimed from": 12,
        "claimed to": 12,
        "reads as from": 12,
        "reads as to": 12,
        "verdict": 3,
        "found": 8,
        "declared": 8,
        "number": 12,
        "issued": 26,
        "interest": 2,
        "nothing changed": 1,
        "access": 2,
    }
)
"""The fields of fixed width, in order, and their bits."""

_MARK_COUNT_BITS: Final = 2
_PLACE_BITS: Final = 6
_KIND_BITS: Final = 5
_MM_BITS: Final = 10
_BLOCK_COUNT_BITS: Final = 4
_BLOCK: Final = 8


@dataclass(frozen=True, slots=True)
class CardHead:
    """What the front of a card says. Months are numbers, ``issued`` is in whole minutes.

    ``reads_as`` is the first and the last month of all runs; ``found`` and ``declared`` are
    counts; ``number`` counts the cards that this issuer made for this serial, from 1.
    """

    format: ClassVar[int] = FORMAT
    rules: int
    reference: bytes  # the first 8 bytes of the reference's hash
    claimed: tuple[int, int]
    reads_as: tuple[int, int]
    verdict: str
    found: int
    declared: int
    number: int
    issued: datetime
    interest: str
    nothing_changed: bool
    access: Access
    serial_text: str
    marks: tuple[Mark, ...]
    disclosures: tuple[str, ...]  # in the order of their table
    sealed: bool = False

    def __post_init__(self) -> None:
        checks = (
            ("rules", self.rules > 0, "a revision from 1"),
            ("reference", len(self.reference) == 8, "8 bytes"),
            ("claimed", _is_run(self.claimed), _A_RUN),
            ("reads_as", _is_run(self.reads_as), _A_RUN),
            ("number", self.number > 0, "a number from 1"),
            ("issued", _is_whole_minute(self.issued), "a time with its zone, in whole minutes"),
            ("serial_text", _is_tidy(self.serial_text), "single blanks, none around it"),
            ("marks", len(self.marks) <= MOST_MARKS, f"at most {MOST_MARKS} marks"),
        )
        faults = [
            Fault(where, expected, shown(getattr(self, where)), "No card can say this: correct it.")
            for where, holds, expected in checks
            if not holds
        ]
        if faults:
            raise CardError(*faults)

    def document(self) -> dict[str, object]:
        """Return the top of an answers document: all but "reference" and "answers"."""
        return {
            "window": [month_text(month) for month in self.claimed],
            "claim": {"nothing_changed": self.nothing_changed},
            "access": str(self.access),
            "serial_text": self.serial_text,
            "marks": [{"place": m.place, "kind": m.kind, "mm": m.mm} for m in self.marks],
            "disclosures": list(self.disclosures),
        }


_A_RUN: Final = "two months from 1800-01 to 2100-12, in order"


def _is_run(months: tuple[int, int]) -> bool:
    return FIRST <= months[0] <= months[1] <= LAST


def _is_whole_minute(time: datetime) -> bool:
    return time.utcoffset() is not None and not (time.second or time.microsecond)


def _is_tidy(text: str) -> bool:
    return text == " ".join(text.split())


def write_front(head: CardHead, bits: BitWriter) -> None:
    """Write the front."""
    numbers = _numbers(head)
    for field, width in WIDTHS.items():
        bits.put(numbers[field], width, where=field)
    bits.put_text(head.serial_text, where="serial_text")
    bits.put(len(head.marks), _MARK_COUNT_BITS, where="marks")
    for mark in head.marks:
        bits.put_choice(mark.place, tuple(MARK_PLACES), _PLACE_BITS, where="marks.place")
        bits.put_choice(mark.kind, tuple(MARK_KINDS), _KIND_BITS, where="marks.kind")
        bits.put(round(mark.mm), _MM_BITS, where="marks.mm")
    _write_disclosures(head.disclosures, bits)


def read_front(bits: BitReader) -> CardHead:
    """Read the front."""
    numbers = {"format": bits.take(WIDTHS["format"], where="format")}
    if numbers["format"] != FORMAT:
        raise unreadable("format", expected=f"{FORMAT}", came=f"{numbers['format']}")
    for field, width in tuple(WIDTHS.items())[1:]:
        numbers[field] = bits.take(width, where=field)
    return CardHead(
        rules=numbers["rules"],
        reference=numbers["reference"].to_bytes(8, "big"),
        claimed=(FIRST + numbers["claimed from"], FIRST + numbers["claimed to"]),
        reads_as=(FIRST + numbers["reads as from"], FIRST + numbers["reads as to"]),
        verdict=choice(VERDICTS, numbers["verdict"], where="verdict"),
        found=numbers["found"],
        declared=numbers["declared"],
        number=numbers["number"],
        issued=EPOCH + numbers["issued"] * _MINUTE,
        interest=choice(tuple(INTERESTS), numbers["interest"], where="interest"),
        nothing_changed=bool(numbers["nothing changed"]),
        access=Access(choice(ACCESS, numbers["access"], where="access")),
        sealed=choice((False, True), numbers["sealed"], where="sealed"),
        serial_text=bits.take_text(where="serial_text"),
        marks=_read_marks(bits),
        disclosures=_read_disclosures(bits),
    )


def _numbers(head: CardHead) -> Mapping[str, int]:
    """Return each field of fixed width as its number."""
    return {
        "format": head.format,
        "sealed": int(head.sealed),
        "rules": head.rules,
        "reference": int.from_bytes(head.reference, "big"),
        "claimed from": head.claimed[0] - FIRST,
        "claimed to": head.claimed[1] - FIRST,
        "reads as from": head.reads_as[0] - FIRST,
        "reads as to": head.reads_as[1] - FIRST,
        "verdict": number_of(head.verdict, VERDICTS, where="verdict"),
        "found": head.found,
        "declared": head.declared,
        "number": head.number,
        "issued": (head.issued - EPOCH) // _MINUTE,
        "interest": number_of(head.interest, tuple(INTERESTS), where="interest"),
        "nothing changed": int(head.nothing_changed),
        "access": ACCESS.index(head.access),
    }


def _read_marks(bits: BitReader) -> tuple[Mark, ...]:
    count = bits.take(_MARK_COUNT_BITS, where="marks")
    return tuple(
        Mark(
            place=bits.take_choice(tuple(MARK_PLACES), _PLACE_BITS, where="marks.place"),
            kind=bits.take_choice(tuple(MARK_KINDS), _KIND_BITS, where="marks.kind"),
            mm=float(bits.take(_MM_BITS, where="marks.mm")),
        )
        for _ in range(count)
    )


def _write_disclosures(ids: tuple[str, ...], bits: BitWriter) -> None:
    """Write a bit set in blocks of 8, as many as the last one told of needs: terms can be added."""
    rows = {number_of(term, tuple(DISCLOSURES), where="disclosures") for term in ids}
    blocks = max(rows, default=-1) // _BLOCK + 1
    bits.put(blocks, _BLOCK_COUNT_BITS, where="disclosures")
    for row in range(blocks * _BLOCK):
        bits.put(int(row in rows), 1, where="disclosures")


def _read_disclosures(bits: BitReader) -> tuple[str, ...]:
    blocks = bits.take(_BLOCK_COUNT_BITS, where="disclosures")
    flags = bits.take_flags(blocks * _BLOCK, where="disclosures")
    rows = (row for row, told in enumerate(flags) if told)
    return tuple(choice(tuple(DISCLOSURES), row, where="disclosures") for row in rows)
