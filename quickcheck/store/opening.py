"""The store as a whole: opened once at the start, shared by all threads."""

import copy
import shutil
import sqlite3
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import func, select, text

from quickcheck.store import index, postgresql
from quickcheck.store.access import Access
from quickcheck.store.book import Book
from quickcheck.store.cards import Cards
from quickcheck.store.devices import Device, Devices
from quickcheck.store.documented import Documented
from quickcheck.store.incoming import Incoming
from quickcheck.store.keys import Keys
from quickcheck.store.library import Library
from quickcheck.store.outgoing import Outgoing
from quickcheck.store.photos import Photos
from quickcheck.store.schema import STEPS, bring_up_to_date, see_to_index
from quickcheck.store.scope import Scope
from quickcheck.store.server import Server
from quickcheck.store.session import Database, connect
from quickcheck.store.show import ShowFacts
from quickcheck.store.sync_tables import DeviceRow, DifferenceRow, ParkedRow, PhotoRow
from quickcheck.store.tables import ConflictRow, EditionRow, InspectionRow, RevisionRow
from quickcheck.store.tally import Tallies, Tally

_COUNTED = {
    "editions": EditionRow,
    "inspections": InspectionRow,
    "revisions": RevisionRow,
    "late": ConflictRow,
    "parked": ParkedRow,
    "photos": PhotoRow,
    "differences": DifferenceRow,
    "devices": DeviceRow,
}


class Store:
    """The library and the book in one database; as it is opened, all books of it at once."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self.library = Library(database)
        self.book = Book(database)
        self.photos = Photos(database)
        self.devices = Devices(database)
        self.server = Server(database)
        self.keys = Keys(database)
        self.cards = Cards(database)
        self.documented = Documented(database)
        self.show = ShowFacts(database)
        self.access = Access(database)
        self.tallies = Tallies(database)
        self.outgoing = Outgoing(database)
        self.incoming = Incoming(database, self.library)

    def within(self, scope: Scope) -> Self:
        """Return the same store for somebody who may see no more than this."""
        store = copy.copy(self)
        store.book = self.book.within(scope)
        store.photos = self.photos.within(scope)
        store.cards = self.cards.within(scope)
        store.documented = self.documented.within(scope)
        return store

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close every connection."""
        self._database.close()

    @property
    def schema(self) -> str:
        """The step that the tables are at."""
        return STEPS[-1]

    def together(self) -> AbstractContextManager[None]:
        """Keep all that this thread writes inside the block, or, after an exception, none of it."""
        return self._database.together()

    def hear(
        self,
        device: Device,
        tally: Tally | None,
        *,
        now: datetime,
        unsent: int | None = None,
        skew: float | None = None,
    ) -> None:
        """Keep what a device tells of itself with a message, in one transaction; or none of it."""
        told: Any = {"now": now, "unsent": unsent, "skew": skew}
        counts = tally and self.tallies.is_news(device.id, tally, now=now)
        if not counts and not self.devices.is_news(device, **told):
            return
        with self.together():
            self.devices.tell(device, **told)
            if tally:
                self.tallies.note(device.id, tally, now=now)

    def health(self) -> dict[str, Any]:
        """Return what the health page shows; StoreError if the database doesn't answer."""
        database = self._database
        counts = [
            select(func.count()).select_from(row).scalar_subquery().label(name)
            for name, row in _COUNTED.items()
        ]
        with database.reading() as connection:
            counted = connection.execute(select(*counts)).one()._asdict()
            told = {"found_by": "index" if index.is_here(connection) else "walking"}
            if not database.is_sqlite:
                told |= postgresql.settings(connection)
        told = {"database": database.engine.dialect.name, "schema": STEPS[-1], **counted, **told}
        return told | (self._file_health() if database.is_sqlite else {})

    def room(self) -> int | None:
        """Return how many bytes are free where the book is; None where that is not known here."""
        if not self._database.is_sqlite:
            return None
        return shutil.disk_usage(Path(self._database.place).parent).free

    def check(self) -> tuple[str, ...]:
        """Read the whole file and return what is damaged; nothing is the good news."""
        if not self._database.is_sqlite:
            return ()  # PostgreSQL keeps checksums of its own
        with self._database.reading() as connection:
            told = list(connection.scalars(text("PRAGMA quick_check(20)")))
            told += connection.scalars(text('SELECT "table" FROM pragma_foreign_key_check')).all()
        return tuple(line for line in told if line != "ok")

    def _file_health(self) -> dict[str, Any]:
        path = Path(self._database.place)
        pragmas = ("journal_mode", "synchronous", "foreign_keys")
        with self._database.reading() as connection:
            settings = {name: connection.scalar(text(f"PRAGMA {name}")) for name in pragmas}
            return {
                "sqlite": sqlite3.sqlite_version,
                "file": str(path),
                "bytes": path.stat().st_size,
                "disk_free": shutil.disk_usage(path.parent).free,
                **settings,
            }


def open_store(url: str | Path, *, patience: float = 5.0) -> Store:
    """Return the store at ``url``, or in the file at that path, its tables brought up to date.

    ``patience`` is how many seconds a write waits while another program writes. StoreError if the
    place can't be read or written, is damaged, isn't ours, or was made by a newer program.
    """
    database = connect(url, patience=patience)
    try:
        bring_up_to_date(database)
        see_to_index(database)
    except BaseException:
        database.close()
        raise
    store = Store(database)
    store.server.begin(datetime.now(UTC))
    return store
