"""Thirty places in a photo's file that tell who took it, where and with what: nothing of it is kept."""

import io
import struct
import zlib
from collections.abc import Callable
from typing import Final

import pytest
from PIL import Image
from PIL.ExifTags import GPS, IFD, Base
from PIL.PngImagePlugin import PngInfo
from PIL.TiffImagePlugin import IFDRational

from quickcheck.store.recode_child import _recode
from tests.store.pictures import photo

MARK: Final = b"Poplin Hall, north door, camera no. 7713"
TEXT: Final = MARK.decode()
XMP: Final = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:li>' + MARK + b"</rdf:li></x:xmpmeta>"
Make = Callable[[], bytes]


OF_A_JPEG: Final = {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
OF_A_WEBP: Final = {"loop", "background", "timestamp", "duration"}


def exif(**tags: object) -> bytes:
    """Return a block of EXIF with these tags; those of the exposure and the place go where they go."""
    made = Image.Exif()
    for name, value in tags.items():
        if name.startswith("GPS"):
            made.get_ifd(IFD.GPSInfo)[GPS[name]] = value
        elif name in ("MakerNote", "UserComment", "BodySerialNumber", "CameraOwnerName"):
            made.get_ifd(IFD.Exif)[Base[name]] = value
        else:
            made[Base[name]] = value
    return made.tobytes()


def segment(marker: int, content: bytes) -> bytes:
    """Return a JPEG with one segment more behind its first two bytes."""
    made = photo()
    return made[:2] + struct.pack(">BBH", 0xFF, marker, len(content) + 2) + content + made[2:]


def chunk(name: bytes, content: bytes) -> bytes:
    """Return a PNG with one chunk more before its pixels."""
    made = photo("PNG")
    crc = struct.pack(">I", zlib.crc32(name + content))
    return made[:33] + struct.pack(">I", len(content)) + name + content + crc + made[33:]


def riff(name: bytes, content: bytes) -> bytes:
    """Return a WebP with one chunk more at its end."""
    made = photo("WEBP", exif=exif(Artist="x"))  # in the long form, which has room for chunks
    body = made[8:] + name + struct.pack("<I", len(content)) + content + bytes(len(content) % 2)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def text_chunk() -> bytes:
    """Return a PNG with texts in all three forms."""
    info = PngInfo()
    info.add_text("Author", TEXT)
    info.add_text("Comment", TEXT, zip=True)
    info.add_itxt("Location", TEXT)
    return photo("PNG", pnginfo=info)


def two_in_one() -> bytes:
    """Return a file with a second, larger picture behind the first, as some cameras write."""
    out = io.BytesIO()
    beside = Image.open(io.BytesIO(photo("JPEG", (96, 60), comment=MARK)))
    Image.open(io.BytesIO(photo())).save(out, "MPO", save_all=True, append_images=[beside])
    return out.getvalue()


IPTC: Final = (
    b"Photoshop 3.0\x008BIM\x04\x04\0\0"
    + struct.pack(">I", len(MARK) + 5)
    + (b"\x1c\x02\x5c" + struct.pack(">H", len(MARK)) + MARK)
)
LATITUDE: Final = tuple(IFDRational(each) for each in (51, 30, 26))
FIXTURES: Final[dict[str, Make]] = {
    **{
        f"{kind} {name}": lambda kind=kind, name=name: photo(kind, exif=exif(**{name: TEXT}))
        for kind in ("JPEG", "PNG", "WEBP")
        for name in ("ImageDescription", "Artist", "CameraOwnerName", "GPSAreaInformation")
    },
    **{
        f"{kind} maker": lambda kind=kind: photo(kind, exif=exif(MakerNote=MARK, UserComment=MARK))
        for kind in ("JPEG", "PNG", "WEBP")
    },
    **{
        f"{kind} {name}": lambda kind=kind, more=more: photo(kind, **more)
        for kind in ("JPEG", "PNG", "WEBP")
        for name, more in {"XMP": {"xmp": XMP}, "profile": {"icc_profile": b"p" + MARK}}.items()
        if (kind, name) != ("PNG", "XMP")
    },
    "JPEG comment": lambda: photo(comment=MARK),
    "JPEG IPTC": lambda: segment(0xED, IPTC),
    "JPEG another application's": lambda: segment(0xEA, b"Vendor\0" + MARK),
    "JPEG second picture": two_in_one,
    "JPEG behind its end": lambda: photo() + MARK,
    "PNG texts": text_chunk,
    "PNG private chunk": lambda: chunk(b"prVt", MARK),
    "PNG behind its end": lambda: photo("PNG") + MARK,
    "WEBP chunk of another": lambda: riff(b"SECR", MARK),
    "WEBP behind its end": lambda: photo("WEBP") + MARK,
}


def test_thirty() -> None:
    """The table has thirty, and every file really has the mark in it, in its own bytes or packed."""
    assert len(FIXTURES) == 30
    plain = [name for name, make in FIXTURES.items() if MARK in make()]
    assert set(FIXTURES) - set(plain) <= {"PNG profile"}  # which PNG packs


@pytest.mark.parametrize("name", FIXTURES)
def test_nothing_of_it_is_kept(name: str) -> None:
    """The kept file opens, has no block but its pixels', and the mark is nowhere in its bytes."""
    kept = _recode(FIXTURES[name](), "")
    picture = Image.open(io.BytesIO(kept))
    picture.load()
    assert picture.format == name.partition(" ")[0]
    for part in (
        MARK,
        b"Exif",
        b"GPS",
        b"xmp",
        b"8BIM",
        b"iCCP",
        b"ICC",
        b"EXIF",
        b"tEXt",
        b"7713",
    ):
        assert part not in kept, part
    assert picture.info.keys() <= OF_A_JPEG | OF_A_WEBP
    assert not picture.getexif()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_place_in_numbers(kind: str) -> None:
    """Degrees, minutes and seconds are gone with the rest."""
    sent = photo(kind, exif=exif(GPSLatitude=LATITUDE, GPSLatitudeRef="N"))
    for content, is_told in ((sent, True), (_recode(sent, ""), False)):
        picture = Image.open(io.BytesIO(content))
        picture.load()  # a PNG may have it behind its pixels
        assert bool(picture.getexif().get_ifd(IFD.GPSInfo)) is is_told
