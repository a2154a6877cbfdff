"""The book's statements, built once: making them costs more than running them."""

from collections.abc import Mapping
from functools import cache
from typing import Any, Final
from uuid import UUID

from sqlalchemy import BindParameter, Connection, Insert, bindparam, insert, select, update
from sqlalchemy.dialects import postgresql
from sqlalchemy.orm import aliased

from quickcheck.store.records import Kind
from quickcheck.store.sync_tables import (
    DifferenceRow,
    InspectionPhotoRow,
    ParkedRow,
    PhotoRow,
    ServerRow,
    TallyRow,
)
from quickcheck.store.tables import ConflictRow, EditionRow, InspectionRow, RevisionRow
from quickcheck.store.tables import Row as Table

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
HOLD: Final = select(InspectionRow.id).where(InspectionRow.id == _of_inspection).with_for_update()
"""Wait for whoever else writes to an inspection, where two writers are let in at once.

By itself, and before anything is read: whoever waited in a join would get the old revision beside
the new inspection, which are no pair, and so nothing.
"""

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
PHOTO: Final = select(PhotoRow.sha256).where(PhotoRow.sha256 == bindparam("sha256"))
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

ADD_REVISION: Final = insert(RevisionRow)
ADD_LATE: Final = insert(ConflictRow)
ADD_DIFFERENCE: Final = insert(DifferenceRow)
ANNOUNCE: Final = insert(InspectionPhotoRow)
MAKE_CURRENT: Final = update(InspectionRow).where(InspectionRow.id == _of_inspection)

HOLD_SERVER: Final = select(ServerRow.id).with_for_update()
"""Wait for whoever else decides something about the book as a whole."""
HOLD_TALLIES: Final = select(TallyRow.shard).order_by(TallyRow.shard).with_for_update()
"""Wait for every write that was counted and is not committed yet, and let none be counted."""
SHARDS: Final = 16
_COUNT: Final = (
    update(TallyRow)
    .where(TallyRow.shard == bindparam("which"))
    .values(commits=TallyRow.commits + 1)
)


def count(connection: Connection, which: UUID | None = None) -> None:
    """Count a write that somebody will be told of; the last thing before the commit.

    The row stays held until then. Where several writers are in at once, ``which`` spreads them over
    several rows, so that they need not wait for each other's disk.
    """
    shard = which.int % SHARDS if which and connection.dialect.name == "postgresql" else 0
    connection.execute(_COUNT, {"which": shard})


@cache
def _insert_if_new(table: type[Table]) -> Insert:
    made = postgresql.insert(table).on_conflict_do_nothing()  # SQLite has the same words
    return made.execution_options(preserve_rowcount=True)


def added(connection: Connection, table: type[Table], row: Mapping[str, Any]) -> bool:
    """Insert a row, unless one like it is there; whoever is inserting one is waited for."""
    return connection.execute(_insert_if_new(table), row).rowcount == 1
