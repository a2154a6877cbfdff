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

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import lru_cache
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection

from quickcheck.errors import ConflictError
from quickcheck.reference import Reference
from quickcheck.store import finding, queries, receiving, revisions
from quickcheck.store.documents import Document, read, storable
from quickcheck.store.records import (
    Difference,
    Differing,
    Entry,
    Kind,
    Outcome,
    Received,
    Saved,
    Sent,
)
from quickcheck.store.revisions import Draft
from quickcheck.store.scope import Scoped, no_inspection
from quickcheck.store.session import Database
from quickcheck.store.tables import InspectionRow

_LONGEST_LIST: Final = 1000


class Book(Scoped):
    """The inspections of a scope; nothing in it is overwritten or taken away.

    To every method an inspection of another scope is one that is not there.
    """

    def __init__(self, database: Database) -> None:
        super().__init__(database)
        # Shared by the book in every scope; whose an inspection is and its edition never change.
        self._edition_of = lru_cache(maxsize=1024)(
            lambda scope, one: self.within(scope).get(one).reference_hash
        )

    @contextmanager
    def _reading(self, inspection: UUID) -> Iterator[Connection]:
        with self._database.reading() as connection:
            self.scope.check(connection, inspection)
            yield connection

    @contextmanager
    def _writing(self, inspection: UUID) -> Iterator[Connection]:
        with self._database.writing() as connection:
            self.scope.check(connection, inspection)
            yield connection

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
        with self._writing(inspection) as connection:
            if connection.scalar(queries.IS_OPEN, {"inspection": inspection}) is None and (
                first := revisions.begin(
                    connection, inspection, reference=reference, draft=draft, scope=self.scope
                )
            ):
                return first
            current = revisions.find_to_write(connection, inspection)
            saved = revisions.receive(connection, current, draft, base=0)
        return _accepted(saved, current, base=0)

    def get(self, inspection: UUID) -> Saved:
        """Return an inspection as it stands."""
        with self._reading(inspection) as connection:
            return revisions.find(connection, queries.ONE, inspection)

    def edition_of(self, inspection: UUID) -> str:
        """Return the hash of the edition that an inspection began with, and keeps."""
        return self._edition_of(self.scope, inspection)

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
        with self._writing(inspection) as connection:
            current = revisions.find_to_write(connection, inspection)
            saved = revisions.receive(connection, current, draft, base=revision)
        # Only after the commit, which keeps the late document.
        return _accepted(saved, current, base=revision)

    def amend(
        self, inspection: UUID, change: Callable[[dict[str, Any]], None], *, now: datetime
    ) -> Saved:
        """Let ``change`` work on the current document and save it; nobody comes in between."""
        with self._writing(inspection) as connection:
            current = revisions.find_to_write(connection, inspection)
            document = read(current.text)
            change(document)
            draft = Draft.of(document, now, Kind.ANSWER)
            return revisions.put_on_top(connection, current, draft)

    def undo(self, inspection: UUID, now: datetime) -> Saved:
        """Bring back the document below the current one; at the first one, change nothing."""
        with self._writing(inspection) as connection:
            current = revisions.find_to_write(connection, inspection)
            return revisions.take_back(connection, current, now)

    def receive(
        self,
        inspection: UUID,
        reference: Reference,
        sent: Sent,
        *,
        now: datetime,
        differing: Differing | None = None,
    ) -> Received:
        """Take a document that a device sent, or keep it beside what is there.

        The rules are those of `quickcheck.store.receiving`. A document for another edition than
        the inspection began with is parked.
        """
        draft = Draft.sent(sent, now)
        with self._writing(inspection) as connection:
            saved: Saved | None = None
            if connection.scalar(queries.IS_OPEN, {"inspection": inspection}) is None:
                saved = revisions.begin(
                    connection, inspection, reference=reference, draft=draft, scope=self.scope
                )
            if saved is None:
                current = revisions.find_to_write(connection, inspection)
                if current.reference_hash != reference.hash:
                    columns = self._parked(
                        inspection, sent, edition_hash=reference.hash, reason="another edition"
                    )
                    receiving.park(connection, draft, columns, current=current.revision)
                    return Received(Outcome.PARKED, None, current, ())
                saved = receiving.take(connection, current, draft, sent=sent)
            return _received(connection, inspection, draft, saved=saved, differing=differing)

    def park(
        self, inspection: UUID, sent: Sent, *, edition_hash: str, reason: str, now: datetime
    ) -> Received:
        """Keep a document that can't be taken as it is, for an inspection that may not be open."""
        draft = Draft.sent(sent, now)
        columns = self._parked(inspection, sent, edition_hash=edition_hash, reason=reason)
        with self._writing(inspection) as connection:
            is_open = connection.scalar(queries.IS_OPEN, {"inspection": inspection})
            current = is_open and revisions.find_to_write(connection, inspection)
            number = current.revision if current else 0
            receiving.park(connection, draft, columns, current=number)
        return Received(Outcome.PARKED, None, current or None, ())

    def bring_back(
        self, inspection: UUID, document: Document, *, revision: int, now: datetime
    ) -> Saved:
        """Put a version on top that a person chose; the current one too, which lets it stand.

        It is a new revision in any case: that somebody decided is part of the history.
        ConflictError when ``revision`` is not the current one any more; nothing is changed then.
        """
        draft = Draft.of(document, now, Kind.BACK)
        with self._writing(inspection) as connection:
            current = revisions.find_to_write(connection, inspection)
            if current.revision != revision:
                raise ConflictError.of(
                    f"inspection {inspection}",
                    expected=f"a choice among all versions, of which {current.revision} is current",
                    came=f"one made when {revision} was",
                    remedy="Somebody saved in between. Look at the versions again and choose.",
                )
            return revisions.add(connection, current, draft, back=current.revision)

    def undecided(self) -> frozenset[UUID]:
        """Return the inspections of which two versions are kept and nobody has chosen yet."""
        with self._database.reading() as connection:
            return frozenset(connection.scalars(self.scope.narrow(queries.UNDECIDED)))

    def differences(self) -> tuple[Difference, ...]:
        """Return where a phone judged otherwise than we did, the last one noticed first."""
        with self._database.reading() as connection:
            query = self.scope.narrow(queries.DIFFERENCES)
            rows = connection.execute(query.limit(_LONGEST_LIST))
            return tuple(
                Difference(
                    row.inspection_id,
                    row.revision,
                    Differing(row.phone, row.server, row.rules),
                    row.noticed,
                )
                for row in rows
            )

    def history(self, inspection: UUID) -> tuple[Entry, ...]:
        """Return every document ever received, in the order of the revisions.

        One that came too late stands after the revision that was current when it came.
        """
        with self._reading(inspection) as connection:
            entries = revisions.entries(connection, inspection)
        if not entries:
            raise no_inspection(inspection)
        return entries

    def list(
        self, limit: int = 50, before: UUID | None = None, *, matching: str = ""
    ) -> tuple[Saved, ...]:
        """Return inspections, the last one opened first; at most 1000.

        ``before`` is the last inspection of the page before. ``matching`` finds words in the name,
        the serial, codes that were read and the title of the reference; one of a single sign or two
        where it begins one of theirs.
        """
        most = max(0, min(limit, _LONGEST_LIST))
        with self._database.reading() as connection:
            after = finding.place_of(connection, before) if before else None
            if before and after is None:
                return ()
            found = finding.find(
                connection, matching, most, after=after, scope=self.scope.conditions
            )
            rows = connection.execute(queries.CURRENT.where(InspectionRow.id.in_(found)))
            listed = {row.id: revisions.saved_of(row) for row in rows}
        return tuple(listed[each] for each in found)

    def _parked(
        self, inspection: UUID, sent: Sent, *, edition_hash: str, reason: str
    ) -> dict[str, Any]:
        return {
            "inspection_id": inspection,
            "edition_hash": edition_hash,
            "base": revisions.within(sent.base),
            "reason": storable(reason),
            "book_id": self.scope.book,
            "visit": self.scope.visit,
        }


def _received(
    connection: Connection,
    inspection: UUID,
    draft: Draft,
    *,
    saved: Saved | None,
    differing: Differing | None,
) -> Received:
    """Note what belongs to a document that was taken or came too late."""
    current = revisions.find(connection, queries.ONE, inspection)
    receiving.announce(connection, current, draft)
    if saved and differing:
        receiving.note_difference(connection, saved, differing, now=draft.now)
    missing = receiving.missing(connection, current)
    return Received(Outcome.TAKEN if saved else Outcome.LATE, saved, current, missing)


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
