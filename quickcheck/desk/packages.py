"""A reference that comes as a file: its text alone, or a zip with the text and its pictures.

A zip comes from anybody. Nothing is unpacked to the disk, no name in it is used as a path, and each
member is read with a limit of its own, whatever the zip says of its size.
"""

import re
import stat
from collections.abc import Sequence
from io import BytesIO
from typing import Final, NoReturn
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, LargeZipFile, ZipFile, ZipInfo
from zlib import error as DamagedError  # noqa: N812  # its own name says nothing here

from quickcheck.desk.pictures import clean, is_picture_name
from quickcheck.errors import ReferenceFaultsError, shown
from quickcheck.store import LARGEST_PHOTO

_ZIP: Final = (b"PK\x03\x04", b"PK\x05\x06")
_MOST_MEMBERS: Final = 200
_MOST_BYTES: Final = 50_000_000
_MOST_TEXT: Final = 1_000_000
_RATIO: Final = 100
_ENCRYPTED: Final = 1
_ASIDE: Final = re.compile(
    r"(?:__MACOSX/.*|(?:.*/)?(?:\.DS_Store|Thumbs\.db|desktop\.ini))", re.IGNORECASE
)
_UP: Final = re.compile(r"(?:^|/)\.\.?(?:/|$)")


def unpacked(content: bytes, *, name: str) -> tuple[str, dict[str, bytes]]:
    """Return the text of a reference that came as a file, and its cleaned pictures by their names.

    ReferenceFaultsError where it is neither a text nor a zip of one text and pictures beside it.
    """
    if not content.startswith(_ZIP):
        return _text(content, name), {}
    try:
        with ZipFile(BytesIO(content)) as archive:
            members = _members(archive, name)
            return _read(archive, members, name=name)
    except (
        BadZipFile,
        LargeZipFile,
        DamagedError,
        EOFError,
        NotImplementedError,
        ValueError,
    ) as error:
        _refuse(name, "a zip that is whole", shown(str(error)), remedy="Pack it once more.")


def _members(archive: ZipFile, name: str) -> list[ZipInfo]:
    """Return the files in a zip, all of which are to be read; refuse what is not as it must be."""
    listed = archive.infolist()
    if len(listed) > _MOST_MEMBERS:
        _refuse(
            name,
            f"at most {_MOST_MEMBERS} files",
            f"{len(listed)}",
            remedy="Pack one reference alone.",
        )
    if sum(each.file_size for each in listed) > _MOST_BYTES:
        _refuse(name, "at most 50 MB in all", "more", remedy="Make the pictures smaller.")
    for each in listed:
        _check(each, name)
    files = [each for each in listed if not each.is_dir() and not _ASIDE.fullmatch(each.filename)]
    names = [each.filename.lower() for each in files]
    twice = next((each for each in names if names.count(each) > 1), None)
    if twice:
        _refuse(name, "each name once", f"{shown(twice)} twice", remedy="Pack it once more.")
    return files


def _check(member: ZipInfo, name: str) -> None:
    """Refuse a member that is no plain file with a plain name, or grows too much."""
    path = member.orig_filename
    odd = "\\" in path or ":" in path or path.startswith("/") or not path.isprintable()
    if odd or _UP.search(path):
        _refuse(
            name,
            "names without a way to other folders",
            shown(path),
            remedy="Pack the folder itself.",
        )
    if member.flag_bits & _ENCRYPTED:
        _refuse(name, "files without a password", shown(path), remedy="Pack it without one.")
    if stat.S_IFMT(member.external_attr >> 16) not in {0, stat.S_IFREG, stat.S_IFDIR}:
        _refuse(name, "plain files, no links", shown(path), remedy="Put the file itself in.")
    if member.compress_type not in {ZIP_STORED, ZIP_DEFLATED}:
        _refuse(
            name, "plain files or deflated ones", shown(path), remedy="Pack it as an ordinary zip."
        )
    if member.file_size > _RATIO * max(member.compress_size, 1):
        _refuse(
            name,
            f"files that grow {_RATIO} times at most",
            shown(path),
            remedy="Pack it once more.",
        )


def _read(
    archive: ZipFile, members: Sequence[ZipInfo], *, name: str
) -> tuple[str, dict[str, bytes]]:
    texts = [each for each in members if each.filename.lower().endswith(".toml")]
    if len(texts) != 1:
        came = ", ".join(shown(each.filename) for each in texts) or "none"
        _refuse(name, "one .toml file", came, remedy="Pack one reference with its pictures.")
    [text] = texts
    folder = text.filename.rpartition("/")[0]
    written = _text(_limited(archive, text, _MOST_TEXT, name=name), text.filename)
    pictures = {}
    for each in members:
        inside, _, bare = each.filename.rpartition("/")
        if each is text:
            continue
        if inside != folder or not is_picture_name(bare):
            wants = "beside the text svg, png and webp pictures only, named in letters and digits"
            _refuse(
                name, wants, shown(each.filename), remedy="Leave it out, or give it such a name."
            )
        raw = _limited(archive, each, LARGEST_PHOTO, name=name)
        if f'"{bare}"' in written or f"'{bare}'" in written:  # to decode one takes a moment
            pictures[bare] = clean(raw, kind=bare.rpartition(".")[2], name=f"{name}, {bare}")
    return written, pictures


def _limited(archive: ZipFile, member: ZipInfo, most: int, *, name: str) -> bytes:
    """Return a member's content; whatever the zip says of its size, no more than ``most`` is read."""
    with archive.open(member) as opened:
        content = opened.read(most + 1)
    if len(content) > most:
        wants = f"at most {most // 1_000_000} MB"
        _refuse(f"{name}, {member.filename}", wants, "more", remedy="Make it smaller.")
    return content


def _text(content: bytes, name: str) -> str:
    if len(content) > _MOST_TEXT:
        _refuse(name, "a text of at most 1 MB", "a larger one", remedy="Put pictures beside it.")
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        _refuse(name, "text in UTF-8, or a zip", shown(str(error)), remedy="Save it as UTF-8.")


def _refuse(where: str, expected: str, came: str, *, remedy: str) -> NoReturn:
    raise ReferenceFaultsError.of(where, expected=expected, came=came, remedy=remedy)
