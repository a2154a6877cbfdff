"""Run in a process of its own: a photo on standard input, the same photo written anew on output.

It is a program by itself that imports nothing of ours: if a decoder is tricked, what it can reach
is a process with little memory and little time, and no file open. Exit codes: 0 done, 3 refused
(the reason is on standard error). With the name of a format after it, PNG or WEBP, the picture is
written in that one, and no longer on either side than a page shows it.
"""

import io
import sys
import warnings

from PIL import Image, ImageOps

_PIXELS = 40_000_000
_MEMORY = 1536 * 1024 * 1024  # 40 megapixels at 4 bytes, three times, and the libraries
_SECONDS = 30
_QUALITY = 88
_SIDES = (1000, 700, 480)  # pixels, of a picture that a reference brings along: the first that fits
_SMALL = 200_000  # bytes that such a picture may have


def _limit() -> None:
    if sys.platform == "win32":  # there, only the caller's time-out ends it
        return
    import resource  # noqa: PLC0415

    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (_SECONDS, _SECONDS))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _recode(content: bytes, small: str) -> bytes:
    """Return the picture upright and without anything but its pixels; ``small``: in that format."""
    with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as opened:
        kind = opened.format or ""
        opened.load()
        upright = ImageOps.exif_transpose(opened)
    clear = kind != "JPEG" and upright.has_transparency_data
    plain = upright.convert("RGBA" if clear else "RGB")
    plain.info.clear()  # comments, colour profile, places and times
    written = b""
    for side in _SIDES if small else (max(plain.size),):
        plain.thumbnail((side, side))
        written = _written(plain, small or kind)
        if not small or len(written) <= _SMALL:
            break
    return written


def _written(plain: Image.Image, kind: str) -> bytes:
    out = io.BytesIO()
    plain.save(out, kind, **({} if kind == "PNG" else {"quality": _QUALITY}))
    return out.getvalue()


def main() -> int:
    """Do it."""
    Image.MAX_IMAGE_PIXELS = _PIXELS
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    _limit()
    try:
        done = _recode(sys.stdin.buffer.read(), "".join(sys.argv[1:]))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        sys.stderr.write("too many pixels")
        return 3
    except MemoryError:
        sys.stderr.write("too much memory")
        return 3
    except Exception as error:  # noqa: BLE001  # whatever a decoder raises, it is no photo for us
        sys.stderr.write(f"it could not be decoded ({type(error).__name__})")
        return 3
    sys.stdout.buffer.write(done)
    return 0


if __name__ == "__main__":
    sys.exit(main())
