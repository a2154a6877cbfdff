"""The book's statements, built once: making them costs more than running them."""

from typing import Final
from uuid import UUID

from sqlalchemy import BindParameter, bindparam, insert, select, update
from sqlalchemy.orm import aliased

from quickcheck.store.records import Kind
from quickcheck.store.sync_tables import (
    DifferenceRow,
    InspectionPhotoRow,
    ParkedRow,
    PhotoRow,
    ServerRow,
)
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
        RevisionRow.device_id,
    )
    .where(RevisionRow.inspection_id == _of_inspection)
    .order_by(RevisionRow.number)
)
LATE: Final = (
    select(
        ConflictRow.id,
        ConflictRow.current,
        ConflictRow.base,
        ConflictRow.saved,
        ConflictRow.sha256,
        ConflictRow.document,
        ConflictRow.device_id,
    )
    .where(ConflictRow.inspection_id == _of_inspection)
    .order_by(ConflictRow.id)
)
SAME_LATE: Final = select(ConflictRow.id).where(
    ConflictRow.inspection_id == _of_inspection,
    ConflictRow.base == bindparam("base"),
    ConflictRow.sha256 == bindparam("sha256"),
)
PARKED: Final = (
    select(
        ParkedRow.id,
        ParkedRow.current,
        ParkedRow.base,
        ParkedRow.reason,
        ParkedRow.saved,
        ParkedRow.sha256,
        ParkedRow.document,
        ParkedRow.device_id,
    )
    .where(ParkedRow.inspection_id == _of_inspection)
    .order_by(ParkedRow.id)
)
SAME_PARKED: Final = select(ParkedRow.id).where(
    ParkedRow.inspection_id == _of_inspection,
    ParkedRow.base == bindparam("base"),
    ParkedRow.sha256 == bindparam("sha256"),
)
SENT_BEFORE: Final = (
    LISTED.where(
        InspectionRow.id == _of_inspection,
        RevisionRow.number > bindparam("base"),
        RevisionRow.sha256 == bindparam("sha256"),
    )
    .order_by(RevisionRow.number)
    .limit(1)
)
"""The first revision after ``base`` that holds this very document."""

_back = aliased(RevisionRow)
UNDECIDED: Final = (
    select(ConflictRow.inspection_id)
    .join(InspectionRow, InspectionRow.id == ConflictRow.inspection_id)
    .distinct()
    .where(
        ~select(_back.number)
        .where(
            _back.inspection_id == ConflictRow.inspection_id,
            _back.kind == Kind.BACK,
            _back.number > ConflictRow.current,
        )
        .exists()
    )
)
"""Inspections with a late document about which nobody decided since it came."""

ANNOUNCED: Final = select(InspectionPhotoRow.point, InspectionPhotoRow.sha256).where(
    InspectionPhotoRow.inspection_id == _of_inspection
)
MISSING: Final = (
    select(InspectionPhotoRow.sha256)
    .distinct()
    .where(
        InspectionPhotoRow.inspection_id == _of_inspection,
        InspectionPhotoRow.sha256.not_in(select(PhotoRow.sha256)),
    )
    .order_by(InspectionPhotoRow.sha256)
)
PHOTO: Final = select(PhotoRow).where(PhotoRow.sha256 == bindparam("sha256"))
IS_NOTED: Final = select(DifferenceRow.revision).where(
    DifferenceRow.inspection_id == _of_inspection,
    DifferenceRow.revision == bindparam("revision"),
)
DIFFERENCES: Final = (
    select(DifferenceRow)
    .join(InspectionRow, InspectionRow.id == DifferenceRow.inspection_id)
    .order_by(DifferenceRow.noticed.desc())
)

IS_OPEN: Final = select(InspectionRow.id).where(InspectionRow.id == _of_inspection)
IS_KEPT: Final = select(EditionRow.hash).where(EditionRow.hash == bindparam("hash"))

ADD_INSPECTION: Final = insert(InspectionRow)
ADD_REVISION: Final = insert(RevisionRow)
ADD_LATE: Final = insert(ConflictRow)
ADD_PARKED: Final = insert(ParkedRow)
ADD_DIFFERENCE: Final = insert(DifferenceRow)
ANNOUNCE: Final = insert(InspectionPhotoRow)
ADD_PHOTO: Final = insert(PhotoRow)
COUNT: Final = update(ServerRow).values(commits=ServerRow.commits + 1)
"""Count a write that somebody will be told of."""
MAKE_CURRENT: Final = update(InspectionRow).where(InspectionRow.id == _of_inspection)
