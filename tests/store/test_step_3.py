"""A book of the step before sealing, with something in it, brought up to date."""

from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

import pytest

from quickcheck.store import Store, open_store
from tests.store.older import Rows, lost, make_older, rows_of
from tests.store.samples import document, reference
from tests.store.sealing import card, new_signer

INSPECTION = UUID(int=7)
NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)


def fill(store: Store) -> None:
    """Put an inspection of two revisions and a device into a book."""
    store.library.keep(reference())
    store.book.open(INSPECTION, reference(), document(name="Old"), now=NOW)
    store.book.save(INSPECTION, document(name="Newer"), revision=1, now=NOW)
    store.devices.welcome(NOW)


@pytest.fixture(name="old")
def _old(place: Path) -> Rows:
    return make_older(place, "0002", fill)


def test_what_was_there_is_there(place: Path, tmp_path: Path, old: Rows) -> None:
    """Every row is as it was, the tables of sealing are beside it, and cards can be issued."""
    assert "card" not in old
    assert len(old["revision"]) == 2
    with open_store(place) as store:
        assert store.book.get(INSPECTION).name == "Newer"
        now = rows_of(place)
        assert lost(old, now) == []
        assert set(now) - set(old) >= {"issuer_key", "card", "recall"}
        issued = store.cards.issue(card(), new_signer(store, tmp_path / "keys"))
        assert store.cards.check(issued.data).stands


def test_an_older_program_leaves_it_alone(
    place: Path, old: Rows, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that knows two steps refuses a book of more."""
    open_store(place).close()
    monkeypatch.setattr("quickcheck.store.schema.STEPS", ("0001", "0002"))
    with pytest.raises(Exception, match=r"up to step 0002; got a database at step"):
        open_store(place)
