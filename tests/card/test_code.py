"""Digits, address, symbol and drawing."""

import math
import re

import cv2
import numpy as np
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from segno import consts

from quickcheck.card import (
    QUIET,
    Symbol,
    card_url,
    data_of,
    digits,
    encode,
    module_mm,
    svg_path,
    symbol,
)
from quickcheck.card.code import LARGEST
from quickcheck.errors import CardError
from tests.card.kit import FULL, card_for

BASE = "https://cards.example"

# ISO/IEC 18004, table 7, error correction M, versions 1 to 13: most digits, most bytes (from memory; held below)
MOST_DIGITS = (34, 63, 101, 149, 202, 255, 293, 365, 432, 513, 604, 691, 796)
MOST_BYTES = (14, 26, 42, 62, 84, 106, 122, 152, 180, 213, 251, 287, 331)
# the same table, data codewords at M (from memory)
CODEWORDS = (16, 28, 44, 64, 86, 108, 124, 154, 182, 216, 254, 290, 334)
VERSIONS = range(1, 14)


@given(st.binary(max_size=LARGEST))
def test_digits_come_back_as_the_same_bytes(data: bytes) -> None:
    """Any bytes, leading zeros too, survive as decimal digits."""
    assert data_of(digits(data)) == data


@given(st.text(st.characters(codec="utf-8"), max_size=40) | st.from_regex(r"\A[0-9]{0,60}\Z"))
def test_only_text_that_re_encodes_to_itself_is_taken(text: str) -> None:
    """Any text is either refused with a CardError, or gives bytes whose digits it is."""
    try:
        data = data_of(text)
    except CardError:
        return
    assert digits(data) == text


@pytest.mark.parametrize(
    "text", ["", "0", "2", "0256", "256 ", "+256", "2_56", "٢٥٦", "²", "-1", "1e3"]
)
def test_other_spellings_of_a_number_are_refused(text: str) -> None:
    """Signs, blanks, leading zeros and digits of other scripts are no card."""
    with pytest.raises(CardError, match=r"^card: expected the digits of a card"):
        data_of(text)


def test_the_length_is_capped_both_ways() -> None:
    """One byte or digit more than the cap is refused before any arithmetic on it."""
    most = b"\xff" * LARGEST
    assert data_of(digits(most)) == most
    with pytest.raises(CardError, match=f"at most {LARGEST} bytes; got {LARGEST + 1}"):
        digits(most + b"\x00")
    with pytest.raises(CardError, match="the digits of a card"):
        data_of("9" * 1_000_000)


@pytest.mark.parametrize("base", [BASE, BASE + "/"])
def test_the_address_ends_in_the_digits(base: str) -> None:
    """Base, the card's path and nothing but digits."""
    assert card_url(base, b"\x00\x07") == "https://cards.example/c/65543"


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(("character", "most"), [("7", MOST_DIGITS), ("a", MOST_BYTES)])
def test_capacity_is_that_of_the_standard(
    version: int, character: str, most: tuple[int, ...]
) -> None:
    """A symbol of a version holds what ISO/IEC 18004 prints for it at M, and not one more."""
    capacity = most[version - 1]
    assert symbol(character * capacity).version == version
    if version < max(VERSIONS):
        assert symbol(character * (capacity + 1)).version == version + 1


def test_capacities_are_those_of_another_library() -> None:
    """The standard's table as segno has it (bits at M) is the one above, and gives its letters."""
    held = [consts.SYMBOL_CAPACITY[version][consts.ERROR_LEVEL_M] for version in VERSIONS]
    assert tuple(bits // 8 for bits in held) == CODEWORDS
    for version, bits in zip(VERSIONS, held, strict=True):
        bytes_left = bits - 4 - (8 if version < 10 else 16)
        tens, rest = divmod(bits - 4 - (10 if version < 10 else 12), 10)
        assert bytes_left // 8 == MOST_BYTES[version - 1]
        assert 3 * tens + (2 if rest >= 7 else 1 if rest >= 4 else 0) == MOST_DIGITS[version - 1]


def test_a_text_beyond_the_highest_version_is_refused() -> None:
    """What would print too fine to be read, or fits no symbol at all, is an error."""
    for text in ("7" * 797, "a" * 5000):
        with pytest.raises(CardError, match=f"fits version 13; got {len(text)} characters"):
            symbol(text)


def version_by_the_standard(address: str, number: str) -> int:
    """Version for a byte segment and a digit segment: ISO/IEC 18004, 7.4 and table 3 (memory)."""
    for version in VERSIONS:
        count_bytes, count_digits = (8, 10) if version < 10 else (16, 12)
        bits = 4 + count_bytes + 8 * len(address) + 4 + count_digits
        bits += 10 * (len(number) // 3) + (0, 4, 7)[len(number) % 3]
        if bits <= 8 * CODEWORDS[version - 1]:
            return version
    raise AssertionError("no version")


@pytest.mark.parametrize("length", [20, 52, 91, 92, 120, 121, 149, 182, 200])
def test_address_and_digits_become_two_segments(length: int) -> None:
    """The version is that of one byte segment and one digit segment, by the standard's own sums."""
    data = bytes(7 * i % 251 for i in range(length))
    expected = version_by_the_standard(BASE + "/c/", digits(data))
    assert symbol(card_url(BASE, data)).version == expected


def picture(drawn: Symbol, scale: int) -> Image.Image:
    """Return the symbol in its quiet zone, ``scale`` pixels a module."""
    dark = np.pad(np.array(drawn.rows, dtype=bool), QUIET)
    grey = np.where(dark, 0, 255).astype(np.uint8)
    return Image.fromarray(np.kron(grey, np.ones((scale, scale), dtype=np.uint8)))


@pytest.mark.parametrize("scale", [3, 4, 5, 8])
@pytest.mark.parametrize(("padding", "version"), [(0, 5), (20, 6), (68, 8), (90, 9), (110, 10)])
def test_two_decoders_read_the_exact_text(scale: int, padding: int, version: int) -> None:
    """zxing-cpp and OpenCV both return the address letter by letter, at several sizes."""
    text = card_url(BASE, encode(card_for(FULL)) + bytes(range(padding)))
    assert symbol(text).version == version
    image = picture(symbol(text), scale)
    assert [found.text for found in zxingcpp.read_barcodes(image)] == [text]
    assert cv2.QRCodeDetector().detectAndDecode(np.asarray(image))[0] == text


def test_the_path_draws_the_symbol() -> None:
    """Filling the rectangles of the path gives the dark modules, each once."""
    drawn = symbol(card_url(BASE, encode(card_for(FULL))))
    assert drawn.size == 17 + 4 * drawn.version
    filled = np.zeros((drawn.size, drawn.size), dtype=int)
    path = svg_path(drawn)
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", path)
    assert "".join("M{} {}h{}v1h-{}z".format(*run) for run in runs) == path
    for x, y, length, back in ([int(n) for n in run] for run in runs):
        assert length == back
        filled[y, x : x + length] += 1
    assert (filled == np.array(drawn.rows)).all()


def test_runs_are_merged() -> None:
    """Neighbours in a row share one rectangle."""
    assert (
        svg_path(Symbol(1, ((True, True, False, True), (False,) * 4))) == "M0 0h2v1h-2zM3 0h1v1h-1z"
    )


def test_version_10_prints_at_three_quarters_of_a_millimetre() -> None:
    """57 modules on 43 mm are 0.754 mm each, and 49 mm with the quiet zone round it."""
    module = module_mm(10, 43)
    assert module == pytest.approx(0.754, abs=5e-4)
    assert 43 + 2 * QUIET * module == pytest.approx(49.0, abs=0.05)
    assert math.isclose(module_mm(1, 21), 1)
