"""Books, devices and the show of another database, taken into this one.

A book is known by its identity, not by its name: two of one identity are one book, and two of one
name stay two, the one that comes under a name with a number. The first book is in every database,
so it is one book everywhere; as long as nothing was ever put into ours, it takes its name and time
from what comes.
"""

import secrets
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, count
from typing import Any, Final

from sqlalchemy import Connection, exists, func, insert, select, update

from quickcheck.store import queries
from quickcheck.store.access_tables import LONGEST_NAME, BookRow, SecretRow
from quickcheck.store.carried import (
    CarriedBook,
    CarriedDevice,
    CarriedShow,
    CarriedTally,
    columns,
    selected,
)
from quickcheck.store.session import Database
from quickcheck.store.show import ShowRow
from quickcheck.store.sync_tables import DeviceRow, ParkedRow
from quickcheck.store.tables import THIS_BOOK, InspectionRow
from quickcheck.store.tally import DeviceTallyRow

_USED: Final = select(
    *(exists(select(row)) for row in (InspectionRow, ParkedRow, DeviceRow, SecretRow, ShowRow))
)


@dataclass(frozen=True, slots=True)
class BookTaken:
    """A book that is new here; ``called`` is its name here, another one where that was taken."""

    name: str
    called: str


@dataclass(frozen=True, slots=True)
class PlaceCarried:
    """What a database knows of its books, its devices and the show."""

    books: Sequence[CarriedBook]
    devices: Sequence[CarriedDevice]
    tallies: Sequence[CarriedTally]
    shows: Sequence[CarriedShow]  # one, or none


@dataclass(frozen=True, slots=True)
class PlaceTaken:
    """What of it was new."""

    books: tuple[BookTaken, ...]
    devices: int
    show: bool


def take_place(database: Database, carried: PlaceCarried) -> PlaceTaken:
    """Take books, devices and the show, in one transaction; what is here stays as it is."""
    with database.writing() as connection:
        connection.execute(queries.HOLD_SERVER)  # two that come at once get two names
        books = _take_books(connection, carried.books)
        devices = _take_devices(connection, carried.devices)
        _take_tallies(connection, carried.tallies)
        show = _take_show(connection, carried.shows)
        if books or devices or show:
            queries.count(connection)
    return PlaceTaken(tuple(books), devices, show)


def _take_books(connection: Connection, carried: Iterable[CarriedBook]) -> list[BookTaken]:
    known = {row.id: CarriedBook(*row) for row in connection.execute(selected(CarriedBook))}
    if len(known) == 1 and not any(connection.execute(_USED).one()):
        for first in carried:
            if first.id == THIS_BOOK:
                change = update(BookRow).where(BookRow.id == THIS_BOOK)
                connection.execute(change.values(name=first.name, made=first.made))
                known[THIS_BOOK] = first
    names = {book.name.casefold() for book in known.values()}
    taken = []
    for book in carried:
        if book.id in known:
            continue
        called = free_name(book.name, names)
        names.add(called.casefold())
        connection.execute(insert(BookRow).values(columns(book) | {"name": called}))
        taken.append(BookTaken(book.name, called))
    return taken


def free_name(name: str, taken: Collection[str]) -> str:
    """Return a name that is not among some in lower case: itself, or the first number that is free."""
    ends = chain([""], map(" ({})".format, count(2)))
    called = (f"{name[: LONGEST_NAME - len(end)].rstrip()}{end}" for end in ends)
    return next(each for each in called if each.casefold() not in taken)


def _take_devices(connection: Connection, carried: Iterable[CarriedDevice]) -> int:
    """Remember devices; nobody can come in as one: the token that would fit is known to nobody."""
    known = set(connection.scalars(select(DeviceRow.id)))
    new = [
        columns(one, token_sha256=secrets.token_hex(32)) for one in carried if one.id not in known
    ]
    return _add(connection, DeviceRow, new)


def _take_tallies(connection: Connection, carried: Iterable[CarriedTally]) -> None:
    known = set(connection.scalars(select(DeviceTallyRow.device_id)))
    _add(
        connection, DeviceTallyRow, [columns(one) for one in carried if one.device_id not in known]
    )


def _take_show(connection: Connection, carried: Sequence[CarriedShow]) -> bool:
    if connection.scalar(select(func.count()).select_from(ShowRow)):
        return False
    return bool(_add(connection, ShowRow, [columns(one, one=1) for one in carried]))


def _add(connection: Connection, row: type[Any], rows: list[dict[str, Any]]) -> int:
    if rows:
        connection.execute(insert(row), rows)
    return len(rows)
