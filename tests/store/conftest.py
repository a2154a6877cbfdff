"""A book in a temporary folder, and a clock that ticks."""

import itertools
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from quickcheck.store import Saved, Store, open_store
from tests.postgres import ON_POSTGRESQL, borrowed_book
from tests.store.samples import document, reference


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Name the file of the book."""
    return tmp_path / "book.sqlite"


@pytest.fixture
def new_address(tmp_path: Path) -> Iterator[Callable[[], str]]:
    """Return what gives addresses of books that are not there yet, or are empty."""
    if not ON_POSTGRESQL:
        names = itertools.chain(["book"], map("book-{}".format, itertools.count(2)))
        yield lambda: f"sqlite:///{tmp_path}/{next(names)}.sqlite"
        return
    with ExitStack() as books:
        yield lambda: books.enter_context(borrowed_book())


@pytest.fixture
def address(new_address: Callable[[], str]) -> str:
    """Name the book; without PostgreSQL it is the file of ``place``."""
    return new_address()


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """Open a book whose library holds the small reference."""
    with open_store(address, patience=60) as opened:
        opened.library.keep(reference())
        yield opened


@pytest.fixture
def tick() -> Callable[[], datetime]:
    """Return a clock that goes on by a minute and a microsecond at each look."""
    start = datetime(2026, 4, 11, 9, 0, 0, 1, tzinfo=UTC)
    steps = itertools.count()
    return lambda: start + next(steps) * timedelta(minutes=1, microseconds=1)


@pytest.fixture
def begin(store: Store, tick: Callable[[], datetime]) -> Callable[..., Saved]:
    """Open an inspection whose document has these keys."""

    def opened(inspection: UUID | None = None, **more: Any) -> Saved:
        return store.book.open(inspection or uuid4(), reference(), document(**more), now=tick())

    return opened
