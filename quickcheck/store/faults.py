"""What a failing database says, turned into what a person can do about it."""

import errno
from collections.abc import Mapping
from typing import Final, NamedTuple

from quickcheck.errors import StoreError, shown


class _Advice(NamedTuple):
    expected: str
    remedy: str


_ADVICE: Final[Mapping[str, _Advice]] = {
    "BUSY": _Advice(
        "a book that is free to write within a few seconds",
        "Nothing was saved. Close the other program that holds it (a second server, a backup, "
        "a database viewer), then try again.",
    ),
    "FULL": _Advice(
        "room on the disk",
        "Nothing was saved; what was saved before is safe. Make room on the disk, then try again.",
    ),
    "CANTOPEN": _Advice(
        "a folder and a file that this user may read and write",
        "Give this user the right to write there, or name another place in "
        "QUICKCHECK_DATABASE_URL.",
    ),
    "CORRUPT": _Advice(
        "a sound book",
        "Stop the program, keep a copy of the file as it is, and put back the last backup; "
        "devices then offer again what they sent since.",
    ),
    "IOERR": _Advice(
        "a disk that reads and writes",
        "Nothing was saved. Check the disk and its cable, copy the book elsewhere, then try again.",
    ),
    "": _Advice(
        "a database that answers",
        "Nothing was saved. Try again; if it stays, check that the database runs and is ours.",
    ),
}

# SQLite's result codes (sqlite.org/rescode.html) by the second word of their name.
_SAME_AS: Final[Mapping[str, str]] = {
    "LOCKED": "BUSY",
    "READONLY": "CANTOPEN",
    "PERM": "CANTOPEN",
    "NOTADB": "CORRUPT",
}


def _code(error: BaseException) -> str:
    """Return the row of the table: ``sqlite3`` names its code, the system has a number."""
    if isinstance(error, OSError):
        return "FULL" if error.errno == errno.ENOSPC else "CANTOPEN"
    name = getattr(error, "sqlite_errorname", "")
    word = name.split("_")[1] if name else ""
    return _SAME_AS.get(word, word)


def store_error(error: BaseException, *, place: str) -> StoreError:
    """Return the error to raise instead of one that the database or the system raised."""
    original = getattr(error, "orig", None) or error
    advice = _ADVICE.get(_code(original), _ADVICE[""])
    return StoreError.of(
        place, expected=advice.expected, came=shown(str(original)), remedy=advice.remedy
    )
