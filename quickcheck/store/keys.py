"""Issuer keys as they are known here: made, retired, revoked; none is ever forgotten."""

from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, Row, bindparam, select, update

from quickcheck.card import IssuerKey, KeyRing
from quickcheck.errors import ConflictError, NotFoundError
from quickcheck.store import queries
from quickcheck.store.records import in_utc
from quickcheck.store.seal_tables import IssuerKeyRow
from quickcheck.store.session import Database

_KEYS: Final = select(
    IssuerKeyRow.public,
    IssuerKeyRow.issuer,
    IssuerKeyRow.made,
    IssuerKeyRow.retired,
    IssuerKeyRow.revoked,
).order_by(IssuerKeyRow.made, IssuerKeyRow.id)
# PostgreSQL lets two writers in at once, so the row is held; SQLAlchemy leaves it out for SQLite.
_ONE_TO_WRITE: Final = _KEYS.where(IssuerKeyRow.id == bindparam("key")).with_for_update()


class Keys:
    """The pinned list: a card by a key that is not in it is by an unknown issuer."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def list(self) -> tuple[IssuerKey, ...]:
        """Return all keys, the first made first."""
        with self._database.reading() as connection:
            return all_keys(connection)

    def ring(self) -> KeyRing:
        """Return all keys by their ids."""
        return KeyRing.of(self.list())

    def get(self, key_id: bytes) -> IssuerKey:
        """Return one key."""
        found = self.ring().find(key_id)
        if found is None:
            raise _no_key(key_id)
        return found

    def add(self, key: IssuerKey) -> None:
        """Make a key known; one that is known already stays as it is."""
        with self._database.writing() as connection:
            _add(connection, key)

    def rotate(self, old: bytes, new: IssuerKey) -> IssuerKey:
        """Make a new key known and retire an old one at that moment, both or neither."""
        with self._database.writing() as connection:
            retired = _end(connection, old, now=new.made, revoke=False)
            _add(connection, new)
        return retired

    def retire(self, key_id: bytes, now: datetime) -> IssuerKey:
        """Let a key sign no more; what it sealed until now stands."""
        with self._database.writing() as connection:
            return _end(connection, key_id, now=now, revoke=False)

    def revoke(self, key_id: bytes, now: datetime) -> IssuerKey:
        """Believe a key no more, except where a card stands in the issue log."""
        with self._database.writing() as connection:
            return _end(connection, key_id, now=now, revoke=True)


def all_keys(connection: Connection) -> tuple[IssuerKey, ...]:
    """Return all keys, the first made first."""
    return tuple(_key(row) for row in connection.execute(_KEYS))


def key_to_write(connection: Connection, key_id: bytes) -> IssuerKey:
    """Return a key; until the transaction ends nobody else changes it or issues a card by it."""
    row = connection.execute(_ONE_TO_WRITE, {"key": key_id.hex()}).one_or_none()
    if row is None:
        raise _no_key(key_id)
    return _key(row)


def _key(row: Row[*tuple[Any, ...]]) -> IssuerKey:
    return IssuerKey(*row)


def _add(connection: Connection, key: IssuerKey) -> None:
    known = connection.execute(_ONE_TO_WRITE, {"key": key.id.hex()}).one_or_none()
    if known is not None:
        if known.public == key.public:
            return
        raise ConflictError.of(
            "key",
            expected="a key with an id of its own",
            came=f"another with the id {key.id.hex()}",
            remedy="Make a new one; this happens once in thousands of millions.",
        )
    row = {
        "id": key.id.hex(),
        "public": key.public,
        "issuer": key.issuer,
        "made": in_utc(key.made),
        "retired": key.retired and in_utc(key.retired),
        "revoked": key.revoked and in_utc(key.revoked),
    }
    if not queries.added(connection, IssuerKeyRow, row):  # somebody else was first
        _add(connection, key)


def _end(connection: Connection, key_id: bytes, *, now: datetime, revoke: bool) -> IssuerKey:
    """Note that a key signs no more; the first moment of each kind stands."""
    key, at = key_to_write(connection, key_id), in_utc(now)
    ended = replace(key, retired=key.retired or at, revoked=key.revoked or (at if revoke else None))
    if ended != key:
        values = {"retired": ended.retired, "revoked": ended.revoked}
        of_key = IssuerKeyRow.id == key_id.hex()
        connection.execute(update(IssuerKeyRow).where(of_key).values(**values))
    return ended


def _no_key(key_id: bytes) -> NotFoundError:
    return NotFoundError.of(
        "key",
        expected="the id of a key that is known here",
        came=key_id.hex(),
        remedy="quickcheck keys list shows them.",
    )
