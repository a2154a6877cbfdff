"""Pictures for a reference that is being written: cleaned as they come, held until it is kept.

A drawing is looked through (`reference.pictures`); anything else is decoded and written anew by the
process that does so with photos. What is held lies under its hash in a folder beside the references
that is none of them, and is dropped when others have come since: no text is bound to it yet.
"""

import os
import re
from collections.abc import Iterable, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Final

from quickcheck.desk.shelf import Shelf
from quickcheck.errors import ReferenceFaultsError, StoreError, shown
from quickcheck.reference.pictures import LONGEST_NAME, MOST_BYTES, PICTURE_NAME, picture_fault
from quickcheck.store import content_type, recode_small

_FOLDER: Final = ".pictures"
_MOST_HELD: Final = 200
_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_DEVICES: Final = re.compile(r"(?:con|prn|aux|nul|(?:com|lpt)[0-9])(?![a-z0-9_-])", re.IGNORECASE)
_ODD: Final = re.compile(r"[^a-z0-9]+")
_LONGEST_OF_OURS: Final = 40


def is_picture_name(name: str) -> bool:
    """Tell whether a reference may name a picture so, and every system can have such a file."""
    fits = PICTURE_NAME.fullmatch(name) and len(name) <= LONGEST_NAME
    return bool(fits) and not _DEVICES.match(name)


def clean(content: bytes, *, kind: str, name: str) -> bytes:
    """Return a picture as an edition may have it: svg as it is, png and webp written anew.

    ReferenceFaultsError, which names it, where it is none, or holds more than drawing; PhotoError
    where it can't be decoded.
    """
    made = content if kind == "svg" else recode_small(content, kind)
    fault = picture_fault(f"picture.{kind}", made)
    if fault:
        raise ReferenceFaultsError.of(
            name, expected=fault.expected, came=fault.came, remedy=fault.remedy
        )
    return made


def add_picture(file: str, content: bytes, *, beside: Mapping[str, bytes]) -> tuple[str, bytes]:
    """Return a name of our own for a file that came, and its cleaned content.

    ``beside`` are the pictures that are there, by their names: none of another content is replaced.
    """
    told = shown(file) if file else "the picture"
    given = content_type(content)
    if given is None:
        kind, made = "svg", clean(content, kind="svg", name=told)
    elif given == "image/png" and len(again := recode_small(content, "png")) <= MOST_BYTES:
        kind, made = "png", again
    else:
        kind, made = "webp", clean(content, kind="webp", name=told)
    return _free_name(file, kind, made, beside=beside), made


def _free_name(file: str, kind: str, made: bytes, *, beside: Mapping[str, bytes]) -> str:
    """Return a name of small letters, digits and hyphens that no other picture has."""
    stem = re.split(r"[/\\]", file)[-1].rpartition(".")[0].lower()
    stem = _ODD.sub("-", stem)[:_LONGEST_OF_OURS].strip("-") or "picture"
    stem = f"picture-{stem}" if _DEVICES.match(stem) else stem
    taken = {name.lower(): content for name, content in beside.items()}
    names = (f"{stem}{f'-{count}' if count else ''}.{kind}" for count in (0, *range(2, 10_000)))
    return next(name for name in names if taken.get(name, made) == made)


def hold(shelf: Shelf, content: bytes) -> str:
    """Keep a cleaned picture until its edition is; return its SHA-256."""
    digest = sha256(content).hexdigest()
    try:
        folder = _folder(shelf)
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / digest, content)
        for old in sorted(folder.iterdir(), key=_age)[_MOST_HELD:]:
            old.unlink(missing_ok=True)
    except OSError as error:
        raise StoreError.of(
            "references",
            expected="a folder that can be written",
            came=shown(str(error)),
            remedy="Put the picture beside the file by hand.",
        ) from None
    return digest


def held(shelf: Shelf, named: Iterable[tuple[str, str]]) -> dict[str, bytes]:
    """Return the pictures of these names and hashes, as far as they are held."""
    return {
        name: content
        for name, digest in named
        if is_picture_name(name) and (content := held_picture(shelf, digest)) is not None
    }


def held_picture(shelf: Shelf, digest: str) -> bytes | None:
    """Return the picture of this hash, None where it is not held."""
    if not _SHA256.fullmatch(digest):
        return None
    try:
        content = (_folder(shelf) / digest).read_bytes()
    except OSError:
        return None
    return content if sha256(content).hexdigest() == digest else None


def write_whole(file: Path, content: bytes) -> None:
    """Write a file so that it is there whole, or as it was."""
    draft = file.with_name(f".{file.name}.new")
    with draft.open("wb") as opened:
        opened.write(content)
        opened.flush()
        os.fsync(opened.fileno())
    draft.replace(file)


def _folder(shelf: Shelf) -> Path:
    if shelf.folders.own is None:
        raise OSError("this server has no folder for them")
    return shelf.folders.own / _FOLDER


def _age(path: Path) -> float:
    """Return when a file came, the latest first."""
    try:
        return -path.stat().st_mtime
    except OSError:  # another request dropped it
        return 0.0
