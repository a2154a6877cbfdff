"""What a scanner or a person hands over: a card's whole address, or its digits alone."""

import re
from dataclasses import dataclass
from typing import Final

from quickcheck.card.code import data_of
from quickcheck.errors import CardError, shown

LONGEST_BASE: Final = 200
_ENOUGH: Final = LONGEST_BASE + 1000
"""Characters that are looked at: what is longer has too many digits even when it is cut here."""
_ADDRESS: Final = re.compile(
    r"(?P<base>https?://(?P<host>[a-z0-9.-]+|\[[0-9a-f:]+\])(?::[0-9]{1,5})?(?:/[a-z0-9._-]+)*)"
    r"/c/(?P<digits>[0-9]+)",
    re.ASCII,
)
_LOOKS_LIKE_TEXT: Final = re.compile(r"[0-9]+|https?:.*", re.ASCII | re.DOTALL | re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Scanned:
    """The bytes of a card, and the host that the text leads to ("" for digits alone).

    Where the host is not the issuer's own, the text may lead to a page that only looks like it.
    """

    data: bytes
    host: str


def read_text(text: str) -> Scanned:
    """Return what a text carries; CardError unless it is the one spelling of a card.

    An address is in small letters, with nothing after the digits; a host in letters of another
    script is refused, for many of them look like ours.
    """
    if text.isdigit():
        return Scanned(data_of(text), "")
    found = _ADDRESS.fullmatch(text[:_ENOUGH])
    if found is None or len(found["base"]) > LONGEST_BASE:
        raise CardError.of(
            "card",
            expected="the address of a card, as in https://host/c/ and digits, or the digits alone",
            came=shown(text),
            remedy="Scan the code again, or copy the whole address.",
        )
    return Scanned(data_of(found["digits"]), found["host"])


def looks_like_text(word: str) -> bool:
    """Whether a word is meant as digits or an address, and not as the name of a file."""
    return _LOOKS_LIKE_TEXT.fullmatch(word) is not None
