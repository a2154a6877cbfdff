"""Pictures of few bytes that would fill the memory or take for ever: refused, and the memory stays small."""

import struct
import subprocess
import sys
import zlib
from collections.abc import Callable
from typing import Final

import pytest

from quickcheck.errors import PhotoError
from quickcheck.store import recode
from tests.store.pictures import bomb, photo

_MEMORY: Final = 300 * 1024  # kB: with the interpreter and the libraries, and nothing unpacked
HUGE: Final = zlib.compress(bytes(64 * 1024 * 1024), 9)
HEAD: Final = b"\x89PNG\r\n\x1a\n"
Make = Callable[[], bytes]


def chunk(name: bytes, content: bytes) -> bytes:
    """Return a chunk of a PNG."""
    crc = struct.pack(">I", zlib.crc32(name + content))
    return struct.pack(">I", len(content)) + name + content + crc


def png(width: int, height: int, *more: bytes, depth: int = 8, kind: int = 0) -> bytes:
    """Return a PNG that says how large it is, with chunks before a little of its pixels."""
    size = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    pixels = chunk(b"IDAT", zlib.compress(bytes(1000)))
    return HEAD + chunk(b"IHDR", size) + b"".join(more) + pixels + chunk(b"IEND", b"")


def jpeg(width: int, height: int) -> bytes:
    """Return a JPEG whose head says another size than its pixels have."""
    made = photo("JPEG")
    at = made.index(b"\xff\xc0") + 5
    return made[:at] + struct.pack(">HH", height, width) + made[at + 4 :]


def webp(name: bytes, content: bytes) -> bytes:
    """Return a WebP of one chunk."""
    body = b"WEBP" + name + struct.pack("<I", len(content)) + content + bytes(len(content) % 2)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def long_webp(width: int, height: int, flags: int = 0) -> bytes:
    """Return a WebP in the long form with a canvas of that size."""
    sizes = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return webp(b"VP8X", bytes([flags, 0, 0, 0]) + sizes)


def film(frames: int) -> bytes:
    """Return a PNG that says it has so many frames."""
    return png(6000, 6000, chunk(b"acTL", struct.pack(">II", frames, 0)))


BOMBS: Final[dict[str, Make]] = {
    "PNG 2500 megapixels": bomb,
    "PNG one row too many": lambda: bomb(8000, 5001),
    "PNG one row": lambda: bomb(2**31 - 1, 1),
    "PNG one column": lambda: bomb(1, 2**31 - 1),
    "PNG all of 2^62": lambda: bomb(2**31 - 1, 2**31 - 1),
    "PNG over 2^31": lambda: bomb(2**32 - 1, 2**32 - 1),
    "PNG nothing": lambda: bomb(0, 0),
    "PNG 16 bits a colour": lambda: png(20_000, 20_000, depth=16, kind=6),
    "PNG one bit": lambda: png(60_000, 60_000, depth=1),
    "PNG packed profile": lambda: png(8, 8, chunk(b"iCCP", b"p\0\0" + HUGE)),
    "PNG packed text": lambda: png(8, 8, chunk(b"zTXt", b"c\0\0" + HUGE)),
    "PNG packed long text": lambda: png(8, 8, chunk(b"iTXt", b"c\0\1\0\0\0" + HUGE)),
    "PNG many texts": lambda: png(8, 8, *[chunk(b"zTXt", b"c\0\0" + HUGE)] * 20),
    "PNG film": lambda: film(10**9),
    "PNG chunk without end": lambda: HEAD + struct.pack(">I", 2**31 - 1) + b"IDAT" + bytes(100),
    "JPEG 4295 megapixels": lambda: jpeg(65_535, 65_535),
    "JPEG one row too many": lambda: jpeg(8000, 5001),
    "WebP 268 megapixels": lambda: webp(b"VP8L", b"\x2f" + b"\xff" * 4 + bytes(40)),
    "WebP canvas 281 terapixels": lambda: long_webp(2**24, 2**24),
    "WebP film": lambda: long_webp(16_000, 16_000, flags=2),
}


_WEIGH: Final = """
import resource, sys
from quickcheck.errors import PhotoError
from quickcheck.store import recode
try:
    recode(sys.stdin.buffer.read())
except PhotoError:
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    sys.exit(0 if most < int(sys.argv[1]) else 3)
sys.exit(4)
"""


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused(name: str) -> None:
    """Each of the twenty is a fault with words; it is no longer than a photo may be."""
    content = BOMBS[name]()
    assert len(content) < 2 * 1024 * 1024
    with pytest.raises(PhotoError, match=r"photo: expected a JPEG, PNG or WebP"):
        recode(content)


@pytest.mark.skipif(sys.platform == "win32", reason="no such figures there")
@pytest.mark.parametrize("name", ["PNG many texts", "PNG 16 bits a colour", "JPEG 4295 megapixels"])
def test_the_memory_stays_small(name: str) -> None:
    """The decoder's own process, the only one that reads it, takes less than 300 MB."""
    # In a small process: one counts what it was forked from, which may be large by now.
    done = subprocess.run(
        [sys.executable, "-c", _WEIGH, str(_MEMORY)], input=BOMBS[name](), check=False
    )
    assert done.returncode == 0
