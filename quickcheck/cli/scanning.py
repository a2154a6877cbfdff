"""The code in a picture: a PNG or a JPEG, as a camera or a screenshot gives it."""

from pathlib import Path
from types import ModuleType
from typing import Final

import numpy as np
from PIL import Image

from quickcheck.card import Scanned, read_text
from quickcheck.errors import CardError, NotFoundError, PhotoError, shown
from quickcheck.store import LARGEST_PHOTO

_KINDS: Final = ("PNG", "JPEG")
_MOST_PIXELS: Final = 40_000_000
_BROKEN: Final = (OSError, SyntaxError, ValueError, Image.DecompressionBombError)
"""What Pillow raises for a file that is none of the two, is cut or is damaged."""


def scan(path: Path) -> Scanned:
    """Return the one card whose code is in a picture.

    NotFoundError without the file or the decoder, PhotoError if it is no picture that can be read,
    CardError unless it shows the code of one card.
    """
    decoder = _decoder()
    pixels = _pixels(path)
    found = decoder.read_barcodes(pixels, formats=decoder.BarcodeFormat.QRCode)
    return _one_card([code.text for code in found])


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


def _pixels(path: Path) -> "np.ndarray[tuple[int, ...], np.dtype[np.uint8]]":
    """Return the picture in grey, rows from the top."""
    try:
        size = path.stat().st_size
        if size > LARGEST_PHOTO:
            raise _no_picture(path, f"{size} bytes")
        with Image.open(path, formats=_KINDS) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                raise _no_picture(path, f"{picture.width} × {picture.height} pixels")
            return np.asarray(picture.convert("L"), dtype=np.uint8)
    except FileNotFoundError:
        raise NotFoundError.of(
            str(path),
            expected="a card's address, its digits, or a PNG or JPEG file",
            came="no such file",
            remedy="Name an existing file, or paste the whole address.",
        ) from None
    except _BROKEN as error:
        raise _no_picture(path, str(error)) from error


def _no_picture(path: Path, came: str) -> PhotoError:
    return PhotoError.of(
        str(path),
        expected=f"a whole PNG or JPEG of at most {LARGEST_PHOTO // 1_000_000} MB and "
        f"{_MOST_PIXELS // 1_000_000} megapixels",
        came=shown(came),
        remedy="Take the picture again, or give the text of the code.",
    )


def _one_card(texts: list[str]) -> Scanned:
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
