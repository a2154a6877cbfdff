"""A book written into one file: under another name until it is whole and on the disk."""

import csv
import io
import os
import re
import secrets
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Final

from quickcheck import __version__
from quickcheck.errors import StoreError, shown
from quickcheck.store import CarriedInspection, Extent, Store
from quickcheck.transfer.container import Writer, writing
from quickcheck.transfer.manifest import Head, Manifest, sums
from quickcheck.transfer.members import FORMAT, MANIFEST, SHEET, SUMS, Member, Tally, members

Rows = Callable[[Extent, CarriedInspection], tuple[str, ...]]
"""Gives the row of an inspection in the sheet that is for viewing only."""

# What spreadsheets take for the start of a formula; the wide forms are folded into it by some.
# Source: OWASP, "CSV Injection"; the wide forms from memory.
_FORMULA: Final = re.compile(r"\s*[=+\-@＝＋－＠]")
_BREAKS: Final = re.compile(r"[\t\r\n\v\f\x00-\x1f\x85\u2028\u2029]+")


@dataclass(frozen=True)
class Sheet:
    """The sheet for viewing: its head, and who gives the rows."""

    head: Sequence[str]
    row_of: Rows


def write_book(store: Store, file: IO[bytes], sheet: Sheet, *, now: datetime) -> Manifest:
    """Write the book as it is at this moment into an empty file; return what was written.

    StoreError if a row was overlooked: what is counted in the book must be what went by.
    """
    extent, tally = store.outgoing.extent(), Tally()
    rows: list[tuple[str, ...]] = []
    with writing(file) as writer:
        for each in members(store.outgoing, extent, tally):
            if isinstance(each, Member):
                writer.add(each)
            elif each.revisions:
                rows.append(sheet.row_of(extent, each))
        writer.add(Member(SHEET, sheet_of(sheet.head, sorted(rows))))
        _check_counts(extent, tally)
        head = Head(
            FORMAT, __version__, store.schema, made=now, book=extent.book, epoch=extent.epoch
        )
        manifest = Manifest(head, tally.counts, dict(writer.hashes))
        _add_manifest(writer, manifest)
    return manifest


def _add_manifest(writer: Writer, manifest: Manifest) -> None:
    writer.add(Member(MANIFEST, manifest.content()))
    writer.add(Member(SUMS, sums(writer.hashes)))


def _check_counts(extent: Extent, tally: Tally) -> None:
    if tally.counts != extent.counts:
        raise StoreError.of(
            "export",
            expected=f"all that the book holds: {extent.counts}",
            came=str(tally.counts),
            remedy="Nothing was exported. Report this, and keep a copy of the whole data folder.",
        )


def sheet_of(head: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """Return a CSV file in which no cell is a formula.

    It begins with a byte order mark: without one, spreadsheets on Windows take it for the code page
    of the machine, and umlauts break. Every cell stands in quotation marks, on one line.
    """
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([defused(cell) for cell in row] for row in rows)
    return b"\xef\xbb\xbf" + out.getvalue().encode()


def defused(cell: str) -> str:
    """Return a cell that a spreadsheet shows and does not run: an apostrophe before a formula."""
    line = _BREAKS.sub(" ", cell)
    return f"'{line}" if _FORMULA.match(line) else line


@contextmanager
def new_file(path: Path) -> Iterator[tuple[Path, IO[bytes]]]:
    """Hand out an empty file beside ``path``; it takes that name when the block is left.

    After an exception nothing is left. Whoever proves it inside proves what is on the disk: `settle`.
    """
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with _told(path):
            if path.exists():
                raise _there(path)
            number = os.open(temporary, os.O_RDWR | os.O_CREAT | os.O_EXCL | _BINARY, 0o600)
            with os.fdopen(number, "w+b") as file:
                yield temporary, file
            if path.exists():
                raise _there(path)
            temporary.rename(path)
            _sync_folder(path.parent)
    finally:
        with suppress(OSError):
            temporary.unlink()


_BINARY: Final = getattr(os, "O_BINARY", 0)


def settle(file: IO[bytes]) -> None:
    """Bring what was written to the disk."""
    file.flush()
    os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Say what a person can do about a disk that is full, gone or not ours."""
    try:
        yield
    except OSError as error:
        raise StoreError.of(
            str(path),
            expected="a folder with room, in which this user may write",
            came=shown(error.strerror or str(error)),
            remedy="Nothing was left there. Make room, or name another folder or disk.",
        ) from error


def _there(path: Path) -> StoreError:
    return StoreError.of(
        str(path),
        expected="a name that is free",
        came="a file that is there already",
        remedy="Name another file, or a folder: then a name is found. Nothing is overwritten.",
    )
