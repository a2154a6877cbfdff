"""Bringing a database to the tables of today, and refusing what is not ours or is newer."""

from contextlib import suppress
from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, inspect, text

from quickcheck.errors import StoreError, shown
from quickcheck.store import index, postgresql
from quickcheck.store.session import Database

STEPS: Final = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009")
"""The migrations, in order; the last is the tables of today."""

_VERSION: Final = text("SELECT version_num FROM alembic_version")


def bring_up_to_date(database: Database) -> None:
    """Take the steps that are missing, all or none; StoreError if the schema is not ours."""
    with database.reading() as connection:
        if _step(connection, database.place) == STEPS[-1]:
            return
    with database.writing() as connection:
        postgresql.hold_steps(connection)
        take_steps(connection, database.place)


def take_steps(connection: Connection, place: str) -> None:
    """Take the steps that are missing, in a transaction that may write."""
    # Looked at again: another process may have taken the steps before we had the turn.
    if _step(connection, place) != STEPS[-1]:
        postgresql.check(connection, place)
        command.upgrade(alembic_config(connection), "head")


def see_to_index(database: Database) -> None:
    """Make the index of words where it is missing; what stands in the way holds nothing else up."""
    with suppress(StoreError):
        with database.reading() as connection:
            if index.is_of_use(connection):
                return
        with database.writing() as connection:
            postgresql.hold_steps(connection)
            if not index.is_of_use(connection):
                index.see_to(connection)


def alembic_config(connection: Connection) -> Config:
    """Return Alembic's configuration; the steps are found beside this file, also when installed."""
    config = Config()
    folder = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def _step(connection: Connection, place: str) -> str | None:
    """Return the last step taken, None in an empty database."""
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    step = connection.scalar(_VERSION) if "alembic_version" in tables else "none of ours"
    if step not in STEPS:
        raise StoreError.of(
            place,
            expected=f"a book of this program, up to step {STEPS[-1]}",
            came=f"a database at step {shown(step)}",
            remedy="A newer program made it: update this one. If it is something else, name "
            "another file. Nothing was changed.",
        )
    return str(step)
