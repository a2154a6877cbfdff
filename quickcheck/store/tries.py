"""Tries at the passphrase and the PIN: counted in the database, each a little later than the last.

A try is noted as failed before it is looked at, so that neither a restart nor many at once give
more of them. Nobody is ever locked out for good: whoever waits may try.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection, Select, delete, func, insert, select, update

from quickcheck.errors import WaitError
from quickcheck.store.access_tables import SecretRow, TryRow

PASSPHRASE: Final = "passphrase"  # noqa: S105  # a name, not a secret
PIN: Final = "PIN"
_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Pace:
    """How many wrong tries are free; then the wait, doubled by each further one up to the most."""

    free: int
    first: timedelta
    most: timedelta
    within: timedelta = _DAY  # of this many are counted

    def wait(self, failed: int) -> timedelta:
        """Return how long after the last of so many wrong tries the next one may come."""
        over = failed - self.free
        return min(self.first * 2 ** min(over, 20), self.most) if over >= 0 else timedelta(0)


# A PIN is one in a million: at most a hundred tries a day at a station (0.01 %), and six hundred
# at all stations together. The other has so many bits that only the noise has to be kept down.
PIN_AT_A_DEVICE: Final = Pace(5, timedelta(seconds=30), timedelta(minutes=15))
PIN_ANYWHERE: Final = Pace(
    20, timedelta(seconds=30), timedelta(minutes=3), within=timedelta(hours=1)
)
PASSPHRASE_ANYWHERE: Final = Pace(5, timedelta(seconds=2), timedelta(minutes=1))


def begin(connection: Connection, kind: str, device: UUID | None, *, now: datetime) -> int:
    """Note a try, as failed, and return its number; WaitError if it is too soon for one."""
    # Tries wait for each other here; SQLite has one writer anyway.
    connection.execute(select(SecretRow.id).with_for_update()).all()
    connection.execute(delete(TryRow).where(TryRow.at < now - _DAY))
    for pace, query in _counted(kind, device, now):
        failed, last = connection.execute(query).one()
        wait = pace.wait(failed)
        left = min(last + wait - now, wait) if failed else wait  # a clock may be set back
        if left > timedelta(0):
            raise _too_soon(kind, left)
    row = {"kind": kind, "device_id": device, "at": now, "failed": True}
    number: Any = connection.execute(insert(TryRow).values(**row)).inserted_primary_key
    return int(number[0])


def succeed(connection: Connection, number: int) -> None:
    """Note that a try was right: what failed before it at the same place is forgiven."""
    connection.execute(update(TryRow).where(TryRow.id == number).values(failed=False))


def _counted(
    kind: str, device: UUID | None, now: datetime
) -> Iterator[tuple[Pace, Select[*tuple[Any, ...]]]]:
    """Yield each pace to keep, and the query for how many failed and when the last one did."""
    if kind == PASSPHRASE:
        yield PASSPHRASE_ANYWHERE, _since_the_last_right_one(kind, device)
    else:
        yield PIN_AT_A_DEVICE, _since_the_last_right_one(kind, device)
        yield PIN_ANYWHERE, _failed(kind).where(TryRow.at > now - PIN_ANYWHERE.within)


def _failed(kind: str) -> Select[*tuple[Any, ...]]:
    tries = select(func.count(), func.max(TryRow.at).label("last"))
    return tries.where(TryRow.kind == kind, TryRow.failed)


def _since_the_last_right_one(kind: str, device: UUID | None) -> Select[*tuple[Any, ...]]:
    right = select(func.coalesce(func.max(TryRow.id), 0)).where(
        TryRow.kind == kind, ~TryRow.failed, TryRow.device_id.is_not_distinct_from(device)
    )
    return _failed(kind).where(
        TryRow.id > right.scalar_subquery(), TryRow.device_id.is_not_distinct_from(device)
    )


def _too_soon(kind: str, left: timedelta) -> WaitError:
    seconds = math.ceil(left.total_seconds())
    return WaitError.of(
        kind,
        expected="no further try so soon after wrong ones",
        came="one",
        remedy=f"Wait {seconds} seconds and try once more. Nobody is locked out.",
    )
