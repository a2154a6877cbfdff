"""Which book this is, how much was written into it, and whether some of it went missing.

A book that is put back from a backup can't know it by itself: everything in it, random names too,
is as it was. Who knows are the devices. So each reply carries a *mark*: the book's name, the token
of the last start of a program on it, and a count of the writes so far. Each start notes the count
that it found. A device sends back the last mark that it saw, and the book compares:

* a start that it never had, or a count that a later start did not reach, or that is still not
  reached: writes that somebody was told of are gone. The book takes a new epoch, and all devices
  that see it offer again what they sent in the last 30 days;
* a mark of another book says nothing (and the epochs differ anyway).

A book can only be put back while no program holds it, so there is at most one new epoch a start.
"""

import re
import secrets
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, Row, func, insert, select, update

from quickcheck.errors import StoreError
from quickcheck.store import queries
from quickcheck.store.records import in_utc
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import ServerRow, StartRow, TallyRow

_MARK: Final = re.compile(r"([0-9a-f]{32})\.([0-9a-f]{32})\.([0-9]{1,18})", re.ASCII)
_COMMITS: Final = select(func.sum(TallyRow.commits)).scalar_subquery()
_STANDING: Final = select(
    ServerRow.book,
    ServerRow.epoch,
    _COMMITS.label("commits"),
    ServerRow.noticed,
    StartRow.token,
    StartRow.number,
).join(
    StartRow,
    StartRow.number
    == select(StartRow.number).order_by(StartRow.number.desc()).limit(1).scalar_subquery(),
)


@dataclass(frozen=True, slots=True)
class Standing:
    """What a device remembers of the book: see the head of this module."""

    epoch: str
    commits: int
    mark: str


class Server:
    """The book's own name and count."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def begin(self, now: datetime) -> None:
        """Note a start of the program, with the count that it found.

        A disk without room must not keep anybody from reading; then an earlier start stands.
        """
        with suppress(StoreError), self._database.writing() as connection:
            _note_start(connection, now)

    def standing(self, now: datetime) -> Standing:
        """Return what every reply to a device carries."""
        with self._database.reading() as connection:
            row = connection.execute(_STANDING).one_or_none()
        if row is None:  # the very first start could not be noted
            with self._database.writing() as connection:
                _note_start(connection, now)
                row = connection.execute(_STANDING).one()
        return _standing(row)

    def compare(self, mark: str, now: datetime) -> Standing:
        """Hold the book against a mark that a device saw; what is gone makes a new epoch."""
        seen = _MARK.fullmatch(mark)
        if seen is None or not self._lacks(*seen.groups()):
            return self.standing(now)
        with self._database.writing() as connection:
            connection.execute(queries.HOLD_SERVER)
            row = connection.execute(_STANDING).one()
            if row.noticed != row.number:
                new = {"epoch": secrets.token_hex(16), "noticed": row.number}
                connection.execute(update(ServerRow).values(**new))
        return self.standing(now)

    def _lacks(self, book: str, token: str, count: str) -> bool:
        with self._database.reading() as connection:
            here = connection.execute(_STANDING).one_or_none()
            if here is None or here.book != book:
                return False
            number = connection.scalar(select(StartRow.number).where(StartRow.token == token))
            if number is None:
                return True
            reached = connection.scalar(
                select(StartRow.commits)
                .where(StartRow.number > number)
                .order_by(StartRow.number)
                .limit(1)
            )
        return int(count) > (here.commits if reached is None else reached)


def _note_start(connection: Connection, now: datetime) -> None:
    """Note a start; a write that is told of later than its count was found sees this start."""
    connection.execute(queries.HOLD_TALLIES)
    found = connection.scalar(select(_COMMITS))
    row = {"token": secrets.token_hex(16), "commits": found, "began": in_utc(now)}
    connection.execute(insert(StartRow).values(**row))


def _standing(row: Row[*tuple[Any, ...]]) -> Standing:
    commits = int(row.commits)  # PostgreSQL sums into a decimal
    return Standing(row.epoch, commits, f"{row.book}.{row.token}.{commits}")
