"""A picture's file: a PNG or a JPEG, as a camera or a screenshot gives it."""

from pathlib import Path
from typing import Final

from PIL import Image

from quickcheck import desk
from quickcheck.card import Scanned
from quickcheck.errors import NotFoundError, PhotoError, shown
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
    return desk.card_in(_pixels(path))


def _pixels(path: Path) -> desk.Pixels:
    try:
        size = path.stat().st_size
        if size > LARGEST_PHOTO:
            raise _no_picture(path, f"{size} bytes")
        with Image.open(path, formats=_KINDS) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                raise _no_picture(path, f"{picture.width} × {picture.height} pixels")
            return desk.grey(picture)
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
