"""The tables that sending needs: which book this is, who sends, photos, what could not be taken."""

from datetime import datetime
from typing import Final
from uuid import UUID

from sqlalchemy import (
    BigInteger,
    ForeignKey,
    ForeignKeyConstraint,
    LargeBinary,
    String,
    Text,
    UniqueConstraint,
)
from sqlalchemy.orm import Mapped, mapped_column

from quickcheck.store.tables import THIS_BOOK, Row, UtcTime

_HASH: Final = String(64)
_TOKEN: Final = String(32)


class ServerRow(Row):
    """Which book this is; one row."""

    __tablename__ = "server"

    id: Mapped[int] = mapped_column(primary_key=True)
    book: Mapped[str] = mapped_column(_TOKEN)  # random, for good
    epoch: Mapped[str] = mapped_column(_TOKEN)  # random, anew when a loss is noticed
    noticed: Mapped[int | None]  # the start in which the last loss was noticed


class TallyRow(Row):
    """How many writes somebody was told of: the sum over a few rows, so that writers don't queue."""

    __tablename__ = "tally"

    shard: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    commits: Mapped[int] = mapped_column(BigInteger)


class StartRow(Row):
    """One start of a program on this book. Rows are only ever added."""

    __tablename__ = "start"

    number: Mapped[int] = mapped_column(primary_key=True)
    token: Mapped[str] = mapped_column(_TOKEN, unique=True)
    commits: Mapped[int] = mapped_column(BigInteger)  # how many there were
    began: Mapped[datetime] = mapped_column(UtcTime)


class DeviceRow(Row):
    """A phone or a station, known by the hash of its token; what it last told of itself."""

    __tablename__ = "device"

    id: Mapped[UUID] = mapped_column(primary_key=True)
    token_sha256: Mapped[str] = mapped_column(_HASH, unique=True)
    name: Mapped[str] = mapped_column(Text)
    first_seen: Mapped[datetime] = mapped_column(UtcTime)
    last_seen: Mapped[datetime] = mapped_column(UtcTime)
    unsent: Mapped[int | None]
    skew: Mapped[float | None]  # seconds that its clock is ahead of ours
    told: Mapped[datetime | None] = mapped_column(UtcTime)
    role: Mapped[str] = mapped_column(String(16), server_default="dealer")
    book_id: Mapped[UUID] = mapped_column(server_default=THIS_BOOK.hex)
    visit: Mapped[UUID | None]  # of a kiosk: the present one
    revoked: Mapped[datetime | None] = mapped_column(UtcTime)
    unlocked: Mapped[datetime | None] = mapped_column(UtcTime)  # until when it has all rights


class PhotoRow(Row):
    """A photo, re-encoded; named by the hash of what the phone sent. Rows are only ever added."""

    __tablename__ = "photo"

    sha256: Mapped[str] = mapped_column(_HASH, primary_key=True)
    content_type: Mapped[str] = mapped_column(String(32))
    content: Mapped[bytes] = mapped_column(LargeBinary)
    content_sha256: Mapped[str] = mapped_column(_HASH)
    made: Mapped[datetime] = mapped_column(UtcTime)


class InspectionPhotoRow(Row):
    """That an inspection has a photo at a point; it has arrived once there is a `PhotoRow`."""

    __tablename__ = "inspection_photo"

    inspection_id: Mapped[UUID] = mapped_column(ForeignKey("inspection.id"), primary_key=True)
    point: Mapped[str] = mapped_column(Text, primary_key=True)
    sha256: Mapped[str] = mapped_column(_HASH, primary_key=True)
    announced: Mapped[datetime] = mapped_column(UtcTime)


class DifferenceRow(Row):
    """A revision that the phone judged otherwise than we do. Rows are only ever added."""

    __tablename__ = "judgement_difference"
    __table_args__ = (
        ForeignKeyConstraint(
            ["inspection_id", "revision"], ["revision.inspection_id", "revision.number"]
        ),
    )

    inspection_id: Mapped[UUID] = mapped_column(primary_key=True)
    revision: Mapped[int] = mapped_column(primary_key=True)
    phone: Mapped[str] = mapped_column(Text)  # what differs, as JSON
    server: Mapped[str] = mapped_column(Text)
    rules: Mapped[int]  # our revision of the rules
    noticed: Mapped[datetime] = mapped_column(UtcTime)


class ParkedRow(Row):
    """A document that could not become a revision, kept all the same. Rows are only ever added."""

    __tablename__ = "parked"
    __table_args__ = (UniqueConstraint("inspection_id", "base", "sha256"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    inspection_id: Mapped[UUID]  # maybe one that was never opened
    edition_hash: Mapped[str] = mapped_column(_HASH)  # maybe one that is not in the library
    base: Mapped[int]
    current: Mapped[int]  # the revision that was current when it came, 0 if none
    reason: Mapped[str] = mapped_column(Text)
    saved: Mapped[datetime] = mapped_column(UtcTime)
    sha256: Mapped[str] = mapped_column(_HASH)
    document: Mapped[str] = mapped_column(Text)
    device_id: Mapped[UUID | None]
    book_id: Mapped[UUID] = mapped_column(server_default=THIS_BOOK.hex)
    visit: Mapped[UUID | None]
