"""The store: editions of references, inspections and all their revisions, in one database.

Whatever the database says, only `quickcheck.errors` leave this room.
"""

from quickcheck.store.access import CODE_LASTS, UNLOCKED_FOR, Access, OneBook, even_code
from quickcheck.store.book import Book
from quickcheck.store.canonical import canonical
from quickcheck.store.cards import Cards, Issued, serial_key
from quickcheck.store.certificates import Certificate, TlsFiles, open_to_others, read_certificate
from quickcheck.store.devices import Device, Devices
from quickcheck.store.documents import is_hash, write
from quickcheck.store.key_files import KeyFiles
from quickcheck.store.keys import Keys
from quickcheck.store.library import Edition, Library
from quickcheck.store.opening import Store, open_store
from quickcheck.store.organizer_secret import SHORTEST
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
from quickcheck.store.scope import EVERYTHING, Role, Scope, no_inspection
from quickcheck.store.server import Server, Standing
from quickcheck.store.show import Show, ShowFacts
from quickcheck.store.tables import THIS_BOOK

__all__ = [
    "CODE_LASTS",
    "EVERYTHING",
    "LARGEST_PHOTO",
    "SHORTEST",
    "THIS_BOOK",
    "UNLOCKED_FOR",
    "Access",
    "Book",
    "Cards",
    "Certificate",
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
    "OneBook",
    "Outcome",
    "Photo",
    "Photos",
    "Received",
    "Role",
    "Saved",
    "Scope",
    "Sent",
    "Server",
    "Show",
    "ShowFacts",
    "Standing",
    "Store",
    "TlsFiles",
    "canonical",
    "even_code",
    "is_hash",
    "make_key",
    "no_inspection",
    "open_store",
    "open_to_others",
    "photos_of",
    "read_certificate",
    "recode",
    "retire_key",
    "rotate_key",
    "serial_key",
    "signer_for",
    "write",
]
