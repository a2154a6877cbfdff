"""Connections and transactions: how the book is read, and how it is written so that it lasts.

What belongs to one kind of database alone is in `quickcheck.store.postgresql` and below.

In SQLite every write starts with ``BEGIN IMMEDIATE``: a transaction that reads first and writes
later would fail at once, without waiting, when somebody else wrote in between. The journal is
deleted at each commit, and that deletion is the commit: with ``synchronous = FULL`` the folder is
not synced after it, so a power cut may bring the journal back, which then rolls back what was
acknowledged. EXTRA syncs the folder too (https://www.sqlite.org/pragma.html#pragma_synchronous).
``sqlite3`` starts transactions by itself, and late; that is switched off, and `Database` says BEGIN
instead. It says so to the driver: SQLAlchemy's ``begin`` event would do, at a tenth of a
millisecond for each transaction.
"""

import os
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import SQLAlchemyError

from quickcheck.errors import StoreError, shown
from quickcheck.store import postgresql
from quickcheck.store.faults import store_error

_READING: Final[Mapping[str, str]] = {"sqlite": "BEGIN", "postgresql": postgresql.READING}
_WRITING: Final[Mapping[str, str]] = {"sqlite": "BEGIN IMMEDIATE", "postgresql": ""}
"""What a transaction starts with, by the kind of database."""

_PRAGMAS: Final = (
    "PRAGMA journal_mode = DELETE",
    "PRAGMA synchronous = EXTRA",
    "PRAGMA foreign_keys = ON",
)


class Database:
    """One database: hands out transactions; every fault leaves it as a `StoreError`."""

    def __init__(self, engine: Engine, *, place: str, patience: float) -> None:
        self.engine = engine
        self.place = place
        self._patience = patience
        # SQLite has one writer anyway. Queueing for it here is fair and wakes at once; SQLite's
        # own waiting sleeps and retries. PostgreSQL's writers hold rows, and wait for those alone.
        self._turn = threading.Lock()
        self._mine = threading.local()  # .connection: what this thread is in the middle of writing

    @property
    def is_sqlite(self) -> bool:
        """Whether the book is one file on this machine."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Everything read inside is of one moment."""
        if outer := self._outer():
            yield outer
            return
        with self._told(), self.engine.begin() as connection:
            self._start(connection, _READING)
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """All of it is kept, durably, when the block is left; or, after an exception, none."""
        if outer := self._outer():
            yield outer
            return
        with (
            self._alone() if self.is_sqlite else nullcontext(),
            self._told(),
            self.engine.begin() as connection,
        ):
            self._start(connection, _WRITING)
            yield connection

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Wait for the other threads of this process."""
        if not self._turn.acquire(timeout=self._patience):
            busy = sqlite3.OperationalError("database is locked by another thread")
            busy.sqlite_errorname = "SQLITE_BUSY"
            raise store_error(busy, place=self.place)
        try:
            yield
        finally:
            self._turn.release()

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make one transaction of whatever this thread reads and writes inside the block."""
        with self.writing() as connection:
            self._mine.connection = connection
            try:
                yield
            finally:
                self._mine.connection = None

    def _outer(self) -> Connection | None:
        return getattr(self._mine, "connection", None)

    def _start(self, connection: Connection, how: Mapping[str, str]) -> None:
        if statement := how[self.engine.dialect.name]:
            if self.is_sqlite:  # an eighth of the time
                driver: Any = connection.connection.driver_connection
                driver.execute(statement)
            else:  # by SQLAlchemy, which throws a lost connection away
                connection.exec_driver_sql(statement)

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except (SQLAlchemyError, sqlite3.Error, OSError) as error:
            raise store_error(error, place=self.place) from error

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()


def connect(url: str | Path, *, patience: float) -> Database:
    """Return the database at ``url``, not yet looked at; a missing SQLite file is made, 0600."""
    if isinstance(url, Path):
        return _sqlite(url, patience=patience)
    parsed = _parsed(url)
    if parsed.get_backend_name() == "sqlite":
        return _sqlite(Path(parsed.database or ""), patience=patience)
    place = parsed.render_as_string(hide_password=True)
    try:
        engine = postgresql.engine(parsed, patience=patience)
    except (ImportError, SQLAlchemyError) as error:
        raise StoreError.of(
            place,
            expected="the driver for this database",
            came=shown(str(error)),
            remedy="Install it: pip install 'instrument-quickcheck[postgresql]'.",
        ) from error
    return Database(engine, place=place, patience=patience)


def _parsed(url: str) -> URL:
    try:
        parsed = make_url(url)
    except (SQLAlchemyError, ValueError):
        parsed = None
    if parsed is None or not _is_ours(parsed):
        # The text may hold a password, so it is not repeated.
        raise StoreError.of(
            "QUICKCHECK_DATABASE_URL",
            expected="sqlite:/// and the path of a file, or postgresql:// and a database",
            came="something else",
            remedy="Write for instance sqlite:////home/me/book.sqlite; a book in memory is lost.",
        )
    return parsed


def _is_ours(url: URL) -> bool:
    if url.get_backend_name() != "sqlite":
        return url.get_backend_name() in _READING
    return url.database not in {None, "", ":memory:"} and not url.query


def _sqlite(file: Path, *, patience: float) -> Database:
    path = file.expanduser().absolute()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        # Made here because SQLite would give it the rights of any other file.
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        path.chmod(0o600)
    except OSError as error:
        raise store_error(error, place=str(path)) from error
    engine = create_engine(
        URL.create("sqlite+pysqlite", database=str(path)),
        connect_args={"timeout": patience},
        pool_size=8,
        max_overflow=8,
        hide_parameters=True,  # what an owner said has no place in a log, an error's text neither
    )
    event.listen(engine, "connect", _prepare)
    return Database(engine, place=str(path), patience=patience)


def _prepare(connection: Any, _record: object) -> None:
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(pragma)
