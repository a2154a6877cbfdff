"""A book as one file: written, proved, taken into another book.

See README.md for the format and for what becomes of what.
"""

from quickcheck.transfer.bundle import Bundle, open_bundle
from quickcheck.transfer.manifest import Manifest
from quickcheck.transfer.proving import prove
from quickcheck.transfer.taking import Taken, take
from quickcheck.transfer.writing import Sheet, new_file, settle, write_book

__all__ = [
    "Bundle",
    "Manifest",
    "Sheet",
    "Taken",
    "new_file",
    "open_bundle",
    "prove",
    "settle",
    "take",
    "write_book",
]
