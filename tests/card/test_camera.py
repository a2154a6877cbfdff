"""A card as printed, in a simulated camera: read at arm's length, and never wrongly."""

from math import isclose

import pytest

from quickcheck.card import MODULE_MM, card_url, symbol
from tests.bench.camera import DECODERS, read
from tests.bench.camera_bench import wilson
from tests.bench.card_bench import BASE, sealed

TEXT = card_url(BASE, sealed(20, "A12345678"))
FRAMES = 24


@pytest.mark.parametrize(("distance", "least"), [(250, 0.9), (350, 0.6)])
def test_one_frame_is_mostly_enough(distance: int, least: float) -> None:
    """At the size chosen zxing-cpp reads most single frames; the bench counts them in hundreds."""
    found = read(symbol(TEXT), MODULE_MM, distance, FRAMES, f"test {distance}")
    assert found["zxing-cpp"].count(TEXT) >= least * FRAMES
    assert all(text in ("", TEXT) for texts in found.values() for text in texts)


def test_a_third_of_the_size_is_not() -> None:
    """The control: dots of a quarter of a millimetre are too small for the same camera."""
    found = read(symbol(TEXT), MODULE_MM / 3, 350, 6, "small")
    assert {name: texts.count(TEXT) for name, texts in found.items()} == dict.fromkeys(DECODERS, 0)


def test_wilson() -> None:
    """8 of 10: 49.0 % to 94.3 % (Agresti and Coull 1998, from memory; the formula is Wilson's)."""
    low, high = wilson(8, 10)
    assert isclose(low, 0.490, abs_tol=5e-4)
    assert isclose(high, 0.943, abs_tol=5e-4)
