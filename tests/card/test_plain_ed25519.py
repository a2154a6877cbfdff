"""Sealed cards held against a second implementation of RFC 8032."""

import random

import pytest

from quickcheck.card.seal import DOMAIN
from tests.card import plain_ed25519 as plain
from tests.card.rfc8032 import VECTORS, Vector
from tests.card.sealing import flipped, key, many


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector.name)
def test_the_second_implementation_knows_the_vectors(vector: Vector) -> None:
    """It takes those of RFC 8032 7.1, and none with a bit turned."""
    _, public, message, signature = map(bytes.fromhex, vector[1:])
    assert plain.verifies(public, message, signature)
    assert not plain.verifies(public, message + b"\0", signature)
    assert not plain.verifies(public, message, flipped(signature, 77))


@pytest.mark.parametrize("card", range(0, 100, 10))
def test_both_agree_on_sealed_cards(card: int) -> None:
    """A card as the layout says, by its bytes alone; and on what was altered."""
    data, dice = many()[card].data, random.Random(card)
    assert plain.verifies(key().public, DOMAIN + data[:-64], data[-64:])
    for _ in range(3):
        other = flipped(data, dice.randrange(8 * len(data)))
        assert not plain.verifies(key().public, DOMAIN + other[:-64], other[-64:])
        assert not key().verifies(DOMAIN + other[:-64], other[-64:])
