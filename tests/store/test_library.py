"""The library: editions and pictures that come back as they were."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import func, select

from quickcheck.errors import NotFoundError
from quickcheck.store import Store, open_store
from quickcheck.store.tables import PictureRow
from tests.store.samples import reference

NOON = datetime(2026, 4, 11, 12, tzinfo=UTC)


def test_a_kept_edition_comes_back_equal(store: Store, address: str) -> None:
    """After a new start an edition says the same, and its pictures show the same."""
    store.close()
    with open_store(address) as again:
        found = again.library.get(reference().hash)
    assert found == reference()
    assert found.pictures == reference().pictures
    assert found.canonical == reference().canonical


def test_editions_are_parsed_once(store: Store, address: str) -> None:
    """A second look at an edition takes the same object from memory."""
    with open_store(address) as again:
        assert again.library.get(reference().hash) is again.library.get(reference().hash)


def test_keeping_twice_changes_nothing(store: Store, address: str) -> None:
    """An edition keeps the day on which it was first kept, from whichever process."""
    with open_store(address) as other:
        other.library.keep(reference(), now=NOON)
        other.library.keep(reference(), now=NOON)
    (edition,) = store.library.editions("hobbinsley-poplin")
    assert edition.kept != NOON
    assert (edition.hash, edition.edition) == (reference().hash, "2026-11")


def test_editions_are_listed_last_kept_first(store: Store) -> None:
    """All editions of one reference are told, with the author's label."""
    store.library.keep(reference("2031-01"), now=datetime(2999, 1, 1, tzinfo=UTC))
    told = store.library.editions("hobbinsley-poplin")
    assert [edition.edition for edition in told] == ["2031-01", "2026-11"]
    assert told[0].kept == datetime(2999, 1, 1, tzinfo=UTC)
    assert store.library.editions("nobody") == ()


def test_a_picture_is_kept_once(store: Store) -> None:
    """Two editions that show the same picture share its content."""
    store.library.keep(reference("2027-01", stroke=3))
    with store._database.reading() as connection:
        assert connection.scalar(select(func.count()).select_from(PictureRow)) == 3
    assert store.library.get(reference("2027-01", stroke=3).hash).edition == "2027-01"


def test_an_edition_is_found_by_what_a_card_carries(store: Store) -> None:
    """The first 8 bytes of the hash, or more, lead to the edition."""
    digest = bytes.fromhex(reference().hash)
    assert store.library.find(digest[:8]) == reference()
    assert store.library.find(digest) == reference()


@pytest.mark.parametrize("prefix", [b"", b"\0" * 8, b"\0" * 40])
def test_no_edition_begins_with_that(store: Store, prefix: bytes) -> None:
    """A prefix of another edition, and one too short to be sure of, find nothing."""
    with pytest.raises(NotFoundError, match="Add the reference file"):
        store.library.find(prefix)


def test_a_prefix_too_short_is_not_trusted(store: Store) -> None:
    """Seven right bytes are not what a card carries."""
    with pytest.raises(NotFoundError, match="edition"):
        store.library.find(bytes.fromhex(reference().hash)[:7])


@pytest.mark.parametrize("name", ["", "0" * 64, "%", "\ud800", "F" * 64])
def test_an_unknown_hash_is_not_found(store: Store, name: str) -> None:
    """Whatever stands in an address, the answer is that there is no such edition."""
    with pytest.raises(NotFoundError, match="hash of an edition"):
        store.library.get(name)


def test_a_reference_id_is_only_compared(store: Store) -> None:
    """An id from an address that no database could hold finds nothing."""
    assert store.library.editions("\ud800") == ()
