"""What leaves the building: a verdict with its answers as bytes, as a text and as a symbol."""

from quickcheck.card.code import (
    QUIET,
    Symbol,
    card_url,
    data_of,
    digits,
    module_mm,
    svg_path,
    symbol,
)
from quickcheck.card.front import CardHead
from quickcheck.card.payload import Card, card_of, decode, encode, head
from quickcheck.card.vocabulary import INTERESTS, MARK_KINDS, MARK_PLACES

__all__ = [
    "INTERESTS",
    "MARK_KINDS",
    "MARK_PLACES",
    "QUIET",
    "Card",
    "CardHead",
    "Symbol",
    "card_of",
    "card_url",
    "data_of",
    "decode",
    "digits",
    "encode",
    "head",
    "module_mm",
    "svg_path",
    "symbol",
]
