"""Photos to send: real ones, with a place in them, and what only looks like one."""

import io
import struct
import zlib
from typing import Any

from PIL import Image
from PIL.ExifTags import GPS, IFD, Base

GPS_MARK = b"Poplin Hall, north door"


def photo(kind: str = "JPEG", size: tuple[int, int] = (64, 40), **more: Any) -> bytes:
    """Return a picture of that kind."""
    picture = Image.radial_gradient("L").resize(size).convert("RGB")
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def located(kind: str, *, orientation: int = 1) -> bytes:
    """Return a picture that says where it was taken."""
    exif = Image.Exif()
    exif[Base.Orientation] = orientation
    exif[Base.ImageDescription] = GPS_MARK.decode()
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSLatitude] = (51.0, 30.0, 26.0)
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSAreaInformation] = GPS_MARK
    more = {"comment": GPS_MARK} if kind == "JPEG" else {}
    return photo(kind, exif=exif, icc_profile=b"profile " + GPS_MARK, **more)


def bomb(width: int = 50_000, height: int = 50_000) -> bytes:
    """Return a PNG of a few hundred bytes that says it has 2.5 thousand million pixels."""
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(1000))), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in chunks
    )


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


def refused() -> dict[str, bytes]:
    """Return what is no photo for us, by why."""
    whole = photo("JPEG", (400, 300))
    return {
        "svg": SVG,
        "html": b"<!doctype html><title>Sign in to the hall's network</title>",
        "gif": photo("GIF"),
        "tiff": photo("TIFF"),
        "nothing": b"",
        "cut jpeg": whole[: len(whole) // 2],
        "cut png": photo("PNG", (400, 300))[:900],
        "cut webp": photo("WEBP", (400, 300))[:300],
        "first bytes only": b"\xff\xd8\xff\xe0" + bytes(200),
        "bomb": bomb(),
        "just too many pixels": bomb(8000, 5001),
        "gif named png": b"\x89PNG\r\n\x1a\n" + photo("GIF"),
        "too many bytes": whole + bytes(12 * 1024 * 1024),
    }
