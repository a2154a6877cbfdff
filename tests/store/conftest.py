"""A book in a temporary folder, and a clock that ticks."""

import itertools
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from quickcheck.store import Saved, Store, open_store
from tests.store.samples import document, reference


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Name the file of the book."""
    return tmp_path / "book.sqlite"


@pytest.fixture
def store(place: Path) -> Iterator[Store]:
    """Open a book whose library holds the small reference."""
    with open_store(f"sqlite:///{place}", patience=60) as opened:
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
