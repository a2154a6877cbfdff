"""A book that is taken into this one: what is new is added, nothing is overwritten.

Each call is one transaction, and takes the same again without adding anything. So whoever is stopped
in the middle begins again from the start, and ends with what one run would have given.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import BindParameter, Connection, bindparam, insert, select

from quickcheck.reference import Reference
from quickcheck.store import queries
from quickcheck.store.carried import (
    CarriedInspection,
    CarriedLate,
    CarriedParked,
    CarriedPhoto,
    CarriedPlace,
    CarriedRevision,
    CarriedWord,
    columns,
    selected,
)
from quickcheck.store.documented_tables import DocumentedRow
from quickcheck.store.documents import read, search_words, text_at
from quickcheck.store.incoming_access import PlaceCarried, PlaceTaken, take_place
from quickcheck.store.incoming_seals import Seals, SealsTaken, take_seals
from quickcheck.store.library import Library
from quickcheck.store.merging import Fate, Plan, further_words, in_book, plan
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import (
    DifferenceRow,
    InspectionPhotoRow,
    ParkedRow,
    PhotoRow,
)
from quickcheck.store.tables import ConflictRow, EditionRow, InspectionRow, RevisionRow

_of_inspection: Final[BindParameter[UUID]] = bindparam("inspection")
# PostgreSQL lets two writers in at once, so the row is held; SQLAlchemy leaves it out for SQLite.
_HERE: Final = (
    select(InspectionRow.edition_hash, InspectionRow.book_id, InspectionRow.visit)
    .where(InspectionRow.id == _of_inspection)
    .with_for_update()
)
_REVISIONS: Final = (
    selected(CarriedRevision)
    .where(RevisionRow.inspection_id == _of_inspection)
    .order_by(RevisionRow.number)
)
_KEPT_BESIDE: Final = {
    row: select(row.base, row.sha256).where(row.inspection_id == _of_inspection)
    for row in (ConflictRow, ParkedRow)
}
_TITLE: Final = select(EditionRow.title).where(EditionRow.hash == bindparam("edition"))
_PAPERS: Final = (
    selected(CarriedWord)
    .where(DocumentedRow.inspection_id == _of_inspection)
    .order_by(DocumentedRow.number)
)
_DIFFERENCES: Final = select(DifferenceRow.revision).where(
    DifferenceRow.inspection_id == _of_inspection
)

_Beside = tuple[
    tuple[type[ConflictRow] | type[ParkedRow], tuple[CarriedLate | CarriedParked, ...]], ...
]


class Incoming:
    """Takes what another book held."""

    def __init__(self, database: Database, library: Library) -> None:
        self._database = database
        self._library = library

    def edition(self, reference: Reference, kept: datetime) -> bool:
        """Keep an edition with its pictures; return whether it is new."""
        query = select(EditionRow.hash).where(EditionRow.hash == reference.hash)
        with self._database.reading() as connection:
            known = connection.scalar(query)
        self._library.keep(reference, now=kept)
        return known is None

    def place(self, carried: PlaceCarried) -> PlaceTaken:
        """Take books, devices and the show; return what of it is new."""
        return take_place(self._database, carried)

    def inspections(self, carried: Sequence[CarriedInspection]) -> list[Fate]:
        """Take some inspections, all or none of them; return what became of each."""
        with self._database.writing() as connection:
            fates = [_take(connection, one) for one in carried]
            if any(fate is not Fate.SAME for fate in fates):
                queries.count(connection)
        return fates

    def photos(self, carried: Mapping[CarriedPhoto, bytes]) -> int:
        """Keep some photos; return how many were not here. What is here stays as it is."""
        names = [photo.sha256 for photo in carried]
        with self._database.writing() as connection:
            query = select(PhotoRow.sha256).where(PhotoRow.sha256.in_(names))
            known = set(connection.scalars(query))
            new = [
                columns(photo, content=content)
                for photo, content in carried.items()
                if photo.sha256 not in known
            ]
            if new:
                connection.execute(insert(PhotoRow), new)
                queries.count(connection)
        return len(new)

    def seals(self, carried: Seals) -> SealsTaken:
        """Take keys, cards and recalls; what clashes with ours is told and not taken."""
        return take_seals(self._database, carried)


def _take(connection: Connection, there: CarriedInspection) -> Fate:
    which = {"inspection": there.id}
    is_here = connection.execute(_HERE, which).one_or_none()
    if is_here:
        there = in_book(there, is_here.book_id, is_here.visit)
    edition = is_here.edition_hash if is_here else None
    here = tuple(CarriedRevision(*row) for row in connection.execute(_REVISIONS, which))
    planned = plan(here, edition, there)
    if planned.revisions:
        _add_revisions(connection, there, planned, begins=is_here is None)
    added = _add_rest(connection, there.id, planned)
    if is_here or planned.revisions:
        added += _add_places(connection, there.id, there.photos)
        added += _add_papers(connection, there.id, there.papers)
    return planned.fate if added or planned.revisions else Fate.SAME


def _add_revisions(
    connection: Connection, there: CarriedInspection, planned: Plan, *, begins: bool
) -> None:
    """Put their revisions on top, or begin with them; the last one becomes the current one."""
    title = connection.scalar(_TITLE, {"edition": there.edition_hash})
    last = planned.revisions[-1]
    document = read(last.document)
    found_by = {
        "current": last.number,
        "saved": last.saved,
        "name": text_at(document, "name"),
        "serial": text_at(document, "serial_text"),
        "words": search_words(document, title or ""),
    }
    if begins:
        names = ("id", "edition_hash", "opened", "book_id", "visit")
        row = {name: getattr(there, name) for name in names}
        connection.execute(insert(InspectionRow), row | found_by)
    new = [columns(one, inspection_id=there.id) for one in planned.revisions]
    connection.execute(queries.ADD_REVISION, new)
    if not begins:
        connection.execute(queries.MAKE_CURRENT, {"inspection": there.id, **found_by})


def _add_rest(connection: Connection, inspection: UUID, planned: Plan) -> int:
    """Add what stands beside the revisions and is not here yet; return how much that is."""
    which = {"inspection": inspection}
    count = 0
    beside: _Beside = ((ConflictRow, planned.late), (ParkedRow, planned.parked))
    for row, records in beside:
        if not records:
            continue
        known = {tuple(each) for each in connection.execute(_KEPT_BESIDE[row], which)}
        # The first of two that are the same is the one that is kept.
        new = {(one.base, one.sha256): one for one in reversed(records)}
        rows = [
            columns(one, inspection_id=inspection)
            for key, one in reversed(new.items())
            if key not in known
        ]
        count += _add(connection, row, rows)
    if not planned.differences:
        return count
    noted = set(connection.scalars(_DIFFERENCES, which))
    differing = [
        columns(one, inspection_id=inspection)
        for one in planned.differences
        if one.revision not in noted
    ]
    return count + _add(connection, DifferenceRow, differing)


def _add_places(connection: Connection, inspection: UUID, places: Sequence[CarriedPlace]) -> int:
    if not places:
        return 0
    announced = connection.execute(queries.ANNOUNCED, {"inspection": inspection})
    known = {tuple(each) for each in announced}
    new = [
        columns(one, inspection_id=inspection)
        for one in places
        if (one.point, one.sha256) not in known
    ]
    return _add(connection, InspectionPhotoRow, new)


def _add_papers(connection: Connection, inspection: UUID, words: Sequence[CarriedWord]) -> int:
    if not words:
        return 0
    rows = connection.execute(_PAPERS, {"inspection": inspection})
    more = further_words(tuple(CarriedWord(*row) for row in rows), tuple(words))
    new = [columns(one, inspection_id=inspection) for one in more]
    return _add(connection, DocumentedRow, new)


def _add(connection: Connection, row: type[Any], rows: list[dict[str, Any]]) -> int:
    if rows:
        connection.execute(insert(row), rows)
    return len(rows)
