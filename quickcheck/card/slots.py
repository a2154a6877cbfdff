"""The back of a card: what was answered at each point, one slot a point, in file order.

A slot opens with two bits that say what follows, because most points are either not looked at or
seen with nothing to add. Widths come from the reference, whose hash the front carries: a point of
three variants needs 2 bits for them and "other", not 5.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import IntEnum
from types import MappingProxyType
from typing import Final, cast

from quickcheck.card.bits import BitReader, BitWriter, width_for
from quickcheck.card.vocabulary import NOT_SEEN, SIGN_PLACES, STATES
from quickcheck.engine import Answer, measure_step, measure_value
from quickcheck.reference.records import OTHER, Kind, Point, Reference


class Opening(IntEnum):
    """The first two bits of a slot."""

    NOT_LOOKED_AT = 0
    SURE = 1  # the answer follows
    MORE = 2  # unsure (1 bit) and state (3 bits) stand before the answer
    NO_ANSWER = 3  # why not, in 3 bits


OPENING_BITS: Final = 2
UNSURE_BITS: Final = 1
STATE_BITS: Final = 3
REASON_BITS: Final = 3
MEASURE_BITS: Final = 12
REASONS: Final = ("changed", *NOT_SEEN)
"""A point without an answer: seen to be changed and nothing else, or why it was not seen."""


def carried(point: Point, answer: Answer) -> Answer:
    """Return what a card carries of a checked answer.

    Measures come in 4096 steps, date codes in capitals with single blanks, ticks in file order;
    notes are left behind, and places except those of signs. None of this enters the verdict.
    """
    return replace(
        answer,
        seen=tuple(one for one in _choices(point) if one in answer.seen),
        value=answer.value if answer.value is None else _stepped(point, answer.value),
        read=_tidy(answer.read) if answer.read and point.kind is Kind.DATECODE else answer.read,
        sure=answer.sure or not answer.has_reading,
        note="",
        where=tuple(p for p in SIGN_PLACES if p in answer.where)
        if _has_where(answer, point)
        else (),
    )


def _has_where(answer: Answer, point: Point) -> bool:
    return point.kind is Kind.SIGN and answer.has_reading


def _stepped(point: Point, value: float) -> float:
    return measure_value(point, measure_step(point, value))


def _tidy(text: str) -> str:
    return " ".join(text.upper().split())


def answer_document(answer: Answer) -> dict[str, object]:
    """Return an answer as it stands in an answers document, values in the point's own unit."""
    fields: dict[str, object] = {"sure": answer.sure} if answer.has_reading else {}
    if answer.seen:
        fields["seen"] = answer.seen[0] if len(answer.seen) == 1 else list(answer.seen)
    optional = {
        "value": answer.value,
        "read": answer.read,
        "state": answer.state,
        "not_seen": answer.not_seen,
        "where": list(answer.where) or None,
    }
    return fields | {key: value for key, value in optional.items() if value is not None}


@dataclass(frozen=True, slots=True)
class _Slot:
    """Where an answer goes: its point, and the serial on the front, which it may repeat."""

    point: Point
    serial_text: str

    @property
    def where(self) -> str:
        return self.point.id

    @property
    def choices(self) -> tuple[str, ...]:
        return _choices(self.point)


def write_slots(
    reference: Reference, answers: Mapping[str, Answer], bits: BitWriter, *, serial_text: str
) -> None:
    """Write a slot for each point."""
    for point in reference.points:
        answer = answers.get(point.id)
        if answer is None:
            bits.put(Opening.NOT_LOOKED_AT, OPENING_BITS, where=point.id)
        elif not answer.has_reading:
            bits.put(Opening.NO_ANSWER, OPENING_BITS, where=point.id)
            reason = answer.not_seen or answer.state
            bits.put_choice(reason, REASONS, REASON_BITS, where=point.id)
        else:
            _write_opening(answer, bits, where=point.id)
            _WAYS[point.kind].write(_Slot(point, serial_text), answer, bits)


def read_slots(reference: Reference, bits: BitReader, *, serial_text: str) -> dict[str, Answer]:
    """Read the slots back; what an answer means is left to whoever checks the document."""
    slots = {point.id: _read_one(_Slot(point, serial_text), bits) for point in reference.points}
    return {point_id: answer for point_id, answer in slots.items() if answer}


def _read_one(slot: _Slot, bits: BitReader) -> Answer | None:
    opening = Opening(bits.take(OPENING_BITS, where=slot.where))
    if opening is Opening.NOT_LOOKED_AT:
        return None
    if opening is Opening.NO_ANSWER:
        reason = bits.take_choice(REASONS, REASON_BITS, where=slot.where)
        return Answer(state=reason) if reason in STATES else Answer(not_seen=reason)
    unsure, state = 0, None
    if opening is Opening.MORE:
        unsure = bits.take(UNSURE_BITS, where=slot.where)
        state = bits.take_choice(STATES, STATE_BITS, where=slot.where)
    answer = _WAYS[slot.point.kind].read(slot, bits)
    return replace(answer, sure=not unsure, state=state)


def _write_opening(answer: Answer, bits: BitWriter, *, where: str) -> None:
    if answer.sure and answer.state is None:
        bits.put(Opening.SURE, OPENING_BITS, where=where)
        return
    bits.put(Opening.MORE, OPENING_BITS, where=where)
    bits.put(int(not answer.sure), UNSURE_BITS, where=where)
    bits.put_choice(answer.state, STATES, STATE_BITS, where=where)


def _choices(point: Point) -> tuple[str, ...]:
    return (*(variant.id for variant in point.seen), OTHER)


def _write_pick(slot: _Slot, answer: Answer, bits: BitWriter) -> None:
    bits.put_choice(answer.seen[0], slot.choices, width_for(len(slot.choices)), where=slot.where)


def _read_pick(slot: _Slot, bits: BitReader) -> Answer:
    width = width_for(len(slot.choices))
    return Answer(seen=(bits.take_choice(slot.choices, width, where=slot.where),))


def _write_sign(slot: _Slot, answer: Answer, bits: BitWriter) -> None:
    if slot.point.many:
        bits.put_flags([one in answer.seen for one in slot.choices], where=slot.where)
    else:
        _write_pick(slot, answer, bits)
    bits.put_flags([bool(answer.where)], where=slot.where)
    if answer.where:
        bits.put_flags([place in answer.where for place in SIGN_PLACES], where=slot.where)


def _read_sign(slot: _Slot, bits: BitReader) -> Answer:
    many = slot.point.many
    seen = _ticked(slot.choices, bits, where=slot.where) if many else _read_pick(slot, bits).seen
    told = bits.take(1, where=slot.where)
    return Answer(seen=seen, where=_ticked(SIGN_PLACES, bits, where=slot.where) if told else ())


def _ticked(choices: tuple[str, ...], bits: BitReader, *, where: str) -> tuple[str, ...]:
    flags = bits.take_flags(len(choices), where=where)
    return tuple(one for one, ticked in zip(choices, flags, strict=True) if ticked)


def _write_measure(slot: _Slot, answer: Answer, bits: BitWriter) -> None:
    step = measure_step(slot.point, cast(float, answer.value))
    bits.put(step, MEASURE_BITS, where=slot.where)


def _read_measure(slot: _Slot, bits: BitReader) -> Answer:
    return Answer(value=measure_value(slot.point, bits.take(MEASURE_BITS, where=slot.where)))


def _write_serial(slot: _Slot, answer: Answer, bits: BitWriter) -> None:
    same = answer.read == slot.serial_text
    bits.put_flags([same], where=slot.where)
    if not same:
        _write_code(slot, answer, bits)


def _read_serial(slot: _Slot, bits: BitReader) -> Answer:
    if bits.take(1, where=slot.where):
        return Answer(read=slot.serial_text)
    return _read_code(slot, bits)


def _write_code(slot: _Slot, answer: Answer, bits: BitWriter) -> None:
    bits.put_text(cast(str, answer.read), where=slot.where)


def _read_code(slot: _Slot, bits: BitReader) -> Answer:
    return Answer(read=bits.take_text(where=slot.where))


@dataclass(frozen=True, slots=True)
class _Way:
    """How the answers of one kind of point are written and read."""

    write: Callable[[_Slot, Answer, BitWriter], None]
    read: Callable[[_Slot, BitReader], Answer]


_WAYS: Final[Mapping[Kind, _Way]] = MappingProxyType(
    {
        Kind.PICK: _Way(_write_pick, _read_pick),
        Kind.SIGN: _Way(_write_sign, _read_sign),
        Kind.MEASURE: _Way(_write_measure, _read_measure),
        Kind.SERIAL: _Way(_write_serial, _read_serial),
        Kind.DATECODE: _Way(_write_code, _read_code),
    }
)
