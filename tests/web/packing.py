"""Zips as people make them, and as nobody should."""

import io
import stat
import struct
import zipfile
from collections.abc import Iterable, Mapping

from tests.web.kit import PICTURE, REFERENCE

LINK = stat.S_IFLNK | 0o777
TEXT = REFERENCE.encode()
GOOD: Mapping[str, bytes] = {"loom.toml": TEXT, "wood.svg": PICTURE}


def packed(
    members: Iterable[tuple[str, bytes]],
    *,
    mode: int = 0,
    method: int = zipfile.ZIP_DEFLATED,
    flags: int = 0,
) -> bytes:
    """Return a zip; ``mode`` and ``flags`` are put into the list for every member."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, content in members:
            info = zipfile.ZipInfo(name)
            info.compress_type = method
            info.external_attr = mode << 16
            archive.writestr(info, content)
            info.flag_bits |= flags
    return out.getvalue()


def good(**more: bytes) -> list[tuple[str, bytes]]:
    """Return what a reference with one picture is made of, and more."""
    return [*GOOD.items(), *more.items()]


def renamed(content: bytes, old: str, new: str) -> bytes:
    """Return a zip in which a name is another of the same length, as no packer writes it."""
    assert len(old) == len(new)
    return content.replace(old.encode(), new.encode())


def claimed(content: bytes, size: int, claim: int) -> bytes:
    """Return a zip that says of a member of one size that it has another."""
    old, new = struct.pack("<I", size), struct.pack("<I", claim)
    assert content.count(old) >= 2
    return content.replace(old, new)


def quine() -> bytes:
    """Return a zip with a zip in it that has the first bytes of itself: none is ever opened."""
    inner = packed(good())
    return packed([*GOOD.items(), ("again.zip", inner)])
