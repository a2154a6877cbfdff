"""The index of triples of signs in the words of inspections; the database keeps it, whoever writes.

In SQLite a table of FTS5 by its tokenizer ``trigram`` (since 3.34), which holds no text, and
triggers; `finding` gives each inspection the number by which that table knows it, as SQLite's own
numbers of rows may change in a VACUUM. In PostgreSQL an index by pg_trgm, an extension that the
owner of a database may add (it is a "trusted" one, since 13).

It is no part of the tables: a book is whole without it, and it is made wherever it is missing and
can be made.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final

from sqlalchemy import Connection, Select, text
from sqlalchemy.exc import DBAPIError

from quickcheck.store.tables import InspectionRow

TRIPLE: Final = 3

_HERE: Final[Mapping[str, str]] = {
    "sqlite": "SELECT count(*) FROM sqlite_master WHERE name = 'finding'",
    "postgresql": "SELECT count(*) FROM pg_indexes"
    " WHERE indexname = 'finding_words' AND schemaname = current_schema()",
}
_TRIED: Final[Mapping[str, str]] = {
    "sqlite": "SELECT rowid FROM finding_words WHERE finding_words MATCH '\"  a\"' LIMIT 1",
    "postgresql": "SELECT 1",
}
_ADD: Final = "INSERT INTO finding_words (rowid, words) SELECT place, new.words FROM finding"
_TAKE: Final = (
    "INSERT INTO finding_words (finding_words, rowid, words)"
    " SELECT 'delete', place, old.words FROM finding"
)
_MAKE: Final[Mapping[str, tuple[str, ...]]] = {
    "sqlite": (
        "DROP TABLE IF EXISTS finding_words",
        (
            "CREATE VIRTUAL TABLE finding_words"
            " USING fts5(words, content='', columnsize=0, detail=none, tokenize='trigram')"
        ),
        "CREATE TABLE finding (place INTEGER PRIMARY KEY, inspection_id CHAR(32) NOT NULL UNIQUE)",
        "INSERT INTO finding (inspection_id) SELECT id FROM inspection ORDER BY opened",
        (
            "INSERT INTO finding_words (rowid, words)"
            " SELECT place, words FROM finding JOIN inspection ON id = inspection_id"
        ),
        (
            "CREATE TRIGGER finding_new AFTER INSERT ON inspection BEGIN"  # noqa: S608
            " INSERT INTO finding (inspection_id) VALUES (new.id);"
            f" {_ADD} WHERE inspection_id = new.id; END"
        ),
        (
            "CREATE TRIGGER finding_changed AFTER UPDATE OF words ON inspection"
            " WHEN old.words <> new.words BEGIN"
            f" {_TAKE} WHERE inspection_id = old.id; {_ADD} WHERE inspection_id = new.id; END"
        ),
        (
            "CREATE TRIGGER finding_gone AFTER DELETE ON inspection BEGIN"  # noqa: S608
            f" {_TAKE} WHERE inspection_id = old.id;"
            " DELETE FROM finding WHERE inspection_id = old.id; END"
        ),
    ),
    "postgresql": (
        "CREATE EXTENSION IF NOT EXISTS pg_trgm",
        "CREATE INDEX finding_words ON inspection USING gin (words gin_trgm_ops)",
    ),
}
_UNMAKE: Final = (
    "DROP TRIGGER IF EXISTS finding_new",
    "DROP TRIGGER IF EXISTS finding_changed",
    "DROP TRIGGER IF EXISTS finding_gone",
    "DROP TABLE IF EXISTS finding",
)
"""Without the table of FTS5 itself, which an SQLite that doesn't know it can't drop."""


def is_here(connection: Connection) -> bool:
    """Whether there is an index."""
    return bool(connection.scalar(text(_HERE[connection.dialect.name])))


def is_of_use(connection: Connection) -> bool:
    """Whether there is an index that this SQLite or this server can work with."""
    return is_here(connection) and _works(connection, _TRIED[connection.dialect.name])


def see_to(connection: Connection) -> None:
    """Make the index where it is missing; leave the book without, where it can't be made."""
    kind = connection.dialect.name
    if kind == "sqlite":
        # One that was made by another SQLite would keep this one from saving anything.
        for statement in _UNMAKE:
            connection.exec_driver_sql(statement)
    _works(connection, *_MAKE[kind])


def _works(connection: Connection, *statements: str) -> bool:
    """Whether all of these could be done; where not, none was."""
    try:
        with connection.begin_nested():
            for statement in statements:
                connection.exec_driver_sql(statement)
    except DBAPIError as error:
        if error.connection_invalidated:
            raise
        return False
    return True


def narrowed(
    connection: Connection, query: Select[*tuple[Any, ...]], patterns: Sequence[str], *, most: int
) -> Select[*tuple[Any, ...]] | None:
    """Return a query of inspections that goes by the index; None if that would offer too many."""
    return _NARROWED[connection.dialect.name](connection, query, patterns, most=most)


def _in_sqlite(
    connection: Connection, query: Select[*tuple[Any, ...]], patterns: Sequence[str], *, most: int
) -> Select[*tuple[Any, ...]] | None:
    if not is_here(connection):
        return None
    asked = {"asked": " AND ".join(sorted({each for word in patterns for each in _triples(word)}))}
    if len(connection.execute(_OFFERED, asked | {"most": most + 1}).all()) > most:
        return None
    return query.where(InspectionRow.id.in_(_IDS.bindparams(**asked).columns(InspectionRow.id)))


_OFFERED: Final = text(
    "SELECT rowid FROM finding_words WHERE finding_words MATCH :asked LIMIT :most"
)
_IDS: Final = text(
    "SELECT inspection_id FROM finding_words JOIN finding ON place = finding_words.rowid"
    " WHERE finding_words MATCH :asked"
)


def _triples(word: str) -> Iterator[str]:
    for at in range(len(word) - TRIPLE + 1):
        yield '"' + word[at : at + TRIPLE].replace('"', '""') + '"'


def _in_postgresql(
    connection: Connection,
    query: Select[*tuple[Any, ...]],
    patterns: Sequence[str],
    *,
    most: int,  # noqa: ARG001  # it stops by itself
) -> Select[*tuple[Any, ...]] | None:
    # pg_trgm knows letters and digits alone; without any it would go through the whole index.
    if not any(sign.isalnum() for word in patterns for sign in word) or not is_here(connection):
        return None
    connection.exec_driver_sql("SET LOCAL enable_seqscan = off")  # for this transaction
    return query


_NARROWED: Final[Mapping[str, Callable[..., Select[*tuple[Any, ...]] | None]]] = {
    "sqlite": _in_sqlite,
    "postgresql": _in_postgresql,
}
