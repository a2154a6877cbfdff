"""A full book, and an export of it."""

from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path

import pytest

from quickcheck.desk import export_book
from quickcheck.store import Store, open_store
from tests.postgres import ON_POSTGRESQL, borrowed_book
from tests.transfer.filled import NOW, fill


@pytest.fixture(name="place")
def _place(tmp_path: Path) -> Path:
    """Name the file of the book."""
    return tmp_path / "book.sqlite3"


@pytest.fixture(name="book")
def _book(place: Path) -> Iterator[Store]:
    """Open a book with something of everything; it waits for nobody."""
    with open_store(place, patience=0.2) as store:
        fill(store, place.parent / "keys")
        yield store


@pytest.fixture(name="other")
def _other(tmp_path: Path) -> Iterator[Store]:
    """Open an empty book, in whatever the tests run on."""
    with (
        borrowed_book() if ON_POSTGRESQL else nullcontext(tmp_path / "other.sqlite3") as where,
        open_store(where) as store,
    ):
        yield store


@pytest.fixture(name="exported", scope="session")
def _exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an export of a full book; for tests that only read it."""
    folder = tmp_path_factory.mktemp("exported")
    with open_store(folder / "book.sqlite3") as store:
        fill(store, folder / "keys")
        return export_book(store, folder / "book.zip", now=NOW).path
