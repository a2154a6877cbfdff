"""Quantities and units, held against NIST SP 811 and against an independent library."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import UNITS, Quantity, convert, parse_quantity

_PINT = pint.UnitRegistry()
_PINT_NAMES = {
    "in": "inch",
    "mm": "millimeter",
    "lb": "pound",
    "oz": "ounce",
    "kg": "kilogram",
    "g": "gram",
    "ohm": "ohm",
    "kohm": "kiloohm",
}
_PAIRS = [(a, b) for a in UNITS for b in UNITS if UNITS[a].kind == UNITS[b].kind]


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        (1, "in", "mm", 25.4),  # NIST SP 811, appendix B.8, exact
        (1, "lb", "kg", 0.45359237),  # NIST SP 811, appendix B.8, exact
        (1, "oz", "g", 28.349523125),  # 1/16 lb, exact
        (16, "oz", "lb", 1.0),
        (7.4, "kohm", "ohm", 7400.0),
        (1000, "g", "kg", 1.0),
    ],
)
def test_defined_factors_are_exact(value: float, unit: str, to: str, expected: float) -> None:
    """Definitions come out to the last digit, not nearly."""
    assert convert(value, unit, to) == expected


@given(st.floats(0, 1e6), st.sampled_from(_PAIRS))
def test_conversion_agrees_with_pint(value: float, pair: tuple[str, str]) -> None:
    """Any value in any pair of units of one kind agrees with pint."""
    unit, to = pair
    expected = _PINT.Quantity(value, _PINT_NAMES[unit]).to(_PINT_NAMES[to]).magnitude
    assert convert(value, unit, to) == pytest.approx(expected, rel=1e-12, abs=1e-300)


@given(st.floats(-1e6, 1e6), st.sampled_from(_PAIRS))
def test_conversion_there_and_back_is_the_same_value(value: float, pair: tuple[str, str]) -> None:
    """A value survives the way to another unit and back."""
    unit, to = pair
    assert convert(convert(value, unit, to), to, unit) == pytest.approx(
        value, rel=1e-14, abs=1e-300
    )


@pytest.mark.parametrize(
    ("text", "to", "expected"),
    [
        pytest.param("8 lb 4 oz", "kg", Fraction("3.7421370525"), id="U1 NIST SP 811 app. B"),
        pytest.param("1 11/16 in", "mm", Fraction("42.8625"), id="U2 16 CFR 500.19"),
    ],
)
def test_check_values(text: str, to: str, expected: Fraction) -> None:
    """Compound weights and mixed fractions convert exactly."""
    unit = "lb" if to == "kg" else "in"
    assert parse_quantity(text, unit).to(to) == float(expected)


@given(st.integers(0, 40), st.integers(1, 63))
def test_every_64th_of_an_inch_is_exact(whole: int, sixtyfourths: int) -> None:
    """A gauge's fraction, reduced or not, is read without any rounding."""
    reduced = Fraction(sixtyfourths, 64)
    expected = Quantity(whole + sixtyfourths / 64, "in")
    for part in (f"{sixtyfourths}/64", f"{reduced.numerator}/{reduced.denominator}"):
        written = f"{whole} {part}" if whole else part
        assert parse_quantity(written, "in") == expected
        assert parse_quantity(f'{written}"', "mm") == expected


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("0.935", "in", Quantity(0.935, "in")),
        ("0,935", "in", Quantity(0.935, "in")),
        (".935", "in", Quantity(0.935, "in")),
        ("15/16", "in", Quantity(0.9375, "in")),
        ("1-11/16", "in", Quantity(1.6875, "in")),
        ("17/16", "in", Quantity(1.0625, "in")),
        ("1½", "in", Quantity(1.5, "in")),
        ("⅞ inch", "mm", Quantity(0.875, "in")),
        ("42.8″", "mm", Quantity(42.8, "in")),
        ("23.8 mm", "in", Quantity(23.8, "mm")),
        ("23,8", "mm", Quantity(23.8, "mm")),
        ("1234,5 g", "lb", Quantity(1234.5, "g")),
        ("8.25 lb", "kg", Quantity(8.25, "lb")),
        ("8 lbs 4oz", "kg", Quantity(8.25, "lb")),
        ("8lb4.5oz", "lb", Quantity(8.28125, "lb")),
        ("8 1/2 pounds", "lb", Quantity(8.5, "lb")),
        ("8 lb", "lb", Quantity(8.0, "lb")),
        ("132 OZ", "lb", Quantity(132.0, "oz")),
        ("3,7 kg", "lb", Quantity(3.7, "kg")),
        ("7.4k", "ohm", Quantity(7.4, "kohm")),
        ("7.4 K", "ohm", Quantity(7.4, "kohm")),
        ("7.4 kohm", "ohm", Quantity(7.4, "kohm")),
        ("7.4 kΩ", "ohm", Quantity(7.4, "kohm")),
        ("7400 Ω", "kohm", Quantity(7400.0, "ohm")),
        ("7400", "ohm", Quantity(7400.0, "ohm")),
        ("  7,4   kohm ", "ohm", Quantity(7.4, "kohm")),
        ("０.９", "in", Quantity(0.9, "in")),
        ("0", "mm", Quantity(0.0, "mm")),
    ],
)
def test_what_people_write_is_read(text: str, unit: str, expected: Quantity) -> None:
    """Points, commas, fractions, signs and spellings lead to the same value and its own unit."""
    assert parse_quantity(text, unit) == expected


_REFUSED = [
    ("7,400 ohm", "ohm", r'only one way; got "7,400 ohm"\. Write 7\.400 or 7400\.'),
    ("3,700 kg", "lb", r"Write 3\.700 or 3700\."),
    ("1,234,567", "ohm", "expected one number, not negative"),
    (
        "-1",
        "in",
        r'one number, not negative; got "-1"\. Write a number and its unit, like "1 11/16',
    ),
    ("1e3", "ohm", "a unit of resistance"),
    ("", "lb", r'one number.*like "8 lb 4 oz"'),
    ("in", "in", "one number"),
    ("nan", "in", "a unit of length"),
    ("15/16", "mm", "a decimal number, as mm are not told in fractions"),
    ("1/2 kg", "kg", "as kg are not told in fractions"),
    ("1/3", "in", "halves, quarters, 8ths, 16ths, 32nds or 64ths"),
    ("1/1", "in", "halves"),
    ("1/0", "in", "halves"),
    ("1 17/16", "in", "halves"),
    ("1/99", "in", "halves"),
    ("7.4 kohm", "in", r"a length \(in, mm\)"),
    ("8 lb 4 oz", "in", r"a length \(in, mm\)"),
    ("3 ft", "in", r"a unit of length \(in, mm\); got \"3 ft\""),
    ("8 lb 16 oz", "lb", "fewer than 16 ounces beside pounds"),
    ("8 lb x oz", "lb", r"a unit of weight \(lb, oz, kg, g\)"),
    ("2²", "in", "one number and its unit"),
    ("1" + " " * 60 + "5", "in", "at most 40 signs"),
]


@pytest.mark.parametrize(("text", "unit", "message"), _REFUSED)
def test_what_is_unclear_is_refused(text: str, unit: str, message: str) -> None:
    """A refusal says what was expected, what came and how to write it."""
    with pytest.raises(ReadingError, match=message):
        parse_quantity(text, unit)


def test_units_of_different_kinds_do_not_convert() -> None:
    """Weight does not become length, and the message names both."""
    with pytest.raises(ReadingError, match=r'unit of length \(in, mm\); got "lb". A weight can\'t'):
        convert(1, "lb", "mm")


@pytest.mark.parametrize("unit", ["ft", "", "IN"])
def test_unknown_units_are_refused(unit: str) -> None:
    """A unit outside the table is refused with the list of those in it."""
    with pytest.raises(ReadingError, match="one of in, mm, lb, oz, kg, g, ohm, kohm"):
        parse_quantity("1", unit)


@pytest.mark.parametrize("value", [float("inf"), float("-inf"), float("nan"), 1.7e308])
def test_endless_values_are_refused(value: float) -> None:
    """A value without a finite result is no value."""
    with pytest.raises(ReadingError, match="a number of ordinary size"):
        convert(value, "kohm", "ohm")


@given(st.text(max_size=50), st.sampled_from(sorted(UNITS)))
def test_any_text_is_read_or_refused(text: str, unit: str) -> None:
    """No text gives another exception, a negative value or a unit of another kind."""
    try:
        quantity = parse_quantity(text, unit)
    except ReadingError:
        return
    assert quantity.value >= 0
    assert UNITS[quantity.unit].kind == UNITS[unit].kind
