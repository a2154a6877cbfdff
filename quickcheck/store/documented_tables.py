"""The table of what papers say: which inspections are of documented instruments."""

from datetime import datetime
from uuid import UUID

from sqlalchemy import Float, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from quickcheck.store.tables import Row, UtcTime


class DocumentedRow(Row):
    """What was said of an inspection's papers, and every later word. Rows are only ever added.

    ``kind`` is empty, and with it all else, where the inspection counts as documented no more.
    """

    __tablename__ = "documented"

    inspection_id: Mapped[UUID] = mapped_column(ForeignKey("inspection.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)  # from 1
    back: Mapped[int | None]  # the number that an undo from here brings back; 0: before the first
    kind: Mapped[str] = mapped_column(String(16))
    first: Mapped[int | None]  # months, as numbers, both inclusive
    last: Mapped[int | None]
    doubt: Mapped[float | None] = mapped_column(Float)  # ± months beside these, if it was said
    note: Mapped[str] = mapped_column(Text)
    said: Mapped[datetime] = mapped_column(UtcTime)
