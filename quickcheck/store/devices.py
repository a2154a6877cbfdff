"""Devices: phones and stations, each known by a random token of which only the hash is kept."""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any, Final
from uuid import UUID, uuid4

from sqlalchemy import Row, func, insert, select, update

from quickcheck.store import queries
from quickcheck.store.records import in_utc
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import DeviceRow

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


_DEVICE: Final = select(
    DeviceRow.id,
    DeviceRow.name,
    DeviceRow.first_seen,
    DeviceRow.last_seen,
    DeviceRow.unsent,
    DeviceRow.skew,
    DeviceRow.told,
)


class Devices:
    """Who was here."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def welcome(self, now: datetime) -> tuple[str, Device]:
        """Note a new device; return its token, 256 random bits that are kept nowhere here."""
        token, at = secrets.token_urlsafe(32), in_utc(now)
        with self._database.writing() as connection:
            connection.execute(queries.HOLD_SERVER)  # two that come at once get two names
            count = connection.scalar(select(func.count()).select_from(DeviceRow)) or 0
            device = Device(uuid4(), f"Device {count + 1}", at, at, None, None, None)
            row = {
                "id": device.id,
                "name": device.name,
                "first_seen": at,
                "last_seen": at,
                "token_sha256": _hashed(token),
            }
            connection.execute(insert(DeviceRow).values(**row))
        return token, device

    def find(self, token: str) -> Device | None:
        """Return the device that has this token."""
        with self._database.reading() as connection:
            query = _DEVICE.where(DeviceRow.token_sha256 == _hashed(token))
            row = connection.execute(query).one_or_none()
        return _device(row) if row else None

    def tell(
        self, device: Device, *, now: datetime, unsent: int | None = None, skew: float | None = None
    ) -> None:
        """Note what a device told of itself; what is not news is noted once a minute."""
        at = in_utc(now)
        told = {"unsent": unsent, "skew": skew} if unsent is not None or skew is not None else {}
        news = unsent is not None and unsent != device.unsent
        if not news and at - device.last_seen < _OFTEN_ENOUGH and (device.told or not told):
            return
        values: dict[str, Any] = {"last_seen": at, **({**told, "told": at} if told else {})}
        with self._database.writing() as connection:
            connection.execute(update(DeviceRow).where(DeviceRow.id == device.id).values(**values))

    def list(self) -> tuple[Device, ...]:
        """Return the devices, the one seen last first."""
        query = _DEVICE.order_by(DeviceRow.last_seen.desc(), DeviceRow.id).limit(_MOST)
        with self._database.reading() as connection:
            return tuple(_device(row) for row in connection.execute(query))


def _hashed(token: str) -> str:
    return sha256(token.encode(errors="replace")).hexdigest()


def _device(row: Row[*tuple[Any, ...]]) -> Device:
    return Device(*row)
