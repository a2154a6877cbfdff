"""The store: editions of references, inspections and all their revisions, in one database.

Whatever the database says, only `quickcheck.errors` leave this room.
"""

from quickcheck.store.book import Book
from quickcheck.store.library import Edition, Library
from quickcheck.store.opening import Store, open_store
from quickcheck.store.records import Entry, Kind, Saved

__all__ = ["Book", "Edition", "Entry", "Kind", "Library", "Saved", "Store", "open_store"]
