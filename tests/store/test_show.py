"""What is kept of the show, and several writes as one."""

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest

from quickcheck.store import Show, Store, open_store

FAIR = Show("Harbour Fair", date(2026, 4, 11), date(2026, 4, 12), "https://cards.example")


def test_one_show(store: Store, place: Path, tick: Callable[[], datetime]) -> None:
    """There is none at first; then the one that was put last, also for the next program."""
    assert store.show.get() is None
    other = Show("Fair", FAIR.opens, FAIR.opens, "http://localhost:8000")
    for show in (other, FAIR, FAIR):
        store.show.put(show, tick())
    assert store.show.get() == FAIR
    with open_store(place) as again:
        assert again.show.get() == FAIR


@pytest.mark.parametrize(
    ("name", "closes"), [(" ", date(2026, 4, 12)), ("Fair", date(2026, 4, 10))]
)
def test_no_show(name: str, closes: date) -> None:
    """A show has a name and does not end before it begins."""
    with pytest.raises(ValueError, match="a show has a name"):
        Show(name, FAIR.opens, closes, FAIR.base_url)


def test_together_all(store: Store, tick: Callable[[], datetime]) -> None:
    """What is written in one block is read there at once, and kept at its end."""
    with store.together():
        store.show.put(FAIR, tick())
        assert store.show.get() == FAIR
        store.devices.welcome(tick())
    assert store.show.get() == FAIR
    assert len(store.devices.list()) == 1


def test_together_none(store: Store, tick: Callable[[], datetime]) -> None:
    """After an exception nothing of the block is there, and the next write is one of its own."""

    def broken() -> None:
        with store.together():
            store.show.put(FAIR, tick())
            store.access.set_up("horse copper lantern sleet", "480217", tick())
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        broken()
    assert store.show.get() is None
    assert not store.access.is_set_up()
    store.devices.welcome(tick())
    assert len(store.devices.list()) == 1
