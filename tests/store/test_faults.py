"""What goes wrong with files and disks leaves the store as one error that says what to do."""

import errno
import sqlite3
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import event, text
from sqlalchemy.exc import IntegrityError

from quickcheck.errors import ConflictError, StoreError
from quickcheck.store import Saved, Store, open_store
from quickcheck.store.faults import store_error
from tests.store.samples import document, reference

NOON = datetime(2026, 4, 11, 12, tzinfo=UTC)
Begin = Callable[..., Saved]


@pytest.fixture
def hasty(place: Path, store: Store) -> Iterator[Store]:
    """Open the same book with little patience."""
    with open_store(place, patience=0.2) as opened:
        yield opened


@pytest.fixture
def other(place: Path, store: Store) -> Iterator[sqlite3.Connection]:
    """Another program that has the same file open."""
    with closing(sqlite3.connect(place, isolation_level=None, timeout=0)) as connection:
        yield connection


def test_a_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    """A place where nothing can be made says so, and how to name another."""
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match=r"may read and write.*QUICKCHECK_DATABASE_URL"):
        open_store(f"sqlite:///{tmp_path}/file/book.sqlite")


def test_a_folder_without_the_right_to_write_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The system's refusal becomes ours (root may write anywhere, so it is played)."""

    def refuse(*_: object) -> int:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("quickcheck.store.session.os.open", refuse)
    with pytest.raises(StoreError, match=r"Permission denied.*Give this user the right"):
        open_store(f"sqlite:///{tmp_path}/book.sqlite")


def test_a_held_book_is_told_after_waiting(hasty: Store, other: sqlite3.Connection) -> None:
    """Another program that holds the file too long is named as the cause; then all is well."""
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StoreError, match=r"database is locked.*Close the other program"):
        hasty.book.open(uuid4(), reference(), document(), now=NOON)
    with pytest.raises(StoreError, match="free to write"):
        hasty.book.list()
    other.execute("ROLLBACK")
    assert hasty.book.open(uuid4(), reference(), document(), now=NOON).revision == 1


def test_a_commit_that_a_reader_holds_up_is_undone(
    hasty: Store, begin: Begin, other: sqlite3.Connection
) -> None:
    """A save that fails at its very end is not there, and leaves no transaction behind."""
    first = begin()
    other.execute("BEGIN")
    other.execute("SELECT * FROM revision").fetchone()
    with pytest.raises(StoreError, match="Nothing was saved"):
        hasty.book.save(first.id, document(n=2), revision=1, now=NOON)
    assert hasty.book.get(first.id) == first
    other.execute("ROLLBACK")
    assert hasty.book.save(first.id, document(n=3), revision=1, now=NOON).revision == 2


def test_a_thread_that_keeps_the_turn_is_told(hasty: Store) -> None:
    """Waiting for the other threads of this process ends, too."""
    with (
        hasty._database.writing(),
        ThreadPoolExecutor(1) as other_thread,
        pytest.raises(StoreError, match=r"another thread.*Nothing was saved"),
    ):
        other_thread.submit(hasty.book.undo, uuid4(), NOON).result()


@pytest.mark.usefixtures("place")  # about the file
def test_a_full_disk_is_told_and_loses_nothing(store: Store, begin: Begin) -> None:
    """A save that finds no room is refused; what was there stays, and can be read."""
    first = begin()
    with store._database.reading() as connection:
        pages = connection.scalar(text("PRAGMA page_count"))
        connection.execute(text(f"PRAGMA max_page_count = {pages}"))
    with pytest.raises(StoreError, match=r"is full.*Make room"):
        store.book.save(first.id, document(note="x" * 100_000), revision=1, now=NOON)
    assert store.book.get(first.id) == first


@pytest.mark.usefixtures("place")  # about the file
def test_a_book_that_may_not_be_written_is_told(store: Store, begin: Begin) -> None:
    """A file that turned read-only can still be read."""
    first = begin()
    with store._database.reading() as connection:
        connection.execute(text("PRAGMA query_only = ON"))
    with pytest.raises(StoreError, match=r"readonly.*Give this user the right"):
        store.book.save(first.id, document(n=2), revision=1, now=NOON)
    assert store.book.get(first.id) == first


def test_a_file_of_something_else_is_told(place: Path) -> None:
    """A file that is no database is left as it is."""
    place.write_bytes(b"Dear diary, " * 1000)
    with pytest.raises(StoreError, match=r"not a database.*last backup"):
        open_store(f"sqlite:///{place}")
    assert place.read_bytes() == b"Dear diary, " * 1000


def test_a_torn_file_is_told(store: Store, place: Path, begin: Begin) -> None:
    """Pages that were overwritten with rubbish are damage, not an empty book."""
    first = begin()
    store.close()
    content = place.read_bytes()
    place.write_bytes(content[:4096] + b"\xa5" * (len(content) - 4096))
    with pytest.raises(StoreError, match=r"malformed.*last backup"):
        open_store(f"sqlite:///{place}").book.get(first.id)


def _tamper(other: sqlite3.Connection, statement: str) -> None:
    for (name,) in other.execute(
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    ).fetchall():
        other.execute(f"DROP TRIGGER {name}")
    assert other.execute(statement).rowcount > 0


def test_a_changed_document_is_told(store: Store, begin: Begin, other: sqlite3.Connection) -> None:
    """A document that no longer has its hash is never handed out as if it were whole."""
    first = begin()
    _tamper(other, "UPDATE revision SET document = replace(document, 'cross', 'loom')")
    for look in (store.book.get, store.book.history):
        with pytest.raises(StoreError, match=r"damaged.*last backup"):
            look(first.id)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE edition SET canonical = CAST(replace(canonical, 'Poplin', 'Taffeta') AS BLOB)",
        "UPDATE picture SET content = x'00'",
    ],
)
def test_a_changed_edition_is_told(
    store: Store, place: Path, other: sqlite3.Connection, statement: str
) -> None:
    """A reference or a picture that no longer has its hash is not taken for the one that was kept."""
    _tamper(other, statement)
    with open_store(f"sqlite:///{place}") as again, pytest.raises(StoreError, match="damaged"):
        again.library.get(reference().hash)


@pytest.mark.parametrize("table", ["edition", "picture", "edition_picture", "revision", "conflict"])
@pytest.mark.parametrize("change", ["UPDATE {} SET rowid = rowid", "DELETE FROM {}"])
def test_the_file_itself_refuses_changes(
    store: Store, begin: Begin, other: sqlite3.Connection, table: str, change: str
) -> None:
    """Whatever program asks, what was kept can't be changed or taken away."""
    first = begin()
    store.book.save(first.id, document(n=2), revision=1, now=NOON)
    with pytest.raises(ConflictError, match="in between"):
        store.book.save(first.id, document(n=3), revision=1, now=NOON)
    with pytest.raises(sqlite3.IntegrityError, match="rows are only ever added"):
        other.execute(change.format(table))


def test_a_reply_that_never_came_is_an_error(store: Store) -> None:
    """A fault of the database that we have no row for still says what to do."""

    def refuse(*_: object) -> None:
        raise IntegrityError("INSERT", {}, Exception("odd"))

    event.listen(store._database.engine, "before_cursor_execute", refuse)
    with pytest.raises(StoreError, match=r'got "odd".*Try again'):
        store.health()


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "Make room on the disk"),
        (OSError(errno.EROFS, "Read-only file system"), "right to write"),
        (sqlite3.OperationalError("something new"), "Try again"),
    ],
)
def test_errors_of_the_system_are_told(error: BaseException, words: str) -> None:
    """Each kind of failure has its own advice, beside what the system said."""
    assert words in str(store_error(error, place="book.sqlite"))
    assert str(error) in str(store_error(error, place="book.sqlite"))


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("SQLITE_LOCKED_SHAREDCACHE", "Close the other program"),
        ("SQLITE_IOERR_FSYNC", "Check the disk"),
        ("SQLITE_PERM", "right to write"),
        ("SQLITE_TOOBIG", "Try again"),
    ],
)
def test_result_codes_of_sqlite_are_told(code: str, words: str) -> None:
    """Extended result codes share the advice of their kind."""
    error = sqlite3.OperationalError("as SQLite says it")
    error.sqlite_errorname = code
    assert words in str(store_error(error, place="book.sqlite"))
