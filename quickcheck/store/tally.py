"""What a day came to: what each device began, what of it arrived, what waits, and the cards.

A device keeps count of the inspections that were begun on it. What it counts and what arrived must
be the same number, or something was lost between the two.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Self
from uuid import UUID

from sqlalchemy import Connection, ForeignKey, Row, func, insert, literal_column, select, update
from sqlalchemy.orm import Mapped, mapped_column

from quickcheck.store import queries
from quickcheck.store.records import in_utc
from quickcheck.store.seal_tables import CardRow, RecallRow
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import ParkedRow
from quickcheck.store.tables import ConflictRow, InspectionRow, RevisionRow, UtcTime
from quickcheck.store.tables import Row as Base

_OFTEN_ENOUGH: Final = timedelta(minutes=1)


class DeviceTallyRow(Base):
    """What a device told last, and what was behind it when it told first."""

    __tablename__ = "device_tally"

    device_id: Mapped[UUID] = mapped_column(ForeignKey("device.id"), primary_key=True)
    made: Mapped[int]
    waiting: Mapped[int]
    discarded: Mapped[int]
    settled_before: Mapped[int]  # arrived under another name, as far as the device knows
    discarded_before: Mapped[int]
    told: Mapped[datetime] = mapped_column(UtcTime)


@dataclass(frozen=True, slots=True)
class Tally:
    """What a device counts: inspections begun on it, those of which nothing arrived, those thrown away."""

    made: int
    waiting: int
    discarded: int

    @classmethod
    def read(cls, text: str) -> Self | None:
        """Return what ``X-Tally`` tells, three numbers; None where it tells nothing."""
        words = text.split()
        if len(words) != 3 or not all(w.isascii() and w.isdigit() and len(w) < 7 for w in words):
            return None
        return cls(*map(int, words))

    @property
    def settled(self) -> int:
        """How many arrived, as far as the device knows."""
        return self.made - self.waiting - self.discarded


@dataclass(frozen=True, slots=True)
class Counted:
    """A device's line of the sheet, since it was paired."""

    device: UUID
    arrived: int  # inspections whose first document came from it
    last: datetime | None  # when the last of them did
    undecided: int  # documents of its that stand beside another version
    parked: int  # of its that could not be taken
    tally: Tally | None  # what it told, less what was before it was paired; None: nothing yet
    told: datetime | None

    @property
    def missing(self) -> int:
        """Inspections that it began and that are nowhere; below 0, it forgot so many."""
        if self.tally is None:
            return 0
        apart = self.tally.settled - self.arrived
        is_stale = self.told is not None and self.last is not None and self.told <= self.last
        return apart if apart > 0 or not is_stale else 0


@dataclass(frozen=True, slots=True)
class Cards:
    """Cards of a stretch of time."""

    issued: int
    recalled: int


# The number stands in the statement itself: only so is the index of just these found to be of use.
_IS_FIRST: Final = RevisionRow.number == literal_column("1")
FIRST: Final = (
    select(RevisionRow.device_id, func.count(), func.max(RevisionRow.saved))
    .where(_IS_FIRST, RevisionRow.device_id.is_not(None))
    .group_by(RevisionRow.device_id)
)
_ARRIVED: Final = select(func.count()).select_from(RevisionRow).where(_IS_FIRST)
_LATE: Final = (
    select(ConflictRow.device_id, func.count())
    .where(ConflictRow.inspection_id.in_(queries.UNDECIDED))
    .group_by(ConflictRow.device_id)
)
_PARKED: Final = (
    select(ParkedRow.device_id, func.count(ParkedRow.inspection_id.distinct()))
    .where(ParkedRow.inspection_id.not_in(select(InspectionRow.id)))
    .group_by(ParkedRow.device_id)
)


class Tallies:
    """The counts of all devices."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def note(self, device: UUID, tally: Tally, *, now: datetime) -> None:
        """Keep what a device tells; its first word is what the later ones are counted from."""
        if not self.is_news(device, tally, now=now):
            return
        told = {"made": tally.made, "waiting": tally.waiting, "discarded": tally.discarded}
        at = in_utc(now)
        with self._database.writing() as connection:
            change = update(DeviceTallyRow).where(DeviceTallyRow.device_id == device)
            if connection.execute(change.values(**told, told=at)).rowcount:
                return
            arrived = connection.scalar(_ARRIVED.where(RevisionRow.device_id == device)) or 0
            before = {
                "settled_before": tally.settled - arrived,
                "discarded_before": tally.discarded,
            }
            row = {"device_id": device, **told, **before, "told": at}
            connection.execute(insert(DeviceTallyRow).values(**row))

    def is_news(self, device: UUID, tally: Tally, *, now: datetime) -> bool:
        """Whether `note` would write something."""
        query = select(DeviceTallyRow).where(DeviceTallyRow.device_id == device)
        with self._database.reading() as connection:
            kept = connection.execute(query).one_or_none()
        return kept is None or _tally(kept) != tally or in_utc(now) - kept.told >= _OFTEN_ENOUGH

    def counted(self) -> tuple[Counted, ...]:
        """Return the line of each device that told something or from which something came."""
        with self._database.reading() as connection:
            arrived = {row[0]: (row[1], row[2]) for row in connection.execute(FIRST)}
            late, parked = _by_device(connection, _LATE), _by_device(connection, _PARKED)
            told = {row.device_id: row for row in connection.execute(select(DeviceTallyRow))}
        devices = {*arrived, *told, *late, *parked} - {None}
        return tuple(
            Counted(
                device=device,
                arrived=arrived.get(device, (0, None))[0],
                last=arrived.get(device, (0, None))[1],
                undecided=late[device],
                parked=parked[device],
                tally=_since(told[device]) if device in told else None,
                told=told[device].told if device in told else None,
            )
            for device in devices
        )

    def cards(self, since: datetime) -> Cards:
        """Return how many cards were issued and taken back since then."""
        at = in_utc(since)
        issued = select(func.count()).select_from(CardRow).where(CardRow.issued >= at)
        recalled = select(func.count()).select_from(RecallRow).where(RecallRow.at >= at)
        with self._database.reading() as connection:
            return Cards(connection.scalar(issued) or 0, connection.scalar(recalled) or 0)

    def begun(self, since: datetime) -> int:
        """Return how many inspections were opened since then."""
        query = select(func.count()).select_from(InspectionRow)
        with self._database.reading() as connection:
            return connection.scalar(query.where(InspectionRow.opened >= in_utc(since))) or 0


def _by_device(connection: Connection, query: object) -> Counter[UUID]:
    return Counter({row[0]: row[1] for row in connection.execute(query)})  # type: ignore[call-overload]


def _tally(row: Row[DeviceTallyRow]) -> Tally:
    return Tally(row.made, row.waiting, row.discarded)


def _since(row: Row[DeviceTallyRow]) -> Tally:
    """Return what was told, less what was made, sent and thrown away before the first word."""
    discarded = row.discarded - row.discarded_before
    made = row.made - row.settled_before - row.discarded_before
    return Tally(made, row.waiting, discarded)
