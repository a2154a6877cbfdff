"""Photos from outside, decoded and encoded anew where it can do no harm.

A picture may be a bomb, may be aimed at a decoder, and carries where it was taken. So another
process reads it, with limits on memory and time, and what is kept are the pixels it gave back.
"""

import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Final

from quickcheck.errors import PhotoError
from quickcheck.store.photos import Photo

LARGEST_PHOTO: Final = 12 * 1024 * 1024
"""Bytes; a phone sends about a tenth of that."""

_CHILD: Final = Path(__file__).with_name("recode_child.py")
_PATIENCE: Final = 60.0  # seconds, also for a machine that has other things to do
_REFUSED: Final = 3
_one_at_a_time = threading.Lock()


def recode(content: bytes, *, patience: float = _PATIENCE) -> Photo:
    """Return the photo with nothing in it but its pixels; PhotoError if it can't be one."""
    return _recoded(content, content_type(content), patience=patience)


def recode_small(content: bytes, kind: str, *, patience: float = _PATIENCE) -> bytes:
    """Return a picture for a reference, at most 1000 pixels long, as "png" or "webp"; PhotoError likewise."""
    return _recoded(content, f"image/{kind}", kind.upper(), patience=patience).content


def _recoded(content: bytes, kind: str | None, *words: str, patience: float) -> Photo:
    """Return what the other process makes of it, if that is of this kind."""
    if content_type(content) is None or kind is None:
        raise _refusal("something else, going by its first bytes")
    if len(content) > LARGEST_PHOTO:
        raise _refusal(f"{len(content)} bytes")
    with _one_at_a_time:  # each may take much of the machine's memory
        done = _run(content, *words, patience=patience)
    if done.returncode == 0 and content_type(done.stdout) == kind:
        return Photo(kind, done.stdout)
    told = done.stderr.decode(errors="replace") if done.returncode == _REFUSED else ""
    raise _refusal(told or "more than the decoder is allowed to take")


def content_type(content: bytes) -> str | None:
    """Return what a file is, by its first bytes alone."""
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    return None


def _run(content: bytes, *words: str, patience: float) -> subprocess.CompletedProcess[bytes]:
    # -I: nothing from the folder it runs in or the user's own; nothing of our environment either,
    # but for what Windows needs to start a program at all.
    environment = {k: os.environ[k] for k in ("SYSTEMROOT",) if k in os.environ}
    try:
        return subprocess.run(  # noqa: S603  # our own program, the picture is on its input
            [sys.executable, "-I", str(_CHILD), *words],
            input=content,
            capture_output=True,
            timeout=patience,
            check=False,
            env=environment,
        )
    except subprocess.TimeoutExpired:
        raise _refusal("one that takes too long to read") from None


def _refusal(came: str) -> PhotoError:
    return PhotoError.of(
        "photo",
        expected="a JPEG, PNG or WebP of at most 12 MB and 40 megapixels",
        came=came,
        remedy="Take it again, or make it smaller. The answers are not affected.",
    )
