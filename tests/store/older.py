"""A book as an earlier step left it: its tables, with the rows that today's code would write."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

from alembic import command

from quickcheck.store import Store, open_store
from quickcheck.store.schema import alembic_config
from quickcheck.store.session import connect

_NOT_COMPARED = frozenset({"alembic_version", "server", "start"})
"""What every step and every opening writes to."""

Rows = dict[str, list[dict[str, object]]]


def make_older(place: Path, step: str, fill: Callable[[Store], object]) -> Rows:
    """Make a book at a step, with what ``fill`` puts into one of today; return its rows."""
    today = place.with_name("today.sqlite")
    with open_store(today) as store:
        fill(store)
    database = connect(place, patience=5)
    with database.writing() as connection:
        command.upgrade(alembic_config(connection), step)
    database.close()
    with sqlite3.connect(place) as file:
        file.execute("ATTACH ? AS today", (str(today),))
        for table, columns in _tables(file).items():
            if table != "book":  # whose first row can't be taken away; it is replaced
                file.execute(f"DELETE FROM {table}")  # noqa: S608
            listed = ", ".join(columns)
            file.execute(
                f"INSERT OR REPLACE INTO {table} ({listed}) SELECT {listed} FROM today.{table}"  # noqa: S608
            )
    file.close()
    return rows_of(place)


def rows_of(place: Path) -> Rows:
    """Return every row of every table of the file."""
    with sqlite3.connect(place) as file:
        rows = {
            table: [
                dict(zip(columns, row, strict=True))
                for row in file.execute(
                    f"SELECT {', '.join(columns)} FROM {table} ORDER BY 1, 2"  # noqa: S608
                )
            ]
            for table, columns in _tables(file).items()
        }
    file.close()
    return rows


def lost(before: Rows, after: Rows) -> list[str]:
    """Return the tables of which a row is gone or differs in a column that it had."""
    return [
        table
        for table, rows in before.items()
        if [{name: row[name] for name in old} for row, old in zip(after[table], rows, strict=False)]
        != rows
    ]


def _tables(file: sqlite3.Connection) -> dict[str, list[str]]:
    names = [
        name
        for (name,) in file.execute("SELECT name FROM main.sqlite_master WHERE type = 'table'")
        if name not in _NOT_COMPARED and not name.startswith("finding")
    ]
    return {
        name: [row[1] for row in file.execute(f"PRAGMA main.table_info({name})")] for name in names
    }
