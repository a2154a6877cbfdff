"""Bytes as a text, the text as a symbol, the symbol as a drawing.

The text is a lower-case address that ends in decimal digits: a symbol stores three digits in ten
bits, almost as tightly as bytes, and any camera opens the address.
"""

from dataclasses import dataclass
from itertools import groupby
from typing import Final

import qrcode
from qrcode.constants import ERROR_CORRECT_M
from qrcode.exceptions import DataOverflowError

from quickcheck.errors import CardError, shown

LARGEST: Final = 300
"""Bytes, a seal of 68 included: with an address of 28 characters the most that version 13 holds."""
_MOST_DIGITS: Final = len(str(1 << 8 * LARGEST + 1))
_MARKER: Final = b"\x01"  # keeps leading zeros
QUIET: Final = 4  # modules of white around the symbol, ISO/IEC 18004
MODULE_MM: Final = 0.75
"""A module in print, never less: phones read it at arm's length (`tests/bench/`)."""
_HIGHEST_VERSION: Final = 13
"""What a screen 60 mm wide shows at a module size that cameras read."""


def digits(data: bytes) -> str:
    """Return a card's bytes as decimal digits."""
    if len(data) > LARGEST:
        raise CardError.of(
            "card",
            expected=f"at most {LARGEST} bytes",
            came=f"{len(data)}",
            remedy="The reference has too many points for one code; issue a card for fewer.",
        )
    return str(int.from_bytes(_MARKER + data, "big"))


def data_of(text: str) -> bytes:
    """Return the bytes that these digits stand for; refuse any text that `digits` never gives."""
    if len(text) > _MOST_DIGITS or not (text.isascii() and text.isdigit()):
        raise _no_card(text)
    number = int(text)
    marked = number.to_bytes((number.bit_length() + 7) // 8, "big")
    if marked[:1] != _MARKER or str(number) != text:
        raise _no_card(text)
    return marked[1:]


def _no_card(text: str) -> CardError:
    return CardError.of(
        "card",
        expected=f"the digits of a card, at most {_MOST_DIGITS}",
        came=shown(text),
        remedy="Scan the code again, or copy the whole address.",
    )


def card_url(base: str, data: bytes) -> str:
    """Return the address of a card, for a base like ``https://cards.example``."""
    return f"{base.rstrip('/')}/c/{digits(data)}"


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol without its quiet zone: ``rows[y][x]`` is True where it is dark."""

    version: int
    rows: tuple[tuple[bool, ...], ...]

    @property
    def size(self) -> int:
        """Modules along a side."""
        return len(self.rows)


def symbol(text: str) -> Symbol:
    """Return the smallest symbol for a text, at error correction M (about 15 % of it may be lost).

    The library splits the text into byte and digit segments by itself.
    """
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=0)
    code.add_data(text)
    try:
        code.make(fit=True)
    except (DataOverflowError, ValueError):
        version = None
    else:
        version = code.version
    if version is None or version > _HIGHEST_VERSION:
        raise CardError.of(
            "code",
            expected=f"a text that fits version {_HIGHEST_VERSION}",
            came=f"{len(text)} characters",
            remedy="Shorten the address of the server.",
        )
    return Symbol(version, tuple(tuple(bool(dark) for dark in row) for row in code.modules))


def svg_path(drawn: Symbol) -> str:
    """Return the data of one path, a module being 1 unit: each run of dark modules a rectangle."""
    return "".join(
        f"M{x} {y}h{length}v1h-{length}z"
        for y, row in enumerate(drawn.rows)
        for x, length in _dark_runs(row)
    )


def _dark_runs(row: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Return (first, length) of each run of dark modules."""
    runs, x = [], 0
    for dark, run in groupby(row):
        length = len(tuple(run))
        if dark:
            runs.append((x, length))
        x += length
    return runs


def module_mm(version: int, print_mm: float) -> float:
    """Return the side of a module in mm, for a symbol ``print_mm`` wide without its quiet zone."""
    return print_mm / (17 + 4 * version)
