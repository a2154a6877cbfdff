"""The store: editions of references, inspections and all their revisions, in one database.

Whatever the database says, only `quickcheck.errors` leave this room.
"""

from quickcheck.store.book import Book
from quickcheck.store.canonical import canonical
from quickcheck.store.cards import Cards, Issued, serial_key
from quickcheck.store.devices import Device, Devices
from quickcheck.store.documents import is_hash, write
from quickcheck.store.key_files import KeyFiles
from quickcheck.store.keys import Keys
from quickcheck.store.library import Edition, Library
from quickcheck.store.moving import Content, move
from quickcheck.store.opening import Store, open_store
from quickcheck.store.photos import Photo, Photos
from quickcheck.store.receiving import photos_of
from quickcheck.store.recoding import LARGEST_PHOTO, recode
from quickcheck.store.records import (
    Difference,
    Differing,
    Entry,
    Kind,
    Outcome,
    Received,
    Saved,
    Sent,
)
from quickcheck.store.rotation import make_key, retire_key, rotate_key, signer_for
from quickcheck.store.server import Server, Standing

__all__ = [
    "LARGEST_PHOTO",
    "Book",
    "Cards",
    "Content",
    "Device",
    "Devices",
    "Difference",
    "Differing",
    "Edition",
    "Entry",
    "Issued",
    "KeyFiles",
    "Keys",
    "Kind",
    "Library",
    "Outcome",
    "Photo",
    "Photos",
    "Received",
    "Saved",
    "Sent",
    "Server",
    "Standing",
    "Store",
    "canonical",
    "is_hash",
    "make_key",
    "move",
    "open_store",
    "photos_of",
    "recode",
    "retire_key",
    "rotate_key",
    "serial_key",
    "signer_for",
    "write",
]
