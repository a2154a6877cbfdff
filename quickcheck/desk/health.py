"""How the server is: versions, disk, clock, who has something unsent, what does not agree."""

import sqlite3
import sys
from datetime import datetime, timedelta
from typing import Any, Final

from quickcheck import __version__
from quickcheck.store import Device, Store

_SCARCE: Final = 200 * 1024 * 1024  # bytes: some hundred photos
_LONG: Final = timedelta(minutes=10)  # a phone that can reach the server sends within seconds

# sqlite.org/wal.html, "The WAL-Reset Bug": since 3.7.0, mended in 3.51.3 and in two older lines.
_MENDED: Final = ((3, 44, 6), (3, 50, 7))


def has_wal_fault(version: tuple[int, ...]) -> bool:
    """Whether this SQLite may damage a book in WAL mode (ours is never in that mode)."""
    mended = any(version[:2] == line[:2] and version >= line for line in _MENDED)
    return (3, 7, 0) <= version < (3, 51, 3) and not mended


def report_health(store: Store, *, now: datetime, check: bool = False) -> dict[str, Any]:
    """Return all that is told of the server, as plain data; ``check`` reads the whole book.

    ``warnings`` is what a person must know, ``needs`` what a person must do something about.
    """
    devices = store.devices.list()
    told: dict[str, Any] = {
        "version": __version__,
        "python": sys.version.split()[0],
        "time": now.isoformat(timespec="seconds"),
        "store": store.health(),
        "devices": [_device(device) for device in devices],
        "differences": [
            {
                "uuid": str(each.inspection),
                "revision": each.revision,
                "phone": each.found.phone,
                "server": each.found.server,
                "rules": each.found.rules,
                "noticed": each.noticed.isoformat(timespec="seconds"),
            }
            for each in store.book.differences()
        ],
        "two_versions": sorted(str(each) for each in store.book.undecided()),
        "damage": list(store.check()) if check else None,
    }
    warnings = _warnings(told["store"] | told, devices)
    needs = [*warnings, *_waiting(devices, now), *_undone(told)]
    return told | {"warnings": _notes(told["store"]) + warnings, "needs": needs}


def _device(device: Device) -> dict[str, Any]:
    return {
        "id": str(device.id),
        "name": device.name,
        "first_seen": device.first_seen.isoformat(timespec="seconds"),
        "last_seen": device.last_seen.isoformat(timespec="seconds"),
        "unsent": device.unsent,
        "skew": device.skew,
    }


def _notes(told: dict[str, Any]) -> list[str]:
    """Return what is to be known and needs nobody."""
    if not has_wal_fault(sqlite3.sqlite_version_info):
        return []
    mode = told.get("journal_mode", "none")
    note = (
        f"SQLite {sqlite3.sqlite_version} has a known fault in WAL mode. This book's journal "
        f"mode is {mode}, which it does not touch; leave it so, or update SQLite."
    )
    return [note]


def _warnings(told: dict[str, Any], devices: tuple[Device, ...]) -> list[str]:
    found = []
    if told.get("disk_free", _SCARCE) < _SCARCE:
        found.append("The disk is nearly full. Make room: photos stop first, then answers.")
    found += [
        f"PostgreSQL's {name} is off: what was called saved may be lost in a power cut. Turn it on."
        for name in ("fsync", "full_page_writes")
        if told.get(name) == "off"
    ]
    found += [
        f"The clock of {device.name} is off by {device.skew:.0f} s."
        for device in devices
        if device.is_skewed
    ]
    if told["differences"]:
        found.append("A phone judged otherwise than this server; one of the two is at fault.")
    return found


def _waiting(devices: tuple[Device, ...], now: datetime) -> list[str]:
    """Return who has had something unsent for so long that it does not come by itself."""
    return [
        f"{device.name} had {device.unsent} unsent at {device.told:%Y-%m-%d %H:%M}. "
        "Open the app there, near the server."
        for device in devices
        if device.unsent and device.told and now - device.told > _LONG
    ]


def _undone(told: dict[str, Any]) -> list[str]:
    found = []
    if told["two_versions"]:
        found.append(f"Of {len(told['two_versions'])} inspections two versions are kept: choose.")
    if told["damage"]:
        found.append("The book is damaged: keep a copy of it and put back the last backup.")
    return found
