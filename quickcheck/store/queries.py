"""The book's statements, built once: making them costs more than running them."""

from typing import Final
from uuid import UUID

from sqlalchemy import BindParameter, bindparam, insert, select, update

from quickcheck.store.tables import ConflictRow, EditionRow, InspectionRow, RevisionRow

_of_inspection: Final[BindParameter[UUID]] = bindparam("inspection")

LISTED: Final = (
    select(
        InspectionRow.id,
        RevisionRow.number,
        RevisionRow.back,
        InspectionRow.edition_hash,
        EditionRow.reference_id,
        EditionRow.title,
        InspectionRow.opened,
        RevisionRow.saved,
        RevisionRow.sha256,
        RevisionRow.document,
    )
    .join(EditionRow, EditionRow.hash == InspectionRow.edition_hash)
    .join(RevisionRow, RevisionRow.inspection_id == InspectionRow.id)
)
"""Inspections with each of their revisions."""

CURRENT: Final = LISTED.where(RevisionRow.number == InspectionRow.current)
ONE: Final = CURRENT.where(InspectionRow.id == _of_inspection)
# PostgreSQL lets two writers in at once, so the row is held; SQLAlchemy leaves it out for SQLite.
ONE_TO_WRITE: Final = ONE.with_for_update(of=InspectionRow)

NUMBERED: Final = LISTED.where(
    InspectionRow.id == _of_inspection, RevisionRow.number == bindparam("number")
)

REVISIONS: Final = (
    select(
        RevisionRow.number,
        RevisionRow.back,
        RevisionRow.kind,
        RevisionRow.saved,
        RevisionRow.sha256,
        RevisionRow.document,
    )
    .where(RevisionRow.inspection_id == _of_inspection)
    .order_by(RevisionRow.number)
)
LATE: Final = (
    select(
        ConflictRow.current,
        ConflictRow.base,
        ConflictRow.saved,
        ConflictRow.sha256,
        ConflictRow.document,
    )
    .where(ConflictRow.inspection_id == _of_inspection)
    .order_by(ConflictRow.id)
)
SAME_LATE: Final = select(ConflictRow.id).where(
    ConflictRow.inspection_id == _of_inspection,
    ConflictRow.base == bindparam("base"),
    ConflictRow.sha256 == bindparam("sha256"),
)
IS_OPEN: Final = select(InspectionRow.id).where(InspectionRow.id == _of_inspection)
IS_KEPT: Final = select(EditionRow.hash).where(EditionRow.hash == bindparam("hash"))

ADD_INSPECTION: Final = insert(InspectionRow)
ADD_REVISION: Final = insert(RevisionRow)
ADD_LATE: Final = insert(ConflictRow)
MAKE_CURRENT: Final = update(InspectionRow).where(InspectionRow.id == _of_inspection)
