"""Keys that are the same in every run, and cards sealed by them."""

import functools
import random
from datetime import UTC, datetime, timedelta
from typing import Any

from quickcheck.card import IssuerKey, KeyRing, Known, Recall, RecallKind, Signer, seal
from quickcheck.card.seal import SealedBytes
from tests.card.kit import FULL, ISSUED, Doc, card_for, full

MADE = datetime(2026, 1, 1, 8, 30, 45, 6, tzinfo=UTC)
LATER = datetime(2026, 12, 1, 9, tzinfo=UTC)
ISSUER = "Fettle & Daughter"


@functools.cache
def signer(number: int = 1) -> Signer:
    return Signer(bytes([number]) * 32)


def key(number: int = 1, **more: Any) -> IssuerKey:
    return IssuerKey(signer(number).public, **({"issuer": ISSUER, "made": MADE} | more))


def known(*keys: IssuerKey, **more: Any) -> Known:
    return Known(KeyRing.of(keys or (key(),)), **more)


@functools.cache
def sealed(number: int = 1) -> SealedBytes:
    return seal(full(), signer(number))


def recall(card: str, by: str | None = None, at: datetime = LATER) -> Recall:
    return Recall(card, RecallKind.CORRECTED if by else RecallKind.WITHDRAWN, at, by)


def flipped(data: bytes, bit: int) -> bytes:
    """Return the bytes with one bit turned, counted from the last."""
    return (int.from_bytes(data, "big") ^ 1 << bit).to_bytes(len(data), "big")


def any_document(dice: random.Random) -> Doc:
    """Return a claim and answers drawn at random, every kind of point among them."""
    every: Doc = {
        "knobs": {"seen": dice.choice(["wood", "black", "cream", "other"])},
        "nut": dice.choice([{"state": "changed"}, {"seen": "brass", "sure": False}]),
        "depth": {"value": round(dice.uniform(10, 30), 2)},
        "serial": {"read": f"{dice.randint(101, 9999)}"},
        "pot": {"read": f"137-6{dice.randint(1, 9)}{dice.randint(1, 52):02d}"},
        "signs": {"seen": dice.sample(["overspray", "fresh-holes"], dice.randint(1, 2))},
        "glow": {"not_seen": dice.choice(["not-allowed", "not-visible", "no-tool", "no-time"])},
    }
    chosen = dice.sample(sorted(every), dice.randint(0, len(every)))
    return FULL | {
        "answers": {point: every[point] for point in chosen},
        "serial_text": dice.choice(["", "641", "A 641", "No 7-b", "0123456789012345"]),
        "marks": FULL["marks"][: dice.randint(0, 2)],
        "disclosures": FULL["disclosures"][: dice.randint(0, 2)],
    }


@functools.cache
def many(count: int = 100) -> tuple[SealedBytes, ...]:
    """Return cards of all kinds, each sealed by the first key."""
    dice = random.Random(8032)
    return tuple(
        seal(
            card_for(
                any_document(dice),
                number=number,
                issued=ISSUED + timedelta(minutes=dice.randint(0, 100_000)),
                interest=dice.choice(["selling", "selling-for-owner", "none"]),
            ),
            signer(),
        )
        for number in range(1, count + 1)
    )
