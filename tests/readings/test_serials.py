"""Serial patterns, held against the standard library's regular expressions."""

import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quickcheck.errors import ReadingError
from quickcheck.readings import SerialPattern, serial_number

_ATOMS = st.sampled_from(
    ["0", "1", "7", "A", "b", "-", "[0-9]", "[A-C]", "[A1-]", r"[\-1]", r"\.", "()"]
)


def _grow(inner: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    times = st.sampled_from(["?", "*", "+", "{2}", "{1,3}", "{0,2}", "{2,}", "{0,}"])
    return st.one_of(
        st.tuples(inner, inner).map("".join),
        st.tuples(inner, inner).map(lambda pair: f"({pair[0]}|{pair[1]})"),
        st.tuples(inner, times).map(lambda pair: f"({pair[0]}){pair[1]}"),
    )


PATTERNS = st.recursive(_ATOMS, _grow, max_leaves=6)


@given(PATTERNS, st.text("017Ab-.C", max_size=8))
def test_matching_agrees_with_the_standard_library(pattern: str, text: str) -> None:
    """Any pattern of the language fits the same texts as it does as a regular expression."""
    try:
        compiled = SerialPattern.compile(pattern)
    except ReadingError:
        return  # too large once written out
    expected = bool(text) and re.fullmatch(pattern, text, re.ASCII) is not None
    assert compiled.matches(text) == expected


@given(PATTERNS)
def test_the_example_fits(pattern: str) -> None:
    """What a message shows as an example would be taken, where it is not empty."""
    try:
        compiled = SerialPattern.compile(pattern)
    except ReadingError:
        return
    assert re.fullmatch(pattern, compiled.example, re.ASCII)
    assert compiled.matches(compiled.example) or not compiled.example


@settings(max_examples=60)
@given(PATTERNS, st.integers(0, 80), st.integers(0, 30))
def test_blocks_that_fit_agree_with_trying_every_number(
    pattern: str, first: int, more: int
) -> None:
    """A block is said to fit exactly where some text of up to three signs has a number in it."""
    try:
        compiled = SerialPattern.compile(pattern)
    except ReadingError:
        return
    tried = [text for text in _texts() if re.fullmatch(pattern, text, re.ASCII)]
    numbers = {serial_number(text) for text in tried}
    if numbers & set(range(first, first + more + 1)):
        assert compiled.can_hold(first, first + more)
    if compiled.can_hold(first, first + more):
        assert _spells(pattern, first, first + more)


def _texts() -> list[str]:
    signs = ["", *"017Ab-."]
    return [a + b + c for a in signs for b in signs for c in signs]


def _spells(pattern: str, first: int, last: int) -> bool:
    """Try every number with up to eight noughts in front, other signs removed from the pattern."""
    digits_only = re.sub(
        r"\[0-9\]|\[A-C\]|\[A1-\]|\[\\-1\]|\\\.|[Ab-]", lambda m: _digits_of(m[0]), pattern
    )
    found = re.compile(digits_only, re.ASCII)
    spelt = (str(n).zfill(z) for n in range(first, last + 1) for z in range(1, 12))
    return any(found.fullmatch(text) for text in spelt)


def _digits_of(atom: str) -> str:
    """Return what is left of an atom when letters and marks leave no trace: ``1`` or nothing."""
    return {"[0-9]": "[0-9]", "[A1-]": "(1|)", r"[\-1]": "(1|)"}.get(atom, "()")


@pytest.mark.parametrize(
    ("pattern", "first", "last", "fits"),
    [
        ("[0-9]{3,4}", 641, 1490, True),
        ("[0-9]{3,4}", 10000, 20000, False),
        ("[0-9]{4}", 12, 40, True),  # as 0012
        ("[1-9][0-9]{3}", 12, 40, False),
        ("A-?[0-9]+", 0, 10**12, True),
        ("[A-Z]{3}", 0, 10**12, False),
        ("19[0-9]{2}", 1890, 1899, False),
        ("19[0-9]{2}", 1899, 1901, True),
        ("[0-9]{3}[A-Z][0-9]{3}", 123456, 123456, True),
    ],
)
def test_blocks_are_held_against_the_pattern(
    pattern: str, first: int, last: int, *, fits: bool
) -> None:
    """Noughts in front and letters between count as they would on a label."""
    assert SerialPattern.compile(pattern).can_hold(first, last) is fits


@pytest.mark.parametrize(
    ("pattern", "example"),
    [
        ("[0-9]{3,4}", "123"),
        ("(A|BC)-?[0-9]+", "A1"),
        ("[5-9]", "5"),
        (r"L\.[0-9]{12}", "L.123456789012"),
    ],
)
def test_examples_look_like_serials(pattern: str, example: str) -> None:
    """Digits count up, repeats are the fewest."""
    assert SerialPattern.compile(pattern).example == example


def test_blanks_around_a_serial_are_no_part_of_it() -> None:
    """A serial copied with a blank is still the serial; one inside is not."""
    pattern = SerialPattern.compile("[0-9]{4}")
    assert pattern.matches(" 1388\n")
    assert not pattern.matches("13 88")


@pytest.mark.parametrize("text", ["", "   ", "1" * 65, "١٢٣٤"])
def test_what_is_no_serial_never_fits(text: str) -> None:
    """Nothing, endless digits and digits of other scripts are refused by any pattern."""
    assert not SerialPattern.compile("[0-9]*").matches(text)


def test_patterns_that_hang_others_take_no_time() -> None:
    """A tower of repeats that a backtracking engine would not survive is answered at once."""
    pattern = SerialPattern.compile("(((A*)*)*)*B")
    began = time.perf_counter()
    assert not pattern.matches("A" * 64)
    assert time.perf_counter() - began < 1


_REFUSED = [
    ("", "a pattern of 1 to 200 signs"),
    ("1" * 201, "a pattern of 1 to 200 signs"),
    ("[0-9", r'signs and a "\]" after "\["'),
    ("[a-", r'signs and a "\]" after|plain signs in a class'),
    ("[]", r'signs and a "\]" after "\["'),
    ("[9-0]", "a range that rises"),
    ("[^0-9]", "plain signs in a class"),
    ("[\n]", "plain signs in a class"),
    ("(1", r'a "\)" for every "\("'),
    ("1)", r'a "\(" before every "\)"'),
    (r"\d{4}", r"a punctuation mark after \\"),
    ("1\\", r"a punctuation mark after \\"),
    ("....", r'literals, .*Look after ""'),
    ("12$", r'Look after "12". Put \\ before a sign'),
    ("é", "literals"),
    ("*1", "literals"),
    ("1**", "one repeat after a sign"),
    ("1{2}{3}", "one repeat after a sign"),
    ("1{x}", r"\{m\}, \{m,\} or \{m,n\}"),
    ("1{,3}", r"\{m\}, \{m,\} or \{m,n\}"),
    ("1{3,2}", "repeats that rise, at most 64"),
    ("1{0}", "repeats that rise"),
    ("1{65}", "repeats that rise"),
    ("([0-9]{20}){20}", "at most 256 signs once repeats are written out"),
    ("(((){64}){64}){64}", "at most 256 signs"),
    ("(" * 17 + "1" + ")" * 17, "at most 16 groups"),
    ("(?:1)", "literals"),
]


@pytest.mark.parametrize(("pattern", "message"), _REFUSED)
def test_patterns_outside_the_language_are_refused(pattern: str, message: str) -> None:
    """A refusal says what is allowed there and where to look."""
    with pytest.raises(ReadingError, match=message):
        SerialPattern.compile(pattern)


@given(st.text(max_size=30))
def test_any_text_compiles_or_is_refused(text: str) -> None:
    """No pattern gives another exception."""
    try:
        pattern = SerialPattern.compile(text)
    except ReadingError:
        return
    assert pattern.text == text


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1388", 1388),
        ("A-0641", 641),
        ("12 34", 1234),
        ("none", None),
        ("", None),
        ("9" * 65, None),
    ],
)
def test_a_serial_holds_its_digits_joined(text: str, number: int | None) -> None:
    """Letters and marks say nothing about the number."""
    assert serial_number(text) == number
