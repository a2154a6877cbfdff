"""What only a PostgreSQL shows: writers that are in at once, a server that dies, rights, encodings."""

import os
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar
from uuid import UUID, uuid4

import psycopg
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from quickcheck.errors import ConflictError, StoreError
from quickcheck.store import THIS_BOOK, KeyFiles, Photo, Sent, Store, make_key, open_store
from quickcheck.store.tables import Row
from tests.postgres import Cluster, programs, running
from tests.store.samples import document, reference
from tests.store.sealing import card, new_signer

pytestmark = [
    pytest.mark.postgresql,
    pytest.mark.skipif(programs() is None, reason="PostgreSQL is not installed"),
]
NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)
CUTS = 200 if os.environ.get("QUICKCHECK_FULL") == "1" else 3
WRITERS = 8
T = TypeVar("T")


@pytest.fixture(name="address")
def _address(postgresql: Cluster) -> Iterator[str]:
    address = postgresql.new_book()
    yield address
    postgresql.give_back(address)


@pytest.fixture(name="stores")
def _stores(address: str) -> Iterator[list[Store]]:
    """Open one book by two programs; here they share a process, but nothing else."""
    with open_store(address, patience=60) as one, open_store(address, patience=60) as other:
        yield [one, other]


def at_once(stores: list[Store], do: Callable[[Store, int], T]) -> list[T]:
    """Let eight threads do it at the same moment, four by each program."""
    start = threading.Barrier(WRITERS, timeout=60)

    def one(n: int) -> T:
        start.wait()
        return do(stores[n % 2], n)

    with ThreadPoolExecutor(WRITERS) as threads:
        return list(threads.map(one, range(WRITERS)))


def test_one_edition_is_kept_once(stores: list[Store]) -> None:
    """Eight that keep editions with the same pictures at once neither fail nor wait in a circle."""
    editions = [reference(f"2026-0{n + 1}") for n in range(4)]
    at_once(stores, lambda store, n: store.library.keep(editions[n % 4], now=NOW))
    with open_store(stores[0]._database.engine.url.render_as_string(False)) as again:
        for edition in editions:
            assert again.library.get(edition.hash) == edition


def test_one_opening_is_one_inspection(stores: list[Store]) -> None:
    """Eight that open the same inspection at once get one receipt."""
    stores[0].library.keep(reference())
    for _ in range(5):
        new = uuid4()
        saved = at_once(
            stores, lambda store, _, new=new: store.book.open(new, reference(), document(), now=NOW)
        )
        assert {each.revision for each in saved} == {1}
        assert len(stores[0].book.history(new)) == 1


def test_one_photo_of_two_inspections(stores: list[Store]) -> None:
    """The same photo sent for eight inspections at once is kept once, and is missing in none."""
    stores[0].library.keep(reference())
    ids = [uuid4() for _ in range(WRITERS)]
    for each in ids:
        stores[0].book.open(each, reference(), document(), now=NOW)
    photo = Photo("image/png", b"not looked at here")
    missing = at_once(stores, lambda store, n: store.photos.keep(ids[n], "ab" * 32, photo, now=NOW))
    assert missing == [()] * WRITERS
    assert stores[0].health()["photos"] == 1
    assert stores[0].server.standing(NOW).commits == WRITERS + 1


def test_one_document_is_parked_once(stores: list[Store]) -> None:
    """A document that can't be taken, sent eight times at once, is kept once."""
    stranger, sent = uuid4(), Sent(document(), 0)
    at_once(
        stores,
        lambda store, _: store.book.park(
            stranger, sent, edition_hash="0" * 64, reason="x", now=NOW
        ),
    )
    assert stores[0].health()["parked"] == 1


def test_devices_have_names_of_their_own(stores: list[Store]) -> None:
    """Eight devices that come at once get eight names."""
    found = at_once(stores, lambda store, _: store.devices.welcome(NOW)[1].name)
    assert sorted(found) == [f"Device {n}" for n in range(1, WRITERS + 1)]


def test_one_key_is_known_once(stores: list[Store], tmp_path: Path) -> None:
    """The same key made known eight times at once is there once."""
    key = make_key(stores[0].keys, KeyFiles(tmp_path / "keys"), issuer="A test", now=NOW)
    with psycopg.connect(
        stores[0]._database.engine.url.render_as_string(False).replace("+psycopg", "")
    ) as connection:
        connection.execute("SET session_replication_role = replica")
        connection.execute("DELETE FROM issuer_key")
    at_once(stores, lambda store, _: store.keys.add(key))
    assert stores[1].keys.list() == (key,)


def test_numbers_and_sources_by_two_keys(stores: list[Store], tmp_path: Path) -> None:
    """No number twice, and of one source one card, whichever of two keys comes first."""
    signers = [new_signer(stores[0], tmp_path / name) for name in ("a", "b")]
    issued = at_once(stores, lambda store, n: store.cards.issue(card(), signers[n // 4]))
    numbers = sorted((each.key_id, each.number) for each in issued)
    ids = sorted(signer.id for signer in signers)
    assert numbers == [(key, n) for key in ids for n in (1, 2, 3, 4)]
    again = at_once(
        stores, lambda store, n: store.cards.issue(card(), signers[n // 4], source="c" * 64)
    )
    assert len({each.id for each in again}) == 1


def test_two_corrections_in_a_circle(stores: list[Store], tmp_path: Path) -> None:
    """Of two cards that are each to take the other's place at the same moment, one stands."""
    signers = [new_signer(stores[0], tmp_path / name) for name in ("a", "b")]
    one, other = (stores[0].cards.issue(card(), signer).id for signer in signers)

    def correct(store: Store, n: int) -> bool:
        old, new = (one, other) if n % 2 else (other, one)
        try:
            store.cards.correct(old, by=new, now=NOW)
        except ConflictError:
            return False
        return True

    done = at_once(stores, correct)
    assert len(stores[0].cards.recall_list(NOW).recalls) == 1
    assert 1 <= sum(done) <= WRITERS // 2


def test_a_start_among_writes_looks_like_no_loss(stores: list[Store], address: str) -> None:
    """Marks that are given out while another server starts never look like writes that are gone."""
    stores[0].library.keep(reference())
    epoch = stores[0].server.standing(NOW).epoch

    def work(store: Store, n: int) -> list[str]:
        if n == 0:
            for _ in range(3):
                open_store(address, patience=60).close()
            return []
        marks = []
        for _ in range(5):
            store.book.open(uuid4(), reference(), document(), now=NOW)
            marks.append(store.server.standing(NOW).mark)
        return marks

    for marks in at_once(stores, work):
        for mark in marks:
            assert stores[1].server.compare(mark, NOW).epoch == epoch
    assert stores[1].server.standing(NOW).commits == (WRITERS - 1) * 5


def test_first_starts_at_once(postgresql: Cluster) -> None:
    """Four servers that start on a database with nothing in it make the tables once."""
    virgin = postgresql.new()
    with ThreadPoolExecutor(4) as threads:
        schemas = list(threads.map(lambda _: _schema_of(virgin), range(4)))
    assert len(set(schemas)) == 1
    with psycopg.connect(virgin) as connection:
        assert connection.execute("SELECT count(*) FROM start").fetchone() == (4,)


def _schema_of(address: str) -> object:
    with open_store(address, patience=60) as store:
        return store.health()["schema"]


def test_the_steps_make_the_tables_that_the_code_knows(stores: list[Store]) -> None:
    """Alembic finds no difference here either."""
    with stores[0]._database.reading() as connection:
        more = {"compare_type": True, "include_name": lambda name, *_: name != "finding_words"}
        context = MigrationContext.configure(connection, opts=more)
        assert compare_metadata(context, Row.metadata) == []


@pytest.mark.parametrize(
    "change", ["UPDATE {} SET {} = {}", "DELETE FROM {}", "TRUNCATE {} CASCADE"]
)
@pytest.mark.parametrize(
    ("table", "column"),
    [
        *(("revision", "kind"), ("documented", "note"), ("ended_visit", "visit")),
        ("issuer_key", "issuer"),
    ],
)
def test_the_database_itself_keeps_what_was_kept(
    stores: list[Store], address: str, change: str, table: str, column: str
) -> None:
    """Whatever program asks, a row that only grows is neither changed nor taken away."""
    with (
        psycopg.connect(address) as connection,
        pytest.raises(psycopg.errors.RaiseException, match=r"only ever added|stays what it is"),
    ):
        connection.execute(change.format(table, column, column))


@pytest.mark.parametrize("change", ["DELETE FROM book", "TRUNCATE book"])
def test_a_book_may_be_named_and_not_taken_away(
    stores: list[Store], address: str, change: str
) -> None:
    """Its name is the organizer's to change; that it was there is not."""
    stores[0].access.name_book(THIS_BOOK, "Hall")
    with (
        psycopg.connect(address) as connection,
        pytest.raises(psycopg.errors.RaiseException, match="book: rows are never taken away"),
    ):
        connection.execute(change)


def test_health_tells_what_the_server_promises(stores: list[Store]) -> None:
    """Version, fsync, encoding and size are told, and how words are found."""
    told = stores[0].health()
    assert (told["database"], told["found_by"], told["fsync"]) == ("postgresql", "index", "off")
    assert (told["server_encoding"], told["full_page_writes"]) == ("UTF8", "on")
    assert told["server_version"][0].isdigit()
    assert told["bytes"] > 1_000_000
    assert stores[0].check() == ()


def test_a_database_that_holds_no_umlauts_is_refused(postgresql: Cluster) -> None:
    """Names come in any script, so another encoding is refused with what to do."""
    other = postgresql.new(more="ENCODING 'LATIN1' LC_COLLATE 'C' LC_CTYPE 'C'")
    with pytest.raises(StoreError, match=r"in UTF8; got LATIN1\. Make one: CREATE DATABASE"):
        open_store(other)


def test_without_the_extension_words_are_found_by_walking(postgresql: Cluster) -> None:
    """Where a user may not add pg_trgm the book works all the same, and health says it."""
    address = postgresql.new()
    name = address.split("/")[3].split("?")[0]
    with postgresql.connect(name) as connection:
        connection.execute("CREATE ROLE guest LOGIN")
        connection.execute("GRANT CREATE, USAGE ON SCHEMA public TO guest")
    with open_store(address.replace("postgres@", "guest@")) as store:
        assert store.health()["found_by"] == "walking"
        store.library.keep(reference())
        store.book.open(uuid4(), reference(), document(name="Öhr"), now=NOW)
        assert len(store.book.list(matching="öhr")) == 1


def test_waiting_for_a_row_ends(address: str) -> None:
    """Somebody who keeps an inspection does not hang the others: they are told after a while."""
    with open_store(address, patience=60) as store, open_store(address, patience=0.2) as hasty:
        store.library.keep(reference())
        first = store.book.open(uuid4(), reference(), document(), now=NOW)

        def change(_: dict[str, object]) -> None:
            with pytest.raises(StoreError, match=r"lock timeout.*Nothing was saved"):
                hasty.book.undo(first.id, NOW)

        store.book.amend(first.id, change, now=NOW)


def test_a_cut_connection_is_replaced(stores: list[Store], address: str) -> None:
    """After every connection was cut the next request works, and one under way is told of it."""
    store = stores[0]
    store.library.keep(reference())
    first = store.book.open(uuid4(), reference(), document(), now=NOW)

    def cut(_: object = None) -> None:
        with psycopg.connect(address, autocommit=True) as other:
            other.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )

    cut()
    assert store.book.get(first.id) == first
    with pytest.raises(StoreError, match=r"a database that answers.*Nothing was saved"):
        store.book.amend(first.id, cut, now=NOW)
    assert store.book.save(first.id, document(n=2), revision=1, now=NOW).revision == 2


def test_what_was_called_saved_outlives_a_killed_server() -> None:
    """PostgreSQL killed between two instructions, again and again, while four write: none is lost."""
    with running() as cluster, open_store(cluster.new(), patience=5) as store:
        assert store.health()["fsync"] == "on"
        store.library.keep(reference())
        ids = [uuid4() for _ in range(4)]
        for each in ids:
            store.book.open(each, reference(), document(n=0), now=NOW)
        acknowledged = 0
        for _ in range(CUTS):
            stop, first = threading.Event(), threading.Event()
            with ThreadPoolExecutor(len(ids)) as threads:
                writing = [threads.submit(_write, store, each, stop, first) for each in ids]
                assert first.wait(60)
                cluster.kill()
                stop.set()
                said = [future.result() for future in writing]
            with pytest.raises(StoreError, match="Nothing was saved"):
                store.book.list()
            cluster.start()
            for each, receipts in zip(ids, said, strict=True):
                kept = {entry.number: entry.sha256 for entry in store.book.history(each)}
                assert receipts.items() <= kept.items()
                assert sorted(kept) == list(range(1, len(kept) + 1))
                acknowledged += len(receipts)
        assert acknowledged >= CUTS
        print(f"0 lost of {acknowledged} acknowledged, {CUTS} kills")


def _write(
    store: Store, inspection: UUID, stop: threading.Event, first: threading.Event
) -> dict[int, str]:
    """Save until the server is gone; return what was acknowledged."""
    said: dict[int, str] = {}
    while not stop.is_set():
        try:
            saved = store.book.amend(inspection, _count, now=NOW)
        except StoreError:
            break
        said[saved.revision] = saved.sha256
        first.set()
    return said


def _count(content: dict[str, int]) -> None:
    content["n"] = content.get("n", 0) + 1
