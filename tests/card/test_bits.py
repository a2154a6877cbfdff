"""Numbers and texts as bits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quickcheck.card.bits import LETTERS, LONGEST_TEXT, BitReader, BitWriter, choice, width_for
from quickcheck.errors import CardError

SMALL = "abcdefghijklmnopqrstuvwxyz"
texts = st.text(st.sampled_from(LETTERS + SMALL), max_size=LONGEST_TEXT)
fields = st.integers(0, 80).flatmap(
    lambda width: st.tuples(st.integers(0, (1 << width) - 1), st.just(width))
)


def written(text: str) -> BitWriter:
    bits = BitWriter()
    bits.put_text(text, where="text")
    return bits


@given(st.lists(fields))
def test_numbers_come_back_in_order(pairs: list[tuple[int, int]]) -> None:
    """What is written in any widths is read back in the same widths, over zeros as filling."""
    bits = BitWriter()
    for number, width in pairs:
        bits.put(number, width, where="field")
    reader = BitReader(bits.data())
    assert [reader.take(width, where="field") for _, width in pairs] == [n for n, _ in pairs]
    rest = 8 * len(bits.data()) - bits.length
    assert 0 <= rest < 8
    assert reader.take(rest, where="filling") == 0


@given(texts)
def test_texts_come_back_as_typed(text: str) -> None:
    """Every text of the alphabet up to its length is read back letter by letter."""
    assert BitReader(written(text).data()).take_text(where="text") == text


@pytest.mark.parametrize(
    ("text", "length"),
    [("", 5), ("1388", 21), ("59-31", 25), ("A 641", 36), ("a1", 24), ("123456789", 41)],
)
def test_a_text_takes_the_shorter_form(text: str, length: int) -> None:
    """Digits and separators take 4 bits and an end mark, other texts 6 bits and a count."""
    assert written(text).length == length


@pytest.mark.parametrize("text", ["0" * 17, "A" * 17, "No. 1é", "1_2", "ß", "一", "١٢", "\n"])
def test_what_has_no_form_is_refused_with_its_text(text: str) -> None:
    """A text too long or outside the alphabet names the field and what it may hold."""
    with pytest.raises(CardError, match=r"^serial: expected at most 16 letters A-Z, digits"):
        BitWriter().put_text(text, where="serial")


@pytest.mark.parametrize(("number", "width"), [(-1, 4), (16, 4), (1, 0)])
def test_a_number_outside_its_width_is_refused(number: int, width: int) -> None:
    """A number that would spill into the next field is an error, and nothing is written."""
    bits = BitWriter()
    with pytest.raises(CardError, match=r"^found: expected a whole number from 0 to"):
        bits.put(number, width, where="found")
    assert bits.length == 0


def test_reading_past_the_end_is_refused() -> None:
    """Bytes that stop too early say how many bits are missing."""
    reader = BitReader(b"\xff")
    assert reader.take(7, where="a") == 127
    with pytest.raises(CardError, match=r"^b: expected 2 more bits; got 1\."):
        reader.take(2, where="b")


def test_choices_go_by_their_number() -> None:
    """A choice is its row; no row of that number, or no such choice, is an error."""
    bits = BitWriter()
    bits.put_choice("c", ("a", "b", "c"), 2, where="x")
    assert BitReader(bits.data()).take_choice(("a", "b", "c"), 2, where="x") == "c"
    with pytest.raises(CardError, match=r"^x: expected a number below 2; got 2"):
        choice(("a", "b"), 2, where="x")
    with pytest.raises(CardError, match=r'^x: expected one of 2 choices: a, b; got "d"'):
        bits.put_choice("d", ("a", "b"), 2, where="x")


@pytest.mark.parametrize(("count", "bits"), [(1, 0), (2, 1), (3, 2), (4, 2), (5, 3), (31, 5)])
def test_width_is_the_least_that_tells_them_apart(count: int, bits: int) -> None:
    """2**width is at least the number of choices, 2**(width − 1) is not."""
    assert width_for(count) == bits
