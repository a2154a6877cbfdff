"""The book: every inspection, every revision of it, and every document that came too late.

Revisions are numbered from 1 and only ever added; an inspection points to the current one. Each
revision also knows which document an undo would bring back (``back``), as a stack does: a saved
document goes on top of the current one; an undo takes the top off, which adds a revision that
holds the document below and has that one's ``back``. So undo after undo walks back to the first
document, and a document saved after an undo lies on the one that the undo brought back.

::

    1 A   back –      opened
    2 B   back 1      saved
    3 C   back 2      saved
    4 B   back 1      undo
    5 A   back –      undo      (a further undo changes nothing)
    6 D   back 5      saved     (an undo now brings back A)
"""

from collections.abc import Callable
from copy import deepcopy
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import select, tuple_

from quickcheck.errors import ConflictError
from quickcheck.reference import Reference
from quickcheck.store import queries, revisions
from quickcheck.store.documents import Document, folded, storable
from quickcheck.store.records import Entry, Kind, Saved
from quickcheck.store.revisions import Draft
from quickcheck.store.session import Database
from quickcheck.store.tables import InspectionRow

_LONGEST_LIST: Final = 1000


class Book:
    """A dealer's inspections; nothing in it is overwritten or taken away."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def open(
        self,
        inspection: UUID,
        reference: Reference,
        document: Document,
        *,
        now: datetime,
        kind: Kind = Kind.ANSWER,
    ) -> Saved:
        """Begin an inspection; the edition must be in the library.

        Opened again with the same document it gives the same receipt; another document is kept as
        one that came too late, and ConflictError says so.
        """
        draft = Draft.of(document, now, kind)
        with self._database.writing() as connection:
            if connection.scalar(queries.IS_OPEN, {"inspection": inspection}) is None:
                return revisions.begin(connection, inspection, reference=reference, draft=draft)
            current = revisions.find(connection, queries.ONE_TO_WRITE, inspection)
            saved = revisions.receive(connection, current, draft, base=0)
        return _accepted(saved, current, base=0)

    def get(self, inspection: UUID) -> Saved:
        """Return an inspection as it stands."""
        with self._database.reading() as connection:
            return revisions.find(connection, queries.ONE, inspection)

    def save(
        self,
        inspection: UUID,
        document: Document,
        *,
        revision: int,
        now: datetime,
        kind: Kind = Kind.ANSWER,
    ) -> Saved:
        """Put a document on top of ``revision``, the one its writer has seen.

        A document that changes nothing makes no new revision; one that was received before gives
        the receipt it gave then. ConflictError when another revision is current: both are kept.
        """
        draft = Draft.of(document, now, kind)
        with self._database.writing() as connection:
            current = revisions.find(connection, queries.ONE_TO_WRITE, inspection)
            saved = revisions.receive(connection, current, draft, base=revision)
        # Only after the commit, which keeps the late document.
        return _accepted(saved, current, base=revision)

    def amend(
        self, inspection: UUID, change: Callable[[dict[str, Any]], None], *, now: datetime
    ) -> Saved:
        """Let ``change`` work on the current document and save it; nobody comes in between."""
        with self._database.writing() as connection:
            current = revisions.find(connection, queries.ONE_TO_WRITE, inspection)
            document = deepcopy(current.document)
            change(document)
            draft = Draft.of(document, now, Kind.ANSWER)
            return revisions.put_on_top(connection, current, draft)

    def undo(self, inspection: UUID, now: datetime) -> Saved:
        """Bring back the document below the current one; at the first one, change nothing."""
        with self._database.writing() as connection:
            current = revisions.find(connection, queries.ONE_TO_WRITE, inspection)
            return revisions.take_back(connection, current, now)

    def history(self, inspection: UUID) -> tuple[Entry, ...]:
        """Return every document ever received, in the order of the revisions.

        One that came too late stands after the revision that was current when it came.
        """
        with self._database.reading() as connection:
            entries = revisions.entries(connection, inspection)
        if not entries:
            raise revisions.no_inspection(inspection)
        return entries

    def list(
        self, limit: int = 50, before: UUID | None = None, *, matching: str = ""
    ) -> tuple[Saved, ...]:
        """Return inspections, the last one opened first; at most 1000.

        ``before`` is the last inspection of the page before. ``matching`` finds words in the name,
        the serial, codes that were read and the title of the reference.
        """
        query = queries.CURRENT.order_by(InspectionRow.opened.desc(), InspectionRow.id.desc())
        for word in folded(storable(matching)).split():
            query = query.where(InspectionRow.words.contains(word, autoescape=True))
        if before is not None:
            place = select(InspectionRow.opened, InspectionRow.id).where(InspectionRow.id == before)
            query = query.where(
                tuple_(InspectionRow.opened, InspectionRow.id) < place.scalar_subquery()
            )
        with self._database.reading() as connection:
            rows = connection.execute(query.limit(max(0, min(limit, _LONGEST_LIST))))
            return tuple(revisions.saved_of(row) for row in rows)


def _accepted(saved: Saved | None, current: Saved, *, base: int) -> Saved:
    """Return the receipt, or say that the document came too late."""
    if saved is None:
        raise ConflictError.of(
            f"inspection {current.id}",
            expected=f"a document written on revision {current.revision}, the current one",
            came=f"one written on revision {base}",
            remedy="Somebody saved in between. Both are kept: compare them in the history.",
        )
    return saved
