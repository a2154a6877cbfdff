"""Pictures that a reference brings along: as photos, made small, in the format that is asked for."""

import io
import random

import pytest
from PIL import Image

from quickcheck.errors import PhotoError
from quickcheck.reference.pictures import MOST_BYTES
from quickcheck.store import content_type, recode_small
from tests.store.pictures import GPS_MARK, located, refused


@pytest.mark.parametrize("kind", ["png", "webp"])
def test_a_photo_becomes_a_picture(kind: str) -> None:
    """Of the format asked for, upright, without the place it was taken at."""
    made = recode_small(located("JPEG", orientation=6), kind)
    assert content_type(made) == f"image/{kind}"
    assert GPS_MARK not in made
    assert Image.open(io.BytesIO(made)).size == (40, 64)


def test_a_large_one_is_made_to_fit() -> None:
    """Noise, which nothing makes small, gets a shorter side until it may be beside a reference."""
    noise = random.Random(1).randbytes(1600 * 1200)
    out = io.BytesIO()
    Image.frombytes("L", (1600, 1200), noise).save(out, "PNG")
    made = recode_small(out.getvalue(), "webp")
    assert len(made) <= MOST_BYTES
    assert max(Image.open(io.BytesIO(made)).size) in {1000, 700, 480}


def test_a_png_written_again_is_the_same() -> None:
    """Whoever brings along what another server wrote has the same edition."""
    made = recode_small(located("PNG"), "png")
    assert recode_small(made, "png") == made


@pytest.mark.parametrize("why", refused())
def test_what_is_no_photo_is_refused(why: str) -> None:
    """Likewise."""
    with pytest.raises(PhotoError, match=r"photo: expected a JPEG, PNG or WebP"):
        recode_small(refused()[why], "webp")
