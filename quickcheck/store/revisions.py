"""The rules of the book, on one connection inside one transaction of the caller's."""

from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection, Row, Select

from quickcheck.errors import NotFoundError, StoreError, shown
from quickcheck.reference import Reference
from quickcheck.store import queries
from quickcheck.store.documents import Document, Written, search_words, text_at, write
from quickcheck.store.records import Entry, Kind, Saved, Sent, in_utc
from quickcheck.store.scope import Scope, no_inspection
from quickcheck.store.tables import InspectionRow

_BIGGEST: Final = 2**31 - 1  # what a database integer holds


@dataclass(frozen=True, slots=True)
class Draft:
    """A document on its way in, its text proved to be plain JSON."""

    document: Document
    written: Written
    now: datetime
    kind: Kind
    device: UUID | None = None

    @classmethod
    def of(cls, document: Document, now: datetime, kind: Kind) -> "Draft":
        """Return the draft of a document; AnswerError if it is no plain JSON."""
        return cls(document, write(document), in_utc(now), kind)

    @classmethod
    def sent(cls, sent: Sent, now: datetime) -> "Draft":
        """Return the draft of a document that a device sent."""
        return replace(cls.of(sent.document, now, Kind.ANSWER), device=sent.device)

    @property
    def columns(self) -> dict[str, object]:
        """The columns that a revision and a late document have in common."""
        written = self.written
        return {
            "saved": self.now,
            "sha256": written.sha256,
            "document": written.text,
            "device_id": self.device,
        }


def find(connection: Connection, query: Select[*tuple[Any, ...]], inspection: UUID) -> Saved:
    """Return the inspection as it stands."""
    row = connection.execute(query, {"inspection": inspection}).one_or_none()
    if row is None:
        raise no_inspection(inspection)
    return saved_of(row)


def find_to_write(connection: Connection, inspection: UUID) -> Saved:
    """Return the inspection as it stands; until the transaction ends nobody else changes it."""
    if connection.dialect.name != "sqlite":  # which has one writer
        connection.execute(queries.HOLD, {"inspection": inspection})
    return find(connection, queries.ONE, inspection)


def begin(
    connection: Connection, inspection: UUID, *, reference: Reference, draft: Draft, scope: Scope
) -> Saved | None:
    """Add an inspection with its first revision; None if somebody else has it open by now.

    It belongs to the scope's book and visit.
    """
    if connection.scalar(queries.IS_KEPT, {"hash": reference.hash}) is None:
        raise NotFoundError.of(
            "edition of a reference",
            expected="an edition that is kept in the library",
            came=shown(f"{reference.id}, {reference.edition}"),
            remedy="Keep it first, so that this inspection can always be judged again.",
        )
    first = Saved(
        id=inspection,
        revision=0,
        back=None,
        reference_hash=reference.hash,
        reference_id=reference.id,
        title=reference.title,
        opened=draft.now,
        saved=draft.now,
        sha256="",
        text="",
    )
    row = {
        "id": inspection,
        "edition_hash": reference.hash,
        "current": 0,
        "opened": draft.now,
        "saved": draft.now,
        "name": "",
        "serial": "",
        "words": "",
        "book_id": scope.book,
        "visit": scope.visit,
    }
    if not queries.added(connection, InspectionRow, row):
        return None
    return add(connection, first, draft, back=None)


def receive(connection: Connection, current: Saved, draft: Draft, *, base: int) -> Saved | None:
    """Put a document written on ``base`` on top, or keep it as late and return None.

    One that was received before (the reply was lost, and it is sent again) gives its first receipt.
    """
    if base == current.revision:
        return put_on_top(connection, current, draft)
    repeat = at(connection, current.id, base + 1) if 0 <= base < current.revision else None
    if repeat and repeat.sha256 == draft.written.sha256:
        return repeat
    keep_late(connection, current, draft, base=base)
    return None


def keep_late(connection: Connection, current: Saved, draft: Draft, *, base: int) -> None:
    """Keep a document that came too late; the same one is kept once."""
    known = within(base)
    late = {"inspection": current.id, "base": known, "sha256": draft.written.sha256}
    if connection.scalar(queries.SAME_LATE, late) is None:
        connection.execute(
            queries.ADD_LATE,
            {
                "inspection_id": current.id,
                "base": known,
                "current": current.revision,
                **draft.columns,
            },
        )
        queries.count(connection, current.id)


def within(base: int) -> int:
    """Return a number that the database can hold for a revision that was never given out."""
    return max(-1, min(base, _BIGGEST))


def put_on_top(connection: Connection, current: Saved, draft: Draft) -> Saved:
    """Add a revision that an undo takes off again; a document that changes nothing adds none."""
    if draft.written.sha256 == current.sha256:
        return current
    return add(connection, current, draft, back=current.revision or None)


def take_back(connection: Connection, current: Saved, now: datetime) -> Saved:
    """Add a revision that holds the document below the current one, if there is one."""
    below = at(connection, current.id, current.back) if current.back else None
    if below is None:
        return current
    draft = Draft.of(below.document, now, Kind.UNDO)
    return add(connection, current, draft, back=below.back)


def add(connection: Connection, current: Saved, draft: Draft, *, back: int | None) -> Saved:
    """Add a revision and make it the current one."""
    saved = replace(
        current,
        revision=current.revision + 1,
        back=back,
        saved=draft.now,
        sha256=draft.written.sha256,
        text=draft.written.text,
    )
    connection.execute(
        queries.ADD_REVISION,
        {
            "inspection_id": saved.id,
            "number": saved.revision,
            "back": back,
            "kind": draft.kind,
            **draft.columns,
        },
    )
    connection.execute(
        queries.MAKE_CURRENT,
        {
            "inspection": saved.id,
            "current": saved.revision,
            "saved": saved.saved,
            "name": text_at(draft.document, "name"),
            "serial": text_at(draft.document, "serial_text"),
            "words": search_words(draft.document, saved.title),
        },
    )
    queries.count(connection, saved.id)
    return saved


def saved_of(row: Row[*tuple[Any, ...]]) -> Saved:
    """Return a row of `queries.LISTED` as a value."""
    return Saved(
        id=row.id,
        revision=row.number,
        back=row.back,
        reference_hash=row.edition_hash,
        reference_id=row.reference_id,
        title=row.title,
        opened=row.opened,
        saved=row.saved,
        sha256=row.sha256,
        text=_proved(row),
    )


def entries(connection: Connection, inspection: UUID) -> tuple[Entry, ...]:
    """Return every document, those that are no revision after the one that was current then."""
    which = {"inspection": inspection}
    placed = [
        (row.number, _entry(row, key=f"revision-{row.number}", kind=Kind(row.kind), back=row.back))
        for row in connection.execute(queries.REVISIONS, which)
    ]
    placed += [
        (row.current, _entry(row, key=f"late-{row.id}", kind=Kind.LATE, back=row.base))
        for row in connection.execute(queries.LATE, which)
    ]
    placed += [
        (
            row.current,
            replace(
                _entry(row, key=f"parked-{row.id}", kind=Kind.PARKED, back=row.base),
                reason=row.reason,
            ),
        )
        for row in connection.execute(queries.PARKED, which)
    ]
    # Sorting is stable: a revision stays before what came too late for it.
    return tuple(entry for _, entry in sorted(placed, key=lambda place: place[0]))


def _entry(row: Row[*tuple[Any, ...]], *, key: str, kind: Kind, back: int | None) -> Entry:
    number = row.number if "number" in row._fields else None
    return Entry(key, number, back, kind, row.saved, row.sha256, _proved(row), row.device_id)


def at(connection: Connection, inspection: UUID, number: int) -> Saved | None:
    """Return an inspection as it stood at one revision, if there is that one."""
    which = {"inspection": inspection, "number": number}
    row = connection.execute(queries.NUMBERED, which).one_or_none()
    return saved_of(row) if row else None


def _proved(row: Row[*tuple[Any, ...]]) -> str:
    """Return the document's text, if it is the one that its hash was made of."""
    text: str = row.document
    came = sha256(text.encode()).hexdigest()
    if came != row.sha256:
        raise StoreError.of(
            "document",
            expected=f"text with the SHA-256 {row.sha256}",
            came=came,
            remedy="The book is damaged: keep a copy of it and put back the last backup.",
        )
    return text
