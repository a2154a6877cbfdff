"""The tables that sealing needs: issuer keys (public halves only), issued cards, recalls."""

from datetime import datetime
from typing import Final
from uuid import UUID

from sqlalchemy import CheckConstraint, ForeignKey, Index, LargeBinary, String, Text
from sqlalchemy import UniqueConstraint as Unique
from sqlalchemy.orm import Mapped, mapped_column

from quickcheck.store.tables import Row, UtcTime

_KEY: Final = String(8)
_CARD: Final = String(16)


class IssuerKeyRow(Row):
    """A key that is known here. Its secret half is a file, and never in a database.

    Only ``retired`` and ``revoked`` are ever set, each once.
    """

    __tablename__ = "issuer_key"

    id: Mapped[str] = mapped_column(_KEY, primary_key=True)  # 4 bytes in hex
    public: Mapped[bytes] = mapped_column(LargeBinary)
    issuer: Mapped[str] = mapped_column(Text)
    made: Mapped[datetime] = mapped_column(UtcTime)
    retired: Mapped[datetime | None] = mapped_column(UtcTime)
    revoked: Mapped[datetime | None] = mapped_column(UtcTime)


class CardRow(Row):
    """The issue log: each sealed card as the bytes that went out. Rows are only ever added."""

    __tablename__ = "card"
    __table_args__ = (
        Unique("key_id", "serial", "number"),
        Index("ix_card_serial_issued", "serial", "issued"),
    )

    id: Mapped[str] = mapped_column(_CARD, primary_key=True)  # of the body's SHA-256, in base32
    key_id: Mapped[str] = mapped_column(ForeignKey("issuer_key.id"))
    serial: Mapped[str] = mapped_column(Text)  # letters and digits alone, in capitals
    number: Mapped[int]  # which of this key's cards for this serial, from 1
    issued: Mapped[datetime] = mapped_column(UtcTime)
    data: Mapped[bytes] = mapped_column(LargeBinary)
    source: Mapped[str | None] = mapped_column(String(64), unique=True)  # what it was made from
    inspection_id: Mapped[UUID | None]  # maybe one that was never opened here


class RecallRow(Row):
    """That a card was withdrawn or corrected, for good. Rows are only ever added."""

    __tablename__ = "recall"
    __table_args__ = (
        CheckConstraint("(kind = 'corrected') = (by_id IS NOT NULL)", name="by_a_card"),
    )

    card_id: Mapped[str] = mapped_column(ForeignKey("card.id"), primary_key=True)
    kind: Mapped[str] = mapped_column(String(16))
    at: Mapped[datetime] = mapped_column(UtcTime)
    by_id: Mapped[str | None] = mapped_column(ForeignKey("card.id"))
