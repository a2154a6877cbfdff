"""What leaves the building: a verdict with its answers as bytes, as a text and as a symbol."""

from quickcheck.card.address import Scanned, looks_like_text, read_text
from quickcheck.card.code import (
    MODULE_MM,
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
from quickcheck.card.keys import IssuerKey, KeyRing, Signer, fingerprint, key_id
from quickcheck.card.payload import Card, card_of, decode, encode, head
from quickcheck.card.recall import Recall, RecallKind, RecallList, read_recalls, sign_recalls
from quickcheck.card.seal import (
    STANDING,
    Known,
    Seal,
    SealState,
    check_seal,
    decode_any,
    seal,
    split,
    unsealed,
)
from quickcheck.card.seal_words import SEAL_WORDS, seal_words
from quickcheck.card.vocabulary import INTERESTS, MARK_KINDS, MARK_PLACES

__all__ = [
    "INTERESTS",
    "MARK_KINDS",
    "MARK_PLACES",
    "MODULE_MM",
    "QUIET",
    "SEAL_WORDS",
    "STANDING",
    "Card",
    "CardHead",
    "IssuerKey",
    "KeyRing",
    "Known",
    "Recall",
    "RecallKind",
    "RecallList",
    "Scanned",
    "Seal",
    "SealState",
    "Signer",
    "Symbol",
    "card_of",
    "card_url",
    "check_seal",
    "data_of",
    "decode",
    "decode_any",
    "digits",
    "encode",
    "fingerprint",
    "head",
    "key_id",
    "looks_like_text",
    "module_mm",
    "read_recalls",
    "read_text",
    "seal",
    "seal_words",
    "sign_recalls",
    "split",
    "svg_path",
    "symbol",
    "unsealed",
]
