"""The tables: editions of references, inspections, and every document that was ever saved.

Nothing here is SQLite's own, so that the same tables can stand in PostgreSQL. Documents are kept as
their canonical JSON text, because their hash is the hash of exactly that text.
"""

from datetime import UTC, datetime
from typing import Final
from uuid import UUID

from sqlalchemy import (
    DateTime,
    Dialect,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
    Uuid,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from typing_extensions import override

_HASH: Final = String(64)
THIS_BOOK: Final = UUID("b00c0000-0000-4000-8000-000000000001")
"""The first book, which is always there."""


class UtcTime(TypeDecorator[datetime]):
    """A moment in UTC; SQLite forgets the zone, so it is given back on the way out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    @override
    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return value.astimezone(UTC) if value else None

    @override
    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        aware = value.replace(tzinfo=UTC) if value and not value.tzinfo else value
        return aware and aware.astimezone(UTC)


class Row(DeclarativeBase):
    """Base of the rows; constraints are named by rule, so that a migration can find them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class EditionRow(Row):
    """One edition of a reference, kept for ever: cards and inspections point to it."""

    __tablename__ = "edition"

    hash: Mapped[str] = mapped_column(_HASH, primary_key=True)
    reference_id: Mapped[str] = mapped_column(Text, index=True)
    title: Mapped[str] = mapped_column(Text)
    edition: Mapped[str] = mapped_column(Text)
    canonical: Mapped[bytes] = mapped_column(LargeBinary)
    kept: Mapped[datetime] = mapped_column(UtcTime)


class PictureRow(Row):
    """The content of a picture, once however many editions show it."""

    __tablename__ = "picture"

    hash: Mapped[str] = mapped_column(_HASH, primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)


class EditionPictureRow(Row):
    """The name that an edition gives to a picture."""

    __tablename__ = "edition_picture"

    edition_hash: Mapped[str] = mapped_column(ForeignKey("edition.hash"), primary_key=True)
    name: Mapped[str] = mapped_column(Text, primary_key=True)
    picture_hash: Mapped[str] = mapped_column(ForeignKey("picture.hash"))


class InspectionRow(Row):
    """One instrument, one sitting: which revision is current, and by what it is found again."""

    __tablename__ = "inspection"
    __table_args__ = (
        Index("ix_inspection_opened_id", "opened", "id"),
        Index("ix_inspection_book_id_opened", "book_id", "opened"),
    )

    id: Mapped[UUID] = mapped_column(Uuid, primary_key=True)
    edition_hash: Mapped[str] = mapped_column(ForeignKey("edition.hash"), index=True)
    current: Mapped[int]
    opened: Mapped[datetime] = mapped_column(UtcTime)
    saved: Mapped[datetime] = mapped_column(UtcTime)
    name: Mapped[str] = mapped_column(Text)
    serial: Mapped[str] = mapped_column(Text)
    words: Mapped[str] = mapped_column(Text)  # name, serial and title, folded for searching
    # No foreign key: SQLite adds none to a table that is there, and books are never taken away.
    book_id: Mapped[UUID] = mapped_column(server_default=THIS_BOOK.hex)
    visit: Mapped[UUID | None]  # at a kiosk: the time of one person


class RevisionRow(Row):
    """One saved document. Rows are only ever added."""

    __tablename__ = "revision"
    __table_args__ = (
        Index(  # for the count of a day
            "ix_revision_first",
            "device_id",
            "saved",
            "number",
            sqlite_where=text("number = 1"),
            postgresql_where=text("number = 1"),
        ),
    )

    inspection_id: Mapped[UUID] = mapped_column(ForeignKey("inspection.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    back: Mapped[int | None]  # the revision whose document an undo from here restores
    kind: Mapped[str] = mapped_column(String(8))
    saved: Mapped[datetime] = mapped_column(UtcTime)
    sha256: Mapped[str] = mapped_column(_HASH)
    document: Mapped[str] = mapped_column(Text)
    device_id: Mapped[UUID | None]  # who sent it; no foreign key, as history outlives devices


class ConflictRow(Row):
    """A document that came too late to become a revision. Rows are only ever added."""

    __tablename__ = "conflict"
    __table_args__ = (
        # The same late document sent again is the same conflict.
        UniqueConstraint("inspection_id", "base", "sha256"),
        ForeignKeyConstraint(
            ["inspection_id", "current"], ["revision.inspection_id", "revision.number"]
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    inspection_id: Mapped[UUID]
    base: Mapped[int]  # the revision that its writer had seen
    current: Mapped[int]  # the revision that was current when it came
    saved: Mapped[datetime] = mapped_column(UtcTime)
    sha256: Mapped[str] = mapped_column(_HASH)
    document: Mapped[str] = mapped_column(Text)
    device_id: Mapped[UUID | None]  # who sent it; no foreign key, as history outlives devices
