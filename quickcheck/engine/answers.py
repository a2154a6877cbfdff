"""One answer, checked against its point, in the point's own terms."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, cast

from quickcheck.engine.constants import NOT_SEEN, RULES, STATES, r9
from quickcheck.engine.fields import (
    Gather,
    digits,
    finite,
    given_of,
    mapping,
    one_of,
    only_known,
    texts,
    typed,
)
from quickcheck.errors import AnswerError, Fault, ReadingError, shown
from quickcheck.readings import (
    SerialPattern,
    convert,
    parse_quantity,
    read_code,
    serial_number,
)
from quickcheck.reference.records import OTHER, Kind, Point

_FIELD: Final[Mapping[Kind, str]] = {
    Kind.PICK: "seen",
    Kind.SIGN: "seen",
    Kind.MEASURE: "value",
    Kind.SERIAL: "read",
    Kind.DATECODE: "read",
}
_KNOWN: Final = (
    *("seen", "value", "unit", "read", "sure", "state"),
    *("not_seen", "note", "where", "photos"),
)
_ENOUGH: Final = ("seen", "value", "read", "state", "not_seen", "note", "photos")
_STATES: Final = tuple(state for state in STATES if state)


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found at one point; `months` and `number` are what a marking read means."""

    seen: tuple[str, ...] = ()
    value: float | None = None  # in the point's unit, before quantising
    read: str | None = None
    sure: bool = True
    state: str | None = None
    not_seen: str | None = None
    note: str = ""
    where: tuple[str, ...] = ()
    months: tuple[int, ...] = ()  # of a date code
    number: int | None = None  # of a serial

    @property
    def has_reading(self) -> bool:
        """Whether something was read off the part itself."""
        return bool(self.seen) or self.value is not None or self.read is not None

    @property
    def looked(self) -> bool:
        """Whether the point counts as looked at."""
        return self.has_reading or self.state is not None


def measure_step(point: Point, value: float) -> int:
    """Return a measured value as one of 4096 steps of its span (12 bits, as a card holds it)."""
    low, high = cast(tuple[float, float], point.span)
    ratio = round((value - low) / (high - low) * RULES.measure_steps, RULES.step_decimals)
    return min(RULES.measure_steps, max(0, math.floor(ratio + 0.5)))


def measure_value(point: Point, step: int) -> float:
    """Return the value, in the point's unit, that a step stands for."""
    low, high = cast(tuple[float, float], point.span)
    return low + step * (high - low) / RULES.measure_steps


def check_answer(point: Point, answer: object) -> Answer:
    """Return one answer, checked; AnswerError names the fields of ``answers.<point>``."""
    where = f"answers.{point.id}"
    given = mapping(answer, where)
    if not given_of(given, *_ENOUGH) and given.keys() <= set(_KNOWN):
        raise AnswerError.of(
            where,
            expected=f"{_FIELD[point.kind]}, state or not_seen",
            came=shown(answer),
            remedy="Say what was seen, or why it was not; leave the point out if nobody looked.",
        )
    gather = Gather()
    parts: dict[str, object] = {}
    for read in (
        _known_keys,
        _plain_fields,
        _check_fields,
        _state,
        _not_seen,
        _READERS[point.kind],
    ):
        with gather:
            parts |= read(point, given)
    gather.check()
    return Answer(**parts)  # type: ignore[arg-type]  # as the readers above name and type them


def _known_keys(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    only_known(given, _KNOWN, where=f"answers.{point.id}")
    return {}


def _plain_fields(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    where = f"answers.{point.id}"
    return {
        "sure": typed(given, "sure", True, where=f"{where}.sure"),
        "note": typed(given, "note", "", where=f"{where}.note"),
        "where": texts(given, "where", where=f"{where}.where"),
    }


def _check_fields(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    """Refuse an answer of another kind of point, and one that was seen and not seen."""
    right = _FIELD[point.kind]
    for field in given_of(given, "seen", "value", "read"):
        if field != right:
            raise AnswerError.of(
                f"answers.{point.id}.{field}",
                expected=f'"{right}", as this point is a {point.kind}',
                came=shown(field),
                remedy=f'Give the answer as "{right}".',
            )
    if given_of(given, "not_seen") and given_of(given, "seen", "value", "read", "state"):
        raise AnswerError.of(
            f"answers.{point.id}.not_seen",
            expected="an answer or a reason for none",
            came="both",
            remedy="Take one of them out.",
        )
    return {}


def _state(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    if not given_of(given, "state"):
        return {}
    where = f"answers.{point.id}.state"
    if point.kind is Kind.SIGN:
        raise AnswerError.of(
            where,
            expected="no state, as this point is a sign",
            came=shown(given["state"]),
            remedy="Put the state on the part itself.",
        )
    state = one_of(given["state"], _STATES, where=where)
    if state != "changed" and not given_of(given, "seen", "value", "read"):
        raise AnswerError.of(
            where,
            expected=f'"{_FIELD[point.kind]}" beside the state "{state}"',
            came="the state alone",
            remedy='Say what the part is; only "changed" may stand alone.',
        )
    return {"state": state}


def _not_seen(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    if not given_of(given, "not_seen"):
        return {}
    return {"not_seen": one_of(given["not_seen"], NOT_SEEN, where=f"answers.{point.id}.not_seen")}


def _seen(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    seen = given.get("seen")
    if seen is None:
        return {}
    where = f"answers.{point.id}.seen"
    several = seen if isinstance(seen, list | tuple) and point.kind is Kind.SIGN else [seen]
    allowed = [variant.id for variant in point.seen] + [OTHER]
    ids = tuple(one_of(one, allowed, where=where) for one in several)
    most = len(allowed) if point.many else 1
    if not 1 <= len(ids) <= most or len(set(ids)) < len(ids):
        raise AnswerError.of(
            where,
            expected="one or more, each once" if point.many else "exactly one",
            came=shown(seen),
            remedy="Tick what was seen.",
        )
    return {"seen": ids}


def _value(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    value = given.get("value")
    if value is None:
        return {}
    where = f"answers.{point.id}.value"
    home = cast(str, point.unit)
    unit = cast(str, typed(given, "unit", home, where=f"answers.{point.id}.unit"))
    try:
        if isinstance(value, str):  # as it was typed: "15/16", "23,8 mm"
            quantity = parse_quantity(value, unit)
            value, unit = quantity.value, quantity.unit
        size = convert(finite(value, where=where), unit, home)
    except ReadingError as error:
        raise AnswerError(
            *(Fault(where, f.expected, f.came, f.remedy) for f in error.faults)
        ) from error
    low, high = cast(tuple[float, float], point.span)
    if not r9(low) <= r9(size) <= r9(high):  # 27.94 mm is 1.1 in
        raise AnswerError.of(
            where,
            expected=f"{digits(low)} to {digits(high)} {home}",
            came=shown(f"{digits(size)} {home}"),
            remedy="Measure again; check the unit.",
        )
    return {"value": size}


@lru_cache(maxsize=64)
def _pattern(text: str) -> SerialPattern:
    return SerialPattern.compile(text)


def _serial(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    if not given_of(given, "read"):
        return {}
    where = f"answers.{point.id}.read"
    text = cast(str, typed(given, "read", "", where=where)).strip()
    pattern = _pattern(cast(str, point.pattern))
    if not pattern.matches(text):
        raise AnswerError.of(
            where,
            expected=f"a serial such as {pattern.example}",
            came=shown(text),
            remedy="Read it again; note it in words if it has another form.",
        )
    return {"read": text, "number": serial_number(text)}


def _code(point: Point, given: Mapping[str, object]) -> dict[str, object]:
    if not given_of(given, "read"):
        return {}
    where = f"answers.{point.id}.read"
    text = cast(str, typed(given, "read", "", where=where)).strip()
    try:
        reading = read_code(cast(str, point.scheme), text)  # one month at least, or refused
    except ReadingError as error:
        raise AnswerError(
            *(Fault(where, f.expected, f.came, f.remedy) for f in error.faults)
        ) from error
    return {"read": text, "months": reading.months}


_READERS: Final[Mapping[Kind, Callable[[Point, Mapping[str, object]], dict[str, object]]]] = {
    Kind.PICK: _seen,
    Kind.SIGN: _seen,
    Kind.MEASURE: _value,
    Kind.SERIAL: _serial,
    Kind.DATECODE: _code,
}
