"""A book of the step before pairing, with something of everything in it, brought up to date."""

from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

import pytest

from quickcheck.store import THIS_BOOK, Role, Scope, Sent, Store, open_store
from tests.store.older import Rows, lost, make_older, rows_of
from tests.store.samples import document, reference

INSPECTION, PARKED = UUID(int=7), UUID(int=8)
NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)


def fill(store: Store) -> None:
    """Put an inspection, a parked document and a device into a book."""
    store.library.keep(reference())
    store.book.open(INSPECTION, reference(), document(), now=NOW)
    store.book.park(PARKED, Sent(document(), 0), edition_hash="f" * 64, reason="test", now=NOW)
    store.devices.welcome(NOW)


@pytest.fixture(name="old")
def _old(place: Path) -> Rows:
    return make_older(place, "0003", fill)


def test_everything_is_in_the_first_book(place: Path, old: Rows) -> None:
    """No row is lost; all of them are in "This book", and the book is open as before."""
    assert "book_id" not in old["inspection"][0]
    with open_store(place) as store:
        assert lost(old, rows_of(place)) == []
        assert [(book.id, book.name) for book in store.access.books()] == [(THIS_BOOK, "This book")]
        assert not store.access.is_set_up()
        mine = store.within(Scope(THIS_BOOK)).book
        assert [saved.id for saved in mine.list()] == [INSPECTION]
        assert len(mine.history(PARKED)) == 1
        (device,) = store.devices.list()
        assert (device.role, device.book, device.revoked) == (Role.DEALER, THIS_BOOK, None)
