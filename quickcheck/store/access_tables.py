"""The tables of who may see what: books, codes for pairing, the organizer's secret, tries at it."""

from datetime import datetime
from typing import Final
from uuid import UUID

from sqlalchemy import Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from quickcheck.store.tables import Row, UtcTime

_HASH: Final = String(64)
_ROLE: Final = String(16)
LONGEST_NAME: Final = 80
"""Of a book or a device, in signs."""


class BookRow(Row):
    """A dealer's book. Rows are never taken away."""

    __tablename__ = "book"

    id: Mapped[UUID] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(Text)
    made: Mapped[datetime] = mapped_column(UtcTime)


class OfferRow(Row):
    """A code by which one device may be paired once, known by its hash."""

    __tablename__ = "offer"

    code_sha256: Mapped[str] = mapped_column(_HASH, primary_key=True)
    role: Mapped[str] = mapped_column(_ROLE)
    book_id: Mapped[UUID]  # no foreign key, as in `InspectionRow`
    name: Mapped[str] = mapped_column(Text)  # of the device; "" for one that is given
    until: Mapped[datetime] = mapped_column(UtcTime)


class EndedVisitRow(Row):
    """A visit that is over, known by the hash of the token that the kiosk had in it."""

    __tablename__ = "ended_visit"

    token_sha256: Mapped[str] = mapped_column(_HASH, primary_key=True)
    device_id: Mapped[UUID]
    visit: Mapped[UUID]
    ended: Mapped[datetime] = mapped_column(UtcTime)


class SecretRow(Row):
    """What the organizer unlocks with, as argon2id has it; one row, or none."""

    __tablename__ = "organizer_secret"

    id: Mapped[int] = mapped_column(primary_key=True)
    passphrase: Mapped[str] = mapped_column(Text)
    pin: Mapped[str | None] = mapped_column(Text)
    changed: Mapped[datetime] = mapped_column(UtcTime)


class TryRow(Row):
    """A try at the passphrase or the PIN; it has failed until it is known that it has not."""

    __tablename__ = "secret_try"
    __table_args__ = (Index("ix_secret_try_kind_at", "kind", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(String(16))
    device_id: Mapped[UUID | None]
    at: Mapped[datetime] = mapped_column(UtcTime)
    failed: Mapped[bool]
