"""Devices: phones and stations, each known by a random token of which only the hash is kept."""

import secrets
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any, Final
from uuid import UUID, uuid4

from sqlalchemy import Connection, Row, func, insert, select, update

from quickcheck.errors import NotFoundError, shown
from quickcheck.store import queries
from quickcheck.store.documents import storable
from quickcheck.store.records import in_utc
from quickcheck.store.scope import Role
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import DeviceRow
from quickcheck.store.tables import THIS_BOOK

SKEWED: Final = timedelta(minutes=2)
"""How far off a device's clock may be before its times mislead."""

_OFTEN_ENOUGH: Final = timedelta(minutes=1)
_MOST: Final = 1000


@dataclass(frozen=True, slots=True)
class Device:
    """A device as it was last seen; ``unsent`` and ``skew`` (seconds ahead of us) as it told."""

    id: UUID
    name: str
    first_seen: datetime
    last_seen: datetime
    unsent: int | None
    skew: float | None
    told: datetime | None
    role: Role = Role.DEALER
    book: UUID = THIS_BOOK
    visit: UUID | None = None  # of a kiosk: the present one
    revoked: datetime | None = None
    unlocked: datetime | None = None  # until when it has the organizer's rights

    @property
    def is_skewed(self) -> bool:
        """Whether its clock is so far off that its times mislead."""
        return abs(self.skew or 0) > SKEWED.total_seconds()

    def is_unlocked(self, now: datetime) -> bool:
        """Whether it has the organizer's rights at this moment."""
        return self.unlocked is not None and now < self.unlocked and self.revoked is None


_DEVICE: Final = select(
    DeviceRow.id,
    DeviceRow.name,
    DeviceRow.first_seen,
    DeviceRow.last_seen,
    DeviceRow.unsent,
    DeviceRow.skew,
    DeviceRow.told,
    DeviceRow.role,
    DeviceRow.book_id,
    DeviceRow.visit,
    DeviceRow.revoked,
    DeviceRow.unlocked,
)


class Devices:
    """Who was here."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def welcome(self, now: datetime) -> tuple[str, Device]:
        """Note a new device; return its token, 256 random bits that are kept nowhere here."""
        with self._database.writing() as connection:
            return add_device(connection, now)

    def find(self, token: str) -> Device | None:
        """Return the device that has this token."""
        with self._database.reading() as connection:
            query = _DEVICE.where(DeviceRow.token_sha256 == hashed(token))
            row = connection.execute(query).one_or_none()
        return _device(row) if row else None

    def tell(
        self, device: Device, *, now: datetime, unsent: int | None = None, skew: float | None = None
    ) -> None:
        """Note what a device told of itself; what is not news is noted once a minute."""
        at = in_utc(now)
        told = {"unsent": unsent, "skew": skew} if unsent is not None or skew is not None else {}
        if not self.is_news(device, now=now, unsent=unsent, skew=skew):
            return
        values: dict[str, Any] = {"last_seen": at, **({**told, "told": at} if told else {})}
        with self._database.writing() as connection:
            connection.execute(update(DeviceRow).where(DeviceRow.id == device.id).values(**values))

    def is_news(
        self, device: Device, *, now: datetime, unsent: int | None = None, skew: float | None = None
    ) -> bool:
        """Whether `tell` would write something."""
        if unsent is not None and unsent != device.unsent:
            return True
        is_first = device.told is None and (unsent is not None or skew is not None)
        return is_first or in_utc(now) - device.last_seen >= _OFTEN_ENOUGH

    def list(self) -> tuple[Device, ...]:
        """Return the devices, the one seen last first."""
        query = _DEVICE.order_by(DeviceRow.last_seen.desc(), DeviceRow.id).limit(_MOST)
        with self._database.reading() as connection:
            return tuple(_device(row) for row in connection.execute(query))


def add_device(
    connection: Connection,
    now: datetime,
    *,
    role: Role = Role.DEALER,
    book: UUID = THIS_BOOK,
    name: str = "",
) -> tuple[str, Device]:
    """Add a device; a kiosk begins its first visit. Return its token and what is kept of it."""
    token, at = new_token(), in_utc(now)
    connection.execute(queries.HOLD_SERVER)  # two that come at once get two names
    count = connection.scalar(select(func.count()).select_from(DeviceRow)) or 0
    called = storable(name) or f"Device {count + 1}"
    visit = uuid4() if role is Role.KIOSK else None
    device = Device(uuid4(), called, at, at, None, None, None, role, book, visit)
    row = {
        "id": device.id,
        "name": device.name,
        "first_seen": at,
        "last_seen": at,
        "role": role,
        "book_id": book,
        "visit": visit,
        "token_sha256": hashed(token),
    }
    connection.execute(insert(DeviceRow).values(**row))
    return token, device


def device_by_id(connection: Connection, device: UUID) -> Device:
    """Return a device, held until the transaction ends; NotFoundError where there is none."""
    query = _DEVICE.where(DeviceRow.id == device).with_for_update()
    row = connection.execute(query).one_or_none()
    if row is None:
        raise NotFoundError.of(
            "device",
            expected="a device that was paired here",
            came=shown(str(device)),
            remedy="Choose one of those listed.",
        )
    return _device(row)


def new_token() -> str:
    """Return 256 random bits as text."""
    return secrets.token_urlsafe(32)


def hashed(token: str) -> str:
    """Return what is kept of a token or a code, which has too many bits to be guessed."""
    return sha256(token.encode(errors="replace")).hexdigest()


def _device(row: Row[*tuple[Any, ...]]) -> Device:
    found = Device(*row)
    return replace(found, role=Role(found.role))
