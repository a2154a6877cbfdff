"""Moving a book: every row of an SQLite file into an empty PostgreSQL, compared before it counts.

All of it, the tables too, is one transaction: on any difference nothing stays. The file is read and
not written; while it is moved nobody else can write to it. A book of an older step is brought up
to date in a copy.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection, RowMapping, Table, delete, func, insert, select

from quickcheck.errors import StoreError
from quickcheck.store import postgresql
from quickcheck.store.canonical import canonical
from quickcheck.store.faults import store_error
from quickcheck.store.schema import bring_up_to_date, see_to_index, take_steps
from quickcheck.store.session import Database, connect
from quickcheck.store.tables import Row

_AT_ONCE: Final = 500  # rows
_MADE_BY_STEPS: Final = frozenset({"server", "tally", "book"})
"""Tables that the steps themselves put something into; a book that moves brings its own."""


@dataclass(frozen=True, slots=True)
class Content:
    """How many rows a table has, and a hash over them, in whatever order they come.

    The hash is the sum of the rows' SHA-256, modulo 2^256: an order would depend on how a database
    sorts text.
    """

    rows: int
    sha256: str


def move(source: Path, target: str, *, patience: float = 5.0) -> dict[str, Content]:
    """Move the book in an SQLite file into the empty database at an address.

    Returns what each table holds, in both. StoreError if the one is no book of ours, if the other
    is not empty, or if what arrived is not what was sent; then nothing of it is kept.
    """
    with _copy_of(source) as copy, _opened(copy, patience) as old, _opened(target, patience) as new:
        if new.is_sqlite:
            raise StoreError.of(
                new.place,
                expected="a PostgreSQL to move to",
                came="an SQLite file",
                remedy="Name it in QUICKCHECK_DATABASE_URL: postgresql://user@host/database. "
                "A file can be copied as it is.",
            )
        bring_up_to_date(old)
        with old.reading() as reading, new.writing() as writing:
            postgresql.hold_steps(writing)
            take_steps(writing, new.place)
            _check_empty(writing, new.place)
            found = _send(reading, writing)
            _check_same(found, contents(writing), new.place)
        see_to_index(new)
    return found


def contents(connection: Connection) -> dict[str, Content]:
    """Return what each table holds."""
    return {table.name: _content(_rows(connection, table)) for table in Row.metadata.sorted_tables}


@contextmanager
def _copy_of(source: Path) -> Iterator[Path]:
    """Copy a book as it is at this moment, and let nobody write to it meanwhile."""
    with tempfile.TemporaryDirectory(prefix="quickcheck-move-") as folder:
        copy = Path(folder) / "book.sqlite3"
        try:
            uri = f"{source.absolute().as_uri()}?mode=rw"
            with closing(sqlite3.connect(uri, uri=True, isolation_level=None)) as held:
                held.execute("BEGIN IMMEDIATE")
                shutil.copyfile(source, copy)
                yield copy
        except (sqlite3.Error, OSError) as error:
            raise store_error(error, place=str(source)) from error


@contextmanager
def _opened(where: str | Path, patience: float) -> Iterator[Database]:
    database = connect(where, patience=patience)
    try:
        yield database
    finally:
        database.close()


def _check_empty(connection: Connection, place: str) -> None:
    for table in Row.metadata.sorted_tables:
        if table.name in _MADE_BY_STEPS:
            continue
        count = connection.scalar(select(func.count()).select_from(table))
        if count:
            raise StoreError.of(
                place,
                expected="an empty database, in which no server ever served a book",
                came=f"{count} rows in {table.name}",
                remedy="Make a new database and move there. Nothing was changed.",
            )


def _send(old: Connection, new: Connection) -> dict[str, Content]:
    """Copy every table; return what was sent."""
    sent = {}
    for table in Row.metadata.sorted_tables:
        if table.name in _MADE_BY_STEPS:
            _empty(new, table)
        sent[table.name] = _content(_sending(old, new, table))
        _number_on(new, table)
    return sent


def _empty(connection: Connection, table: Table) -> None:
    """Take away what the steps put in, also where it would be kept from anybody else."""
    name = connection.dialect.identifier_preparer.format_table(table)
    connection.exec_driver_sql(f"ALTER TABLE {name} DISABLE TRIGGER USER")
    connection.execute(delete(table))
    connection.exec_driver_sql(f"ALTER TABLE {name} ENABLE TRIGGER USER")


def _sending(old: Connection, new: Connection, table: Table) -> Iterator[RowMapping]:
    waiting: list[RowMapping] = []
    for row in _rows(old, table):
        waiting.append(row)
        yield row
        if len(waiting) == _AT_ONCE:
            new.execute(insert(table), _rows_to_insert(waiting))
            waiting.clear()
    if waiting:
        new.execute(insert(table), _rows_to_insert(waiting))


def _rows_to_insert(rows: Iterable[RowMapping]) -> list[dict[str, Any]]:
    return [dict(row) for row in rows]


def _number_on(connection: Connection, table: Table) -> None:
    """Let the database go on numbering after the last row that came."""
    column = table.autoincrement_column
    if column is None:
        return
    last = connection.scalar(select(func.max(column)))
    sequence = func.pg_get_serial_sequence(table.name, column.name)
    connection.execute(select(func.setval(sequence, last or 1, last is not None)))


def _rows(connection: Connection, table: Table) -> Iterable[RowMapping]:
    keys = table.primary_key.columns
    query = select(table).order_by(*keys)
    return connection.execution_options(yield_per=_AT_ONCE).execute(query).mappings()


def _content(rows: Iterable[RowMapping]) -> Content:
    count = total = 0
    for row in rows:
        plain = {name: _plain(value) for name, value in row.items()}
        total += int.from_bytes(sha256(canonical(plain).encode()).digest())
        count += 1
    return Content(count, f"{total % (1 << 256):064x}")


def _plain(value: Any) -> object:
    """Return a value as JSON, the same from either database."""
    if isinstance(value, bytes | memoryview):
        return f"bytes {sha256(value).hexdigest()}"
    if isinstance(value, datetime):
        return value.isoformat()
    return value if value is None or isinstance(value, str) else repr(value)


def _check_same(sent: dict[str, Content], arrived: dict[str, Content], place: str) -> None:
    for name, content in sent.items():
        if arrived[name] != content:
            raise StoreError.of(
                f"{place}: {name}",
                expected=f"{content.rows} rows with the sum of hashes {content.sha256}",
                came=f"{arrived[name].rows} rows with {arrived[name].sha256}",
                remedy="Nothing was kept there, and the file is as it was. Try again; if it stays, "
                "look at the database's encoding and its disk.",
            )
