"""Devices: known by a token, and what they tell of themselves."""

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

from quickcheck.store import Store

NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)
LATER = NOW + timedelta(minutes=5)


def test_a_device_is_found_by_its_token_alone(store: Store, place: Path) -> None:
    """The token is long, found again, and stands nowhere in the file."""
    token, device = store.devices.welcome(NOW)
    assert len(token) >= 43  # 256 bits
    assert store.devices.find(token) == device
    assert store.devices.find(token[:-1]) is None
    assert token.encode() not in place.read_bytes()


def test_two_devices_are_two(store: Store) -> None:
    """Each has its own token, id and name."""
    (one, first), (two, second) = store.devices.welcome(NOW), store.devices.welcome(NOW)
    assert one != two
    assert first.id != second.id
    assert (first.name, second.name) == ("Device 1", "Device 2")


def test_what_a_device_tells_is_kept(store: Store) -> None:
    """How many wait on it and how wrong its clock is, with the time it was told."""
    token, device = store.devices.welcome(NOW)
    store.devices.tell(device, now=LATER, unsent=3, skew=-2.5)
    found = store.devices.find(token)
    assert found
    assert (found.unsent, found.skew, found.told, found.last_seen) == (3, -2.5, LATER, LATER)
    assert found.first_seen == NOW


def test_news_is_written_at_once_and_the_rest_once_a_minute(store: Store) -> None:
    """A device that asks every second costs one write a minute, unless it tells something new."""
    token, _device = store.devices.welcome(NOW)

    def told(seconds: int, unsent: int | None) -> datetime:
        found = store.devices.find(token)
        assert found
        now = NOW + timedelta(seconds=seconds)
        store.devices.tell(found, now=now, unsent=unsent)
        found = store.devices.find(token)
        assert found
        return found.last_seen

    assert told(1, None) == NOW
    assert told(2, 0) == NOW + timedelta(seconds=2)
    assert told(3, 0) == NOW + timedelta(seconds=2)
    assert told(4, 1) == NOW + timedelta(seconds=4)
    assert told(70, None) == NOW + timedelta(seconds=70)


def test_devices_are_listed_last_seen_first(store: Store) -> None:
    """The one that was here last comes first."""
    first, second = store.devices.welcome(NOW)[1], store.devices.welcome(NOW)[1]
    store.devices.tell(first, now=LATER)
    assert [device.id for device in store.devices.list()] == [first.id, second.id]


def test_the_file_holds_the_hash_only(store: Store, place: Path) -> None:
    """What is kept of a token is 64 hex digits."""
    store.devices.welcome(NOW)
    with sqlite3.connect(place) as file:
        (kept,) = file.execute("SELECT token_sha256 FROM device").fetchone()
    file.close()
    assert len(kept) == 64
