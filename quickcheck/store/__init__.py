"""The store: editions of references, inspections and all their revisions, in one database.

Whatever the database says, only `quickcheck.errors` leave this room.
"""

from quickcheck.store.book import Book
from quickcheck.store.canonical import canonical
from quickcheck.store.cards import Cards, Issued, serial_key
from quickcheck.store.carried import (
    CarriedCard,
    CarriedDevice,
    CarriedEdition,
    CarriedInspection,
    CarriedKey,
    CarriedLate,
    CarriedParked,
    CarriedPhoto,
    CarriedRecall,
    CarriedRevision,
)
from quickcheck.store.devices import Device, Devices
from quickcheck.store.documents import is_hash, text_at, write
from quickcheck.store.documents import read as document_of
from quickcheck.store.incoming import Incoming
from quickcheck.store.incoming_seals import Seals, SealsTaken
from quickcheck.store.key_files import KeyFiles
from quickcheck.store.keys import Keys
from quickcheck.store.library import Edition, Library
from quickcheck.store.merging import Fate
from quickcheck.store.opening import Store, open_store
from quickcheck.store.outgoing import COUNTED, Extent, Outgoing
from quickcheck.store.photos import Photo, Photos
from quickcheck.store.receiving import photos_of
from quickcheck.store.recoding import LARGEST_PHOTO, content_type, recode
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
    "COUNTED",
    "LARGEST_PHOTO",
    "Book",
    "Cards",
    "CarriedCard",
    "CarriedDevice",
    "CarriedEdition",
    "CarriedInspection",
    "CarriedKey",
    "CarriedLate",
    "CarriedParked",
    "CarriedPhoto",
    "CarriedRecall",
    "CarriedRevision",
    "Device",
    "Devices",
    "Difference",
    "Differing",
    "Edition",
    "Entry",
    "Extent",
    "Fate",
    "Incoming",
    "Issued",
    "KeyFiles",
    "Keys",
    "Kind",
    "Library",
    "Outcome",
    "Outgoing",
    "Photo",
    "Photos",
    "Received",
    "Saved",
    "Seals",
    "SealsTaken",
    "Sent",
    "Server",
    "Standing",
    "Store",
    "canonical",
    "content_type",
    "document_of",
    "is_hash",
    "make_key",
    "open_store",
    "photos_of",
    "recode",
    "retire_key",
    "rotate_key",
    "serial_key",
    "signer_for",
    "text_at",
    "write",
]
