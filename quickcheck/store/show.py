"""The show that this book is kept at: its name, its days, the address that codes lead to.

In the database and not in a file beside it: several servers may share one book, the facts go along
where the book is moved or put back, and they are kept in one transaction with the organizer's secret
and the issuer's key, so that a set-up that is broken off leaves nothing half done.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from sqlalchemy import CheckConstraint, Date, Text, delete, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quickcheck.store.records import in_utc
from quickcheck.store.session import Database
from quickcheck.store.tables import Row, UtcTime


class ShowRow(Row):
    """What was last said of the show: one row, or none before the first set-up."""

    __tablename__ = "show"
    __table_args__ = (
        CheckConstraint("one = 1", name="one_show"),
        CheckConstraint("opens <= closes", name="in_order"),
    )

    one: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    name: Mapped[str] = mapped_column(Text)
    opens: Mapped[date] = mapped_column(Date)
    closes: Mapped[date] = mapped_column(Date)
    base_url: Mapped[str] = mapped_column(Text)
    noted: Mapped[datetime] = mapped_column(UtcTime)


@dataclass(frozen=True, slots=True)
class Show:
    """A show: ``opens`` and ``closes`` are its first and its last day."""

    name: str
    opens: date
    closes: date
    base_url: str  # what the code on a card leads to, without a slash at its end

    def __post_init__(self) -> None:
        if not self.name.strip() or self.opens > self.closes:
            raise ValueError("a show has a name, and ends on the day it begins or later")


_SHOW: Final = select(ShowRow.name, ShowRow.opens, ShowRow.closes, ShowRow.base_url)


class ShowFacts:
    """What is kept of the show."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def get(self) -> Show | None:
        """Return the show, None before the first set-up."""
        with self._database.reading() as connection:
            row = connection.execute(_SHOW).one_or_none()
        return Show(*row) if row else None

    def put(self, show: Show, now: datetime) -> None:
        """Keep these facts in place of what was said before."""
        row = {
            "one": 1,
            "name": show.name,
            "opens": show.opens,
            "closes": show.closes,
            "base_url": show.base_url,
            "noted": in_utc(now),
        }
        with self._database.writing() as connection:
            connection.execute(delete(ShowRow))
            connection.execute(insert(ShowRow).values(**row))
