"""A book moves from its file into PostgreSQL: all of it, the same, or not at all."""

import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

import psycopg
import pytest
from alembic import command
from sqlalchemy import Connection

from quickcheck.errors import StoreError
from quickcheck.store import (
    Device,
    Differing,
    Paper,
    Papers,
    Photo,
    Role,
    Sent,
    Show,
    Store,
    Tally,
    move,
    moving,
    open_store,
)
from quickcheck.store.schema import alembic_config
from quickcheck.store.session import connect
from quickcheck.store.tables import Row
from tests.postgres import Cluster, programs
from tests.store.samples import document, reference
from tests.store.sealing import card, new_signer

pytestmark = [
    pytest.mark.postgresql,
    pytest.mark.skipif(programs() is None, reason="PostgreSQL is not installed"),
]
NOW = datetime(2026, 4, 11, 12, 0, 0, 1, tzinfo=UTC)
ONE, OTHER = UUID(int=1), UUID(int=2**127)


@pytest.fixture(name="book", scope="module")
def _book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a book with something in every table."""
    folder = tmp_path_factory.mktemp("moving")
    place = folder / "book.sqlite3"
    with open_store(place) as store:
        edition = reference()
        store.library.keep(edition, now=NOW)
        for each in (ONE, OTHER):
            store.book.open(each, edition, document(name="Öhr 100 % \\ 'x'"), now=NOW)
        found = Differing("{}", '{"a": 1}', 1)
        sent = Sent(document(photos={"knobs": ["ab" * 32]}), 1)
        store.book.receive(ONE, edition, sent, now=NOW, differing=found)
        store.book.receive(ONE, edition, Sent(document(n="late"), 0), now=NOW)
        store.book.park(OTHER, sent, edition_hash="0" * 64, reason="nobody has it", now=NOW)
        store.photos.keep(ONE, "ab" * 32, Photo("image/png", bytes(range(256))), now=NOW)
        _, device = store.devices.welcome(NOW)
        store.devices.tell(device, now=NOW, unsent=3, skew=-0.1)
        _fill_more(store, device)
        signer = new_signer(store, folder / "keys")
        first = store.cards.issue(card(), signer, source="c" * 64, inspection=ONE)
        second = store.cards.issue(card(), signer)
        store.cards.correct(first.id, by=second.id, now=NOW)
    return place


def _fill_more(store: Store, device: Device) -> None:
    """Add what papers say, the show, a tally, and what lets people in."""
    store.documented.say(ONE, Papers(Paper.RECEIPT, 641, 642, 0.5, "Nº 7"), now=NOW)
    store.show.put(Show("Harbour Fair", NOW.date(), NOW.date(), "https://cards.example"), NOW)
    store.tallies.note(device.id, Tally(3, 1, 0), now=NOW)
    store.access.set_up("quartered walnut lantern ferry", "", NOW)
    store.access.check_passphrase("another", NOW)
    balcony = store.access.new_book("Balcony", NOW)
    _, kiosk = store.access.pair(store.access.offer(Role.KIOSK, balcony.id, now=NOW), NOW)
    store.access.hand_over(kiosk, NOW)
    store.access.offer(Role.DEALER, balcony.id, now=NOW)


@pytest.fixture(name="empty")
def _empty(postgresql: Cluster) -> str:
    return postgresql.new()


def test_everything_arrives_and_the_file_is_as_it_was(book: Path, empty: str) -> None:
    """Every table has something in it, in both the same; the file is not a byte another."""
    before = book.read_bytes()
    found = move(book, empty)
    assert set(found) == {table.name for table in Row.metadata.sorted_tables}
    assert all(content.rows for content in found.values())
    assert book.read_bytes() == before
    with open_store(book) as old, open_store(empty) as new:
        assert new.server.standing(NOW).epoch == old.server.standing(NOW).epoch
        assert new.health()["found_by"] == "index"
        for each in (ONE, OTHER):
            assert new.book.history(each) == old.book.history(each)
        assert new.book.list(matching="öhr") == old.book.list(matching="öhr")
        assert new.access.books() == old.access.books()
        assert new.cards.of_inspection(ONE) == old.cards.of_inspection(ONE)


def test_numbering_goes_on(book: Path, empty: str) -> None:
    """The next late document, the next start and the next card have the next number."""
    move(book, empty)
    with open_store(empty) as store:
        edition = store.library.get(store.book.edition_of(ONE))
        store.book.receive(ONE, edition, Sent(document(n="later"), 0), now=NOW)
        keys = [entry.key for entry in store.book.history(ONE)]
        assert {"late-1", "late-2"} <= set(keys)


def test_a_database_with_something_in_it_is_left_alone(book: Path, empty: str) -> None:
    """Moved once, it is not moved there again; what is there stays."""
    move(book, empty)
    with pytest.raises(StoreError, match=r"an empty database.*rows in.*Nothing was changed"):
        move(book, empty)
    with open_store(empty) as store:
        assert store.health()["inspections"] == 2


def test_a_difference_keeps_nothing(
    book: Path, empty: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One character that arrives as another is noticed, not a table is left, and it may be tried again."""
    monkeypatch.setattr(
        moving, "_rows_to_insert", lambda rows: [_spoilt(dict(row)) for row in rows]
    )
    with pytest.raises(StoreError, match=r"inspection: expected 2 rows.*Nothing was kept there"):
        move(book, empty)
    with psycopg.connect(empty) as connection:
        query = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
        assert connection.execute(query).fetchone() == (0,)
    monkeypatch.undo()
    assert move(book, empty)["inspection"].rows == 2


def _spoilt(row: dict[str, object]) -> dict[str, object]:
    return {**row, "serial": "1389"} if "serial" in row and "words" in row else row


def test_nobody_writes_to_the_file_meanwhile(
    book: Path, empty: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server that was left running is kept from saving what would be left behind."""
    place = Path(shutil.copy(book, tmp_path))
    real, told = moving.contents, []

    def contents(connection: Connection) -> object:
        with open_store(place, patience=0.1) as store, pytest.raises(StoreError) as refused:
            store.book.undo(ONE, NOW)
        told.append(str(refused.value))
        return real(connection)

    monkeypatch.setattr(moving, "contents", contents)
    move(place, empty)
    assert "database is locked" in told[0]


def test_a_book_of_an_older_step_moves_too(book: Path, empty: str, tmp_path: Path) -> None:
    """It is brought up to date in a copy; the file keeps its step."""
    place = tmp_path / "old.sqlite3"
    database = connect(place, patience=5)
    with database.writing() as connection:
        command.upgrade(alembic_config(connection), "0002")
    database.close()
    move(place, empty)
    with sqlite3.connect(place) as file:
        assert file.execute("SELECT version_num FROM alembic_version").fetchone() == ("0002",)
    file.close()


@pytest.mark.parametrize("content", [None, b"no database at all" * 99])
def test_what_is_no_book_is_told(empty: str, tmp_path: Path, content: bytes | None) -> None:
    """A missing file is not made, and something else is not moved."""
    place = tmp_path / "no-book"
    if content:
        place.write_bytes(content)
    with pytest.raises(StoreError, match=r"no-book"):
        move(place, empty)
    assert place.exists() == bool(content)


def test_only_to_postgresql(book: Path, tmp_path: Path) -> None:
    """To another file it is copied, not moved."""
    with pytest.raises(StoreError, match=r"a PostgreSQL to move to; got an SQLite file"):
        move(book, f"sqlite:///{tmp_path}/other.sqlite")
