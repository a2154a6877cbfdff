"""A book of the step before the count of a day had an index, brought up to date."""

from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

from quickcheck.store import Paper, Papers, Role, Sent, Store, Tally, open_store
from tests.store.older import lost, make_older, rows_of
from tests.store.samples import document, reference

INSPECTION = UUID(int=7)
NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)


def fill(store: Store) -> None:
    """Put an inspection of a device into a book, its papers, and a visit that is over."""
    store.library.keep(reference())
    _, device = store.devices.welcome(NOW)
    sent = Sent(document(), 0, device=device.id)
    store.book.receive(INSPECTION, reference(), sent, now=NOW)
    store.documented.say(INSPECTION, Papers(Paper.LEDGER, 641, 642), now=NOW)
    store.tallies.note(device.id, Tally(1, 0, 0), now=NOW)
    book = store.access.new_book("Balcony", NOW)
    _, kiosk = store.access.pair(store.access.offer(Role.KIOSK, book.id, now=NOW), NOW)
    store.access.hand_over(kiosk, NOW)


def test_all_of_it_is_there(place: Path) -> None:
    """No row is lost, and the count is what it was."""
    old = make_older(place, "0008", fill)
    assert len(old["ended_visit"]) == len(old["documented"]) == 1
    with open_store(place) as store:
        assert lost(old, rows_of(place)) == []
        (line,) = store.tallies.counted()
        assert (line.arrived, line.missing) == (1, 0)
