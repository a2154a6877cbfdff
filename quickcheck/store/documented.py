"""What papers say of an inspection's instrument: said, corrected, taken back, undone.

A word is a row, and the last one stands. As in the book each row knows what an undo brings back
(``back``): a new word lies on the one before; an undo adds a row that says what the one below said
and has that one's ``back``.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection, bindparam, func, insert, select

from quickcheck.errors import ConflictError
from quickcheck.store import queries, revisions
from quickcheck.store.documented_tables import DocumentedRow
from quickcheck.store.documents import storable
from quickcheck.store.records import in_utc
from quickcheck.store.scope import Scoped
from quickcheck.store.tables import InspectionRow

_SAID: Final = select(
    DocumentedRow.inspection_id,
    DocumentedRow.number,
    DocumentedRow.back,
    DocumentedRow.kind,
    DocumentedRow.first,
    DocumentedRow.last,
    DocumentedRow.doubt,
    DocumentedRow.note,
    DocumentedRow.said,
)
_HISTORY: Final = _SAID.where(DocumentedRow.inspection_id == bindparam("inspection")).order_by(
    DocumentedRow.number
)
_LAST: Final = (
    select(DocumentedRow.inspection_id, func.max(DocumentedRow.number).label("number"))
    .group_by(DocumentedRow.inspection_id)
    .subquery()
)
_STANDING: Final = (
    _SAID.join(
        _LAST,
        (_LAST.c.inspection_id == DocumentedRow.inspection_id)
        & (_LAST.c.number == DocumentedRow.number),
    )
    .where(DocumentedRow.kind != "")
    .order_by(DocumentedRow.said, DocumentedRow.inspection_id)
)
_ADD: Final = insert(DocumentedRow)


class Paper(StrEnum):
    """What the months are known from."""

    LEDGER = "ledger"
    RECEIPT = "receipt"
    WARRANTY = "warranty"
    PHOTO = "photo"
    LETTER = "letter"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Papers:
    """The months that papers give, both inclusive, and what the papers are."""

    kind: Paper
    first: int
    last: int
    doubt: float | None = None  # ± months beside the run, if it was said
    note: str = ""


@dataclass(frozen=True, slots=True)
class Word:
    """One word about an inspection's papers; None: that there are none that count."""

    inspection: UUID
    number: int
    back: int | None
    papers: Papers | None
    said: datetime


class Documented(Scoped):
    """The papers of the inspections of a scope; no word is ever changed or taken away."""

    def say(self, inspection: UUID, papers: Papers | None, *, now: datetime) -> Word:
        """Say what the papers give, or that they count no more; the same again adds nothing."""
        with self._database.writing() as connection:
            self.scope.need(connection, inspection)
            words = _history_to_write(connection, inspection)
            last = words[-1] if words else None
            if (last.papers if last else None) == papers:
                return last or Word(inspection, 0, None, None, in_utc(now))
            back = last.number if last else 0
            return _add(connection, Word(inspection, back + 1, back, papers, in_utc(now)))

    def undo(self, inspection: UUID, *, now: datetime) -> Word:
        """Take the last word back; ConflictError where there is none."""
        with self._database.writing() as connection:
            self.scope.need(connection, inspection)
            words = {word.number: word for word in _history_to_write(connection, inspection)}
            last = words[max(words)] if words else None
            if last is None or last.back is None:
                raise ConflictError.of(
                    "papers",
                    expected="a word about the papers that can be taken back",
                    came="none",
                    remedy="Nothing was changed.",
                )
            below = words.get(last.back)
            papers, back = (below.papers, below.back) if below else (None, None)
            return _add(connection, Word(inspection, last.number + 1, back, papers, in_utc(now)))

    def history(self, inspection: UUID) -> tuple[Word, ...]:
        """Return every word about an inspection's papers, the first one first."""
        with self._database.reading() as connection:
            self.scope.need(connection, inspection)
            return _history(connection, inspection)

    def all(self) -> tuple[Word, ...]:
        """Return what stands of every documented inspection, the first said first."""
        mine = self.scope.narrow(select(InspectionRow.id))
        with self._database.reading() as connection:
            rows = connection.execute(_STANDING.where(DocumentedRow.inspection_id.in_(mine)))
            return tuple(_word(row) for row in rows)

    def of(self, inspections: Iterable[UUID]) -> Mapping[UUID, Papers]:
        """Return the papers of those among some inspections that are documented."""
        some = _STANDING.where(DocumentedRow.inspection_id.in_(list(inspections)))
        with self._database.reading() as connection:
            words = [_word(row) for row in connection.execute(some)]
        return {word.inspection: word.papers for word in words if word.papers}


def _history(connection: Connection, inspection: UUID) -> tuple[Word, ...]:
    rows = connection.execute(_HISTORY, {"inspection": inspection})
    return tuple(_word(row) for row in rows)


def _history_to_write(connection: Connection, inspection: UUID) -> tuple[Word, ...]:
    """Return the words; until the transaction ends nobody adds one. NotFoundError: no inspection."""
    revisions.find_to_write(connection, inspection)
    return _history(connection, inspection)


def _word(row: Any) -> Word:
    papers = Papers(Paper(row.kind), row.first, row.last, row.doubt, row.note) if row.kind else None
    return Word(row.inspection_id, row.number, row.back, papers, row.said)


def _add(connection: Connection, word: Word) -> Word:
    papers = word.papers
    said = {
        "kind": papers.kind.value if papers else "",
        "first": papers.first if papers else None,
        "last": papers.last if papers else None,
        "doubt": papers.doubt if papers else None,
        "note": storable(papers.note) if papers else "",
    }
    where = {"inspection_id": word.inspection, "number": word.number, "back": word.back}
    connection.execute(_ADD, {**where, **said, "said": word.said})
    queries.count(connection)
    return word
