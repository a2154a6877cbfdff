"""The code in a picture's pixels, and the one card among the codes that are found there."""

from collections.abc import Sequence
from io import BytesIO
from types import ModuleType

import numpy as np
from PIL import Image

from quickcheck.card import Scanned, read_text
from quickcheck.errors import CardError, NotFoundError
from quickcheck.store import recode

Pixels = np.ndarray[tuple[int, ...], np.dtype[np.uint8]]
"""A picture in grey, rows from the top."""


def reads_pictures() -> bool:
    """Whether the decoder of codes in pictures is here."""
    try:
        _decoder()
    except NotFoundError:
        return False
    return True


def card_in_photo(content: bytes) -> Scanned:
    """Return the one card whose code a stranger's picture shows.

    A process with limits reads it first (`store.recode`), and what is decoded here are its pixels.
    NotFoundError without the decoder, PhotoError if it is no picture, CardError without one card.
    """
    decoder = _decoder()
    with Image.open(BytesIO(recode(content).content)) as picture:
        return _card_in(decoder, grey(picture))


def card_in(pixels: Pixels) -> Scanned:
    """Return the one card whose code is in a picture; NotFoundError, CardError as above."""
    return _card_in(_decoder(), pixels)


def grey(picture: Image.Image) -> Pixels:
    """Return a picture's pixels in grey."""
    return np.asarray(picture.convert("L"), dtype=np.uint8)


def _card_in(decoder: ModuleType, pixels: Pixels) -> Scanned:
    found = decoder.read_barcodes(pixels, formats=decoder.BarcodeFormat.QRCode)
    return one_card([code.text for code in found])


def _decoder() -> ModuleType:
    try:
        import zxingcpp  # noqa: PLC0415 - an extra: most who serve cards read no pictures
    except ImportError:
        raise NotFoundError.of(
            "zxing-cpp",
            expected="the decoder of codes in pictures",
            came="nothing of that name",
            remedy='Install it: pip install "instrument-quickcheck[image]", or give the text.',
        ) from None
    return zxingcpp


def one_card(texts: Sequence[str]) -> Scanned:
    """Return the card among the codes; a code of something else beside it is no harm."""
    cards: dict[bytes, Scanned] = {}
    faults: list[CardError] = []
    for text in texts:
        try:
            scanned = read_text(text)
        except CardError as error:
            faults.append(error)
        else:
            cards[scanned.data] = scanned
    if len(cards) == 1:
        return cards.popitem()[1]
    if len(faults) == 1 and not cards:
        raise faults[0]
    raise CardError.of(
        "picture",
        expected="the code of one card, sharp and whole",
        came=f"{len(cards)} cards among {len(texts)} codes",
        remedy="Take a picture of the one code alone, from nearer and without glare.",
    )
