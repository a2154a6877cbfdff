"""Lengths, weights and resistances as people write them at a table, and exact conversion.

Factors are exact by definition (NIST SP 811, appendix B): 1 in = 25.4 mm, 1 lb = 0.45359237 kg,
1 oz = 1/16 lb. They are kept as fractions, so a conversion is rounded once, at the end.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from quickcheck.errors import ReadingError, shown


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: ``scale`` is how many mm, g or ohm it holds."""

    name: str
    kind: str
    scale: Fraction
    spellings: tuple[str, ...]
    split: bool = False  # whether people write it in halves, quarters, eighths …


_POUND: Final = Fraction(45359237, 100000)
UNITS: Final[Mapping[str, Unit]] = MappingProxyType(
    {
        unit.name: unit
        for unit in (
            Unit("in", "length", Fraction(254, 10), ("in", "inch", "inches", '"', "″", "”"), True),
            Unit("mm", "length", Fraction(1), ("mm", "millimetre", "millimetres")),
            Unit("lb", "weight", _POUND, ("lb", "lbs", "pound", "pounds"), True),
            Unit("oz", "weight", _POUND / 16, ("oz", "ounce", "ounces"), True),
            Unit("kg", "weight", Fraction(1000), ("kg", "kilo", "kilos")),
            Unit("g", "weight", Fraction(1), ("g", "gram", "grams")),
            Unit("ohm", "resistance", Fraction(1), ("ohm", "ohms", "Ω", "r")),
            Unit("kohm", "resistance", Fraction(1000), ("kohm", "kohms", "kΩ", "k", "k ohm")),
        )
    }
)
_SPELT: Final = {
    " ".join(unicodedata.normalize("NFKC", word).casefold().split()): unit
    for unit in UNITS.values()
    for word in unit.spellings
}
_FINEST: Final = 64  # gauges and rulers are cut to 64ths of an inch
_LONGEST: Final = 40
_SMALL_DIGIT: Final = re.compile("[¹²³⁰-₉]")  # a raised 2 is no 2
_NUMBER: Final = re.compile(
    r"(?:(?P<whole>[0-9]{1,6})[ -]+)?(?P<top>[0-9]{1,4})/(?P<bottom>[0-9]{1,2})"
    r"|(?P<decimal>[0-9]{1,9}(?:[.,][0-9]{1,9})?|[.,][0-9]{1,9})"
)
_THOUSANDS: Final = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_POUNDS_OUNCES: Final = re.compile(r"(.+?) ?(?:lbs?|pounds?) ?,? ?([0-9].*?) ?(?:oz|ounces?)")
_HOW: Final = 'Write a number and its unit, like "{}".'
_EXAMPLES: Final = {"length": "1 11/16 in", "weight": "8 lb 4 oz", "resistance": "7.4 kohm"}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number as it was read, and its unit."""

    value: float
    unit: str

    def to(self, unit: str) -> float:
        """Return the value in another unit of the same kind."""
        return convert(self.value, self.unit, unit)


def unit_of(name: str) -> Unit:
    """Return the unit of that name; refuse one that is not in `UNITS`."""
    if name not in UNITS:
        raise ReadingError.of(
            "unit",
            expected=f"one of {', '.join(UNITS)}",
            came=shown(name),
            remedy="Use one of these.",
        )
    return UNITS[name]


def convert(value: float, unit: str, to: str) -> float:
    """Return ``value`` in the unit ``to``; refuse units of another kind and endless numbers."""
    have, want = unit_of(unit), unit_of(to)
    if have.kind != want.kind:
        raise ReadingError.of(
            "unit",
            expected=f"a unit of {want.kind} ({_of_kind(want.kind)})",
            came=shown(unit),
            remedy=f"A {have.kind} can't be told in {to}.",
        )
    try:
        return float(Fraction(value) * have.scale / want.scale)
    except (OverflowError, ValueError):
        raise ReadingError.of(
            "value",
            expected="a number of ordinary size",
            came=shown(value),
            remedy=_how(have.kind),
        ) from None


def parse_quantity(text: str, unit: str) -> Quantity:
    """Return what was written, in the unit written; ``unit`` where none is.

    Decimal point or comma, inches, pounds and ounces also in fractions down to 64ths.
    Refused: a unit of another kind; ``7,400``, which is 7.4 to one reader and 7400 to the next;
    a fraction without a unit where the unit asked for is metric.
    """
    asked = unit_of(unit)
    if len(text) > _LONGEST or _SMALL_DIGIT.search(text):
        raise _refusal(asked, text, f"one number and its unit, at most {_LONGEST} signs")
    written = _plain(text)
    pair = _POUNDS_OUNCES.fullmatch(written)
    if pair:
        _same_kind(UNITS["lb"], asked, text=text)
        ounces = _number(pair[2], UNITS["oz"], text=text)
        if ounces >= 16:
            raise _refusal(asked, text, "fewer than 16 ounces beside pounds")
        return Quantity(float(_number(pair[1], UNITS["lb"], text=text) + ounces / 16), "lb")
    number, named = _divide(written)
    given = _named(named, asked, text=text)
    return Quantity(float(_number(number, given, text=text)), given.name)


def _plain(text: str) -> str:
    """Return the text in small letters, single spaces, ``½`` as ``1/2`` and ``Ω`` as one sign."""
    apart = "".join(
        f" {sign}" if unicodedata.decomposition(sign).startswith("<fraction>") else sign
        for sign in text
    )
    plain = unicodedata.normalize("NFKC", apart).replace("⁄", "/").casefold()
    return " ".join(plain.split())


def _divide(written: str) -> tuple[str, str]:
    """Return the number and the unit that follows it."""
    found = re.match(r"[0-9.,/ -]*", written)
    end = found.end() if found else 0
    return written[:end].strip(), written[end:].strip()


def _named(named: str, asked: Unit, *, text: str) -> Unit:
    given = _SPELT.get(named) if named else asked
    if given is None:
        raise _refusal(asked, text, f"a unit of {asked.kind} ({_of_kind(asked.kind)})")
    return _same_kind(given, asked, text=text)


def _same_kind(given: Unit, asked: Unit, *, text: str) -> Unit:
    if given.kind != asked.kind:
        raise _refusal(asked, text, f"a {asked.kind} ({_of_kind(asked.kind)})")
    return given


def _number(number: str, unit: Unit, *, text: str) -> Fraction:
    found = _NUMBER.fullmatch(number)
    if not found:
        raise _refusal(unit, text, "one number, not negative")
    if found["decimal"] is None:
        return _fraction(found, unit, text=text)
    if _THOUSANDS.fullmatch(number):
        whole, part = number.split(",")
        raise ReadingError.of(
            "value",
            expected="a number that reads only one way",
            came=shown(text),
            remedy=f"Write {whole}.{part} or {whole}{part}.",
        )
    return Fraction(number.replace(",", "."))


def _fraction(found: re.Match[str], unit: Unit, *, text: str) -> Fraction:
    if not unit.split:
        raise _refusal(unit, text, f"a decimal number, as {unit.name} are not told in fractions")
    top, bottom = int(found["top"]), int(found["bottom"])
    proper = found["whole"] is None or top < bottom
    if bottom.bit_count() != 1 or not 2 <= bottom <= _FINEST or not proper:
        raise _refusal(unit, text, f"halves, quarters, 8ths, 16ths, 32nds or {_FINEST}ths")
    return int(found["whole"] or 0) + Fraction(top, bottom)


def _refusal(asked: Unit, text: str, expected: str) -> ReadingError:
    return ReadingError.of("value", expected=expected, came=shown(text), remedy=_how(asked.kind))


def _how(kind: str) -> str:
    return _HOW.format(_EXAMPLES[kind])


def _of_kind(kind: str) -> str:
    return ", ".join(unit.name for unit in UNITS.values() if unit.kind == kind)
