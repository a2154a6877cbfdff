"""Whose inspections somebody may see: a book's, those of one visit at a kiosk, or everybody's.

Who asks for what is not theirs gets the very error of what is not there, so that nothing is told.
"""

import copy
from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final, Self
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Select, select, union_all

from quickcheck.errors import NotFoundError, shown
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import ParkedRow
from quickcheck.store.tables import THIS_BOOK, InspectionRow


class Role(StrEnum):
    """What a device is used as."""

    ORGANIZER = "organizer"  # a station of the organizer's; their rights come with unlocking
    DEALER = "dealer"
    KIOSK = "kiosk"  # one person after the other, each for a visit


@dataclass(frozen=True, slots=True)
class Scope:
    """What may be seen and written; what is begun goes into ``book`` and ``visit``."""

    book: UUID = THIS_BOOK
    visit: UUID | None = None  # None: whatever the visit
    everything: bool = False  # every book; ``book`` still says where new inspections go

    def holds(self, book: UUID, visit: UUID | None) -> bool:
        """Whether an inspection of this book and visit may be seen."""
        mine = book == self.book and self.visit in {None, visit}
        return self.everything or mine

    @property
    def conditions(self) -> tuple[ColumnElement[bool], ...]:
        """What an inspection must be to be of the scope."""
        if self.everything:
            return ()
        mine = InspectionRow.book_id == self.book
        return (mine,) if self.visit is None else (mine, InspectionRow.visit == self.visit)

    def narrow(self, query: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
        """Return a query over inspections that finds those of the scope only."""
        return query.where(*self.conditions)

    def check(self, connection: Connection, inspection: UUID) -> None:
        """Refuse an inspection that is somebody else's, as if there were none.

        One that nobody opened belongs to whoever sent a document for it that was parked; one that
        nobody ever heard of is free.
        """
        if self.everything:
            return
        owners = connection.execute(_owners([inspection]))
        if not all(self.holds(owner.book_id, owner.visit) for owner in owners):
            raise no_inspection(inspection)

    def need(self, connection: Connection, inspection: UUID) -> None:
        """Refuse an inspection that is not here, or somebody else's, in the same words."""
        if not self.owns(connection, inspection):
            raise no_inspection(inspection)

    def owns(self, connection: Connection, inspection: UUID) -> bool:
        """Whether an inspection is here and of this scope."""
        return inspection in self.owned(connection, [inspection])

    def owned(self, connection: Connection, inspections: Collection[UUID]) -> frozenset[UUID]:
        """Return which of some inspections are here and of this scope."""
        if self.everything:
            return frozenset(inspections)
        mine: set[UUID] = set()
        others: set[UUID] = set()
        for owner in connection.execute(_owners(inspections)):
            (mine if self.holds(owner.book_id, owner.visit) else others).add(owner.inspection)
        return frozenset(mine - others)


EVERYTHING: Final = Scope(everything=True)
"""What the commands and a server without an organizer's secret see."""


class Scoped:
    """A part of the store that keeps to a scope; as it is made, to everything."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self.scope = EVERYTHING

    def within(self, scope: Scope) -> Self:
        """Return the same for somebody with this scope."""
        narrowed = copy.copy(self)
        narrowed.scope = scope
        return narrowed


def _owners(inspections: Collection[UUID]) -> Any:
    opened = select(
        InspectionRow.id.label("inspection"), InspectionRow.book_id, InspectionRow.visit
    )
    parked = select(ParkedRow.inspection_id, ParkedRow.book_id, ParkedRow.visit)
    return union_all(
        opened.where(InspectionRow.id.in_(inspections)),
        parked.where(ParkedRow.inspection_id.in_(inspections)),
    )


def no_inspection(inspection: UUID) -> NotFoundError:
    """Return the error for an inspection that is not in the book."""
    return NotFoundError.of(
        "inspection",
        expected="an inspection of this book",
        came=shown(str(inspection)),
        remedy="Look in the book's list; one that is only on a phone must be sent first.",
    )
