"""The zip: written the same each time, and read as if an enemy had written it.

Written: members in their order, at one fixed time, for a file of 0600; and as the zip's comment
``sha256 `` and 64 hex digits, the SHA-256 of every byte of the file before those digits. So one flipped
bit anywhere, or a file cut short, is noticed before anything in it is looked at, and a copy is
checked by reading it once.

Read: only names that an export has, each once, regular files, stored or deflated, no two of them in
the same bytes and none before the first; bounds on number, size and ratio, by what the directory says
and again while it is unpacked. Nothing is ever unpacked into a folder.
"""

import hashlib
import io
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, Final

from quickcheck.transfer.members import NAMES, Member
from quickcheck.transfer.plain import unfit

MOST_MEMBERS: Final = 100_000
"""A day's show has two thousand inspections with three photos each, which is 8 000."""
LARGEST_FILE: Final = 32 * 1024**3
LARGEST_TOTAL: Final = 32 * 1024**3
LARGEST_MEMBER: Final = 256 * 1024**2
"""Bytes: 40 megapixels as PNG, or an inspection with a thousand of the largest documents."""
HIGHEST_RATIO: Final = 100
_WRITTEN_RATIO: Final = 80  # what squeezes better is stored as it is, so that ours stay below
_FIXED_TIME: Final = (1980, 1, 1, 0, 0, 0)
_MARK: Final = b"sha256 "
_DIGITS: Final = 64
_CHUNK: Final = 1 << 20
_LARGEST_DIRECTORY: Final = 64 * 1024**2
_LOCAL_HEADER: Final = 30  # bytes before the name
_FAULTS: Final = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    ValueError,  # UnicodeDecodeError too
    OverflowError,
    IndexError,
    RuntimeError,  # NotImplementedError too: another method, a later version
)
"""What `zipfile` raises on files that are none."""


class Writer:
    """Puts members into a zip and remembers their hashes."""

    def __init__(self, zipped: zipfile.ZipFile) -> None:
        self._zipped = zipped
        self.hashes: dict[str, tuple[int, str]] = {}

    def add(self, member: Member) -> None:
        """Write one member; its name must be new."""
        info = zipfile.ZipInfo(member.name, _FIXED_TIME)
        info.create_system = 3  # whatever system writes it
        info.external_attr = (stat.S_IFREG | 0o600) << 16
        info.compress_type = _method(member)
        self._zipped.writestr(info, member.content)
        digest = hashlib.sha256(member.content).hexdigest()
        self.hashes[member.name] = (len(member.content), digest)


def _method(member: Member) -> int:
    if not member.is_squeezed:
        return zipfile.ZIP_STORED
    size = len(member.content)
    if size > _CHUNK >> 6 and len(zlib.compress(member.content)) * _WRITTEN_RATIO < size:
        return zipfile.ZIP_STORED
    return zipfile.ZIP_DEFLATED


@contextmanager
def writing(file: IO[bytes]) -> Iterator[Writer]:
    """Write a zip into an empty file that can be read as well; seal it when the block is left."""
    with zipfile.ZipFile(file, "w") as zipped:
        yield Writer(zipped)
        zipped.comment = _MARK + b"0" * _DIGITS
    end = file.seek(0, io.SEEK_END) - _DIGITS
    file.seek(0)
    digest = _digest(file, end)
    file.seek(end)
    file.write(digest.encode())


def _digest(file: IO[bytes], size: int) -> str:
    """Return the SHA-256 of the next ``size`` bytes, or of fewer if there are no more."""
    digest = hashlib.sha256()
    while size > 0 and (chunk := file.read(min(size, _CHUNK))):
        digest.update(chunk)
        size -= len(chunk)
    return digest.hexdigest()


class _Bounded(io.BufferedReader):
    """A file of which nobody reads more than a large directory at once."""

    def read(self, size: int | None = -1, /) -> bytes:
        whole = size is None or size < 0
        content = super().read(_LARGEST_DIRECTORY + 1 if whole else size)
        if len(content) > _LARGEST_DIRECTORY:
            raise zipfile.BadZipFile(f"{len(content)} bytes at once")
        return content


class Container:
    """An opened zip whose members may be read, each within its bounds."""

    def __init__(self, zipped: zipfile.ZipFile, where: str) -> None:
        self._zipped = zipped
        self._where = where
        self.sizes = {info.filename: info.file_size for info in zipped.infolist()}

    def chunks(self, name: str) -> Iterator[bytes]:
        """Yield the content of a member, of which there is no more than its directory entry says."""
        left = self.sizes[name]
        try:
            with self._zipped.open(name) as member:
                while chunk := member.read(_CHUNK):
                    left -= len(chunk)
                    if left < 0:
                        break
                    yield chunk
        except _FAULTS as error:
            raise unfit(f"{self._where}: {name}", "a sound member", str(error)) from error
        if left:
            raise unfit(f"{self._where}: {name}", f"{self.sizes[name]} bytes", "another number")

    def read(self, name: str) -> bytes:
        """Return the content of a member."""
        return b"".join(self.chunks(name))


@contextmanager
def opened(path: Path) -> Iterator[Container]:
    """Open a zip that was sealed by `writing`; ExportError for everything else."""
    with io.FileIO(path) as raw, _Bounded(raw) as file:
        _check_seal(file, str(path))
        try:
            zipped = zipfile.ZipFile(file)
        except _FAULTS as error:
            raise unfit(str(path), "a zip", str(error)) from error
        with zipped:
            _check_directory(zipped.infolist(), str(path))
            yield Container(zipped, str(path))


def _check_seal(file: IO[bytes], where: str) -> None:
    """Refuse a file whose end does not hold the hash of all that is before."""
    size = file.seek(0, io.SEEK_END)
    if size > LARGEST_FILE:
        raise unfit(where, f"at most {LARGEST_FILE} bytes", size)
    file.seek(max(0, size - _DIGITS - len(_MARK)))
    mark, told = file.read(len(_MARK)), file.read()
    if mark != _MARK or not re.fullmatch(rb"[0-9a-f]{64}", told):
        raise unfit(where, "an export of a book", "another file, or one that was cut short")
    file.seek(0)
    came = _digest(file, size - _DIGITS)
    if came != told.decode():
        raise unfit(where, f"a file with the SHA-256 {told.decode()} up to there", came)
    file.seek(0)


def _check_directory(infos: list[zipfile.ZipInfo], where: str) -> None:
    if len(infos) > MOST_MEMBERS:
        raise unfit(where, f"at most {MOST_MEMBERS} members", len(infos))
    names = [info.filename for info in infos]
    if len(set(names)) < len(names):
        raise unfit(where, "each name once", "a name twice")
    for info in infos:
        if fault := _fault(info):
            raise unfit(f"{where}: {shown_name(info)}", *fault)
    if sum(info.file_size for info in infos) > LARGEST_TOTAL:
        raise unfit(where, f"at most {LARGEST_TOTAL} bytes unpacked", "more")
    _check_places(infos, where)


def shown_name(info: zipfile.ZipInfo) -> str:
    """Return a member's name, fit for a line of a message."""
    return ascii(info.orig_filename[:80])[1:-1]


def _fault(info: zipfile.ZipInfo) -> tuple[str, object] | None:
    """Return what is expected and what came where a directory entry is none of ours."""
    kind = stat.S_IFMT(info.external_attr >> 16)
    checks: Iterable[tuple[bool, str, Any]] = (
        (info.filename == info.orig_filename, "a name without an end inside", "another"),
        (
            NAMES.fullmatch(info.filename) is not None,
            "the name of a member of an export",
            "another",
        ),
        (kind in {0, stat.S_IFREG}, "a regular file", oct(kind)),
        (not info.flag_bits & 0x41, "a member without a password", "one with"),
        (
            info.compress_type in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED},
            "a member that is stored or deflated",
            f"method {info.compress_type}",
        ),
        (info.file_size <= LARGEST_MEMBER, f"at most {LARGEST_MEMBER} bytes", info.file_size),
        (
            info.file_size <= HIGHEST_RATIO * info.compress_size,
            f"at most {HIGHEST_RATIO} bytes out of each",
            f"{info.file_size} bytes out of {info.compress_size}",
        ),
    )
    return next(((expected, came) for holds, expected, came in checks if not holds), None)


def _check_places(infos: list[zipfile.ZipInfo], where: str) -> None:
    """Refuse members that lie in the same bytes, and anything before the first."""
    free = 0
    for info in sorted(infos, key=lambda one: one.header_offset):
        if info.header_offset != free and (free == 0 or info.header_offset < free):
            raise unfit(where, "members one after the other", "members in the same bytes")
        free = info.header_offset + _LOCAL_HEADER + len(info.filename) + info.compress_size
