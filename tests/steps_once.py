"""New books in files, made quickly: the steps are taken once, and what they made is made again.

Hundreds of tests begin with a new book, and taking the steps costs most of what these tests take.
Only a book that begins at nothing and goes to the tables of today is made so, from what the real
steps made first; and what is random or of its time in it is new each time.
"""

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, text

Upgrade = Callable[[Config, str], None]
_NAMED = text("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY rowid")
_MADE = text("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY rowid")


@contextmanager
def steps_once() -> Iterator[None]:
    """Take the steps of a new book once in this process."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(command, "upgrade", _remembering(command.upgrade))
        yield


def _remembering(upgrade: Upgrade) -> Upgrade:
    made: list[tuple[str, tuple[object, ...]]] = []

    def remembered(config: Config, target: str) -> None:
        connection: Connection = config.attributes["connection"]
        is_new = connection.dialect.name == "sqlite" and not connection.scalars(_NAMED).all()
        if target != "head" or not is_new:
            upgrade(config, target)
        elif not made:
            upgrade(config, target)
            made.extend(_what_is_there(connection))
        else:
            for statement, values in made:
                connection.exec_driver_sql(statement, values)
            _make_new(connection)

    return remembered


def _what_is_there(connection: Connection) -> Iterator[tuple[str, tuple[object, ...]]]:
    """Yield what makes the tables of a database again, and the rows in them."""
    for statement in connection.scalars(_MADE).all():
        yield statement, ()
    for table in connection.scalars(_NAMED).all():
        for row in connection.exec_driver_sql(f"SELECT * FROM {table}").all():  # noqa: S608
            yield f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", tuple(row)  # noqa: S608


def _make_new(connection: Connection) -> None:
    names = (secrets.token_hex(16), secrets.token_hex(16))
    connection.exec_driver_sql("UPDATE server SET book = ?, epoch = ?", names)
    now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S.%f")
    connection.exec_driver_sql("UPDATE book SET made = ?", (now,))
