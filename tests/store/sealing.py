"""A reference with a card, keys in a folder, and cards to issue."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from quickcheck.card import Card, Signer
from quickcheck.store import KeyFiles, Store, make_key
from tests.card.kit import FULL, ISSUED, card_for

MADE = ISSUED - timedelta(days=30)
ISSUER = "Fettle & Daughter"


def card(serial: str = "A 641", issued: datetime = ISSUED, **more: Any) -> Card:
    return card_for(FULL | {"serial_text": serial} | more, issued=issued)


def numbered(made: Card, number: int) -> Card:
    return replace(made, head=replace(made.head, number=number))


def new_signer(store: Store, folder: Path, **more: Any) -> Signer:
    """Make a key and return its secret half."""
    files = KeyFiles(folder)
    key = make_key(store.keys, files, **({"issuer": ISSUER, "now": MADE} | more))
    return files.load(key.id)
