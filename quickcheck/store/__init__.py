"""The store: editions of references, inspections and all their revisions, in one database.

Whatever the database says, only `quickcheck.errors` leave this room.
"""

from quickcheck.store.access import CODE_LASTS, UNLOCKED_FOR, Access, OneBook, even_code
from quickcheck.store.book import Book
from quickcheck.store.canonical import canonical
from quickcheck.store.cards import Cards, Issued, serial_key
from quickcheck.store.carried import (
    CarriedBook,
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
    CarriedShow,
    CarriedTally,
    CarriedWord,
)
from quickcheck.store.certificates import Certificate, TlsFiles, open_to_others, read_certificate
from quickcheck.store.devices import Device, Devices
from quickcheck.store.documented import Documented, Paper, Papers, Word
from quickcheck.store.documents import is_hash, text_at, write
from quickcheck.store.documents import read as document_of
from quickcheck.store.incoming import Incoming
from quickcheck.store.incoming_access import BookTaken, PlaceCarried, PlaceTaken
from quickcheck.store.incoming_seals import Seals, SealsTaken
from quickcheck.store.key_files import KeyFiles
from quickcheck.store.keys import Keys
from quickcheck.store.library import Edition, Library
from quickcheck.store.merging import Fate
from quickcheck.store.moving import Content, move
from quickcheck.store.opening import Store, open_store
from quickcheck.store.organizer_secret import SHORTEST
from quickcheck.store.outgoing import COUNTED, Extent, Outgoing
from quickcheck.store.photos import Photo, Photos
from quickcheck.store.receiving import photos_of
from quickcheck.store.recoding import LARGEST_PHOTO, content_type, recode, recode_small
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
from quickcheck.store.tally import Counted, Tally

__all__ = [
    "CODE_LASTS",
    "COUNTED",
    "EVERYTHING",
    "LARGEST_PHOTO",
    "SHORTEST",
    "THIS_BOOK",
    "UNLOCKED_FOR",
    "Access",
    "Book",
    "BookTaken",
    "Cards",
    "CarriedBook",
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
    "CarriedShow",
    "CarriedTally",
    "CarriedWord",
    "Certificate",
    "Content",
    "Counted",
    "Device",
    "Devices",
    "Difference",
    "Differing",
    "Documented",
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
    "OneBook",
    "Outcome",
    "Outgoing",
    "Paper",
    "Papers",
    "Photo",
    "Photos",
    "PlaceCarried",
    "PlaceTaken",
    "Received",
    "Role",
    "Saved",
    "Scope",
    "Seals",
    "SealsTaken",
    "Sent",
    "Server",
    "Show",
    "ShowFacts",
    "Standing",
    "Store",
    "Tally",
    "TlsFiles",
    "Word",
    "canonical",
    "content_type",
    "document_of",
    "even_code",
    "is_hash",
    "make_key",
    "move",
    "no_inspection",
    "open_store",
    "open_to_others",
    "photos_of",
    "read_certificate",
    "recode",
    "recode_small",
    "retire_key",
    "rotate_key",
    "serial_key",
    "signer_for",
    "text_at",
    "write",
]
