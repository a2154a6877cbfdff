"""How large sealed cards come out: they fit the smallest paper at the size that is read."""

import pytest

from quickcheck.card import MODULE_MM, QUIET, card_url, symbol
from tests.bench.card_bench import BASE, SERIALS, sealed

LARGEST = {15: 9, 20: 9, 25: 9}
"""Version of the symbol by points of the reference; a credit card is 54 mm high and has room for 11."""


@pytest.mark.parametrize("serial", SERIALS, ids=len)
@pytest.mark.parametrize("points", LARGEST)
def test_version_and_millimetres(points: int, serial: str) -> None:
    """Of 15, 20 and 25 points, with serials of 4, 9 and 16 characters, at 0.75 mm a module."""
    drawn = symbol(card_url(BASE, sealed(points, serial)))
    assert drawn.version <= LARGEST[points]
    assert (drawn.size + 2 * QUIET) * MODULE_MM <= 48.8
