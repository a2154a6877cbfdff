"""A book in a temporary folder, a small invented reference, and a clock that ticks."""

import itertools
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest

from quickcheck.reference import Reference, read_reference_text
from quickcheck.store import Saved, Store, open_store

TEXT = """
format = 1
id = "hobbinsley-poplin"
title = "Hobbinsley Poplin (invented)"
covers = ["1950-01", "1965-12"]
edition = "{edition}"
author = "Invented"
licence = "CC0-1.0"
about = "Invented, for tests."

[source.ledger]
title = "Wage ledger"
kind = "document"

[[point]]
id = "plate-screws"
area = "screws"
kind = "pick"
ask = "Drive of the control-plate screws?"
source = ["ledger"]
  [[point.seen]]
  id = "cross"
  label = "Cross recess"
  picture = "screw-cross.svg"
  to = "1956-09"
  [[point.seen]]
  id = "loom"
  label = "Two-pin loom screw"
  picture = "screw-loom.svg"
  from = "1956-10"
"""

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"><path d="M%d 4h4"/></svg>'


def reference(edition: str = "2026-11", *, stroke: int = 2) -> Reference:
    """Return an edition of the small reference; ``stroke`` changes one of its two pictures."""
    pictures = {"screw-cross.svg": SVG % stroke, "screw-loom.svg": SVG % 1}
    return read_reference_text(TEXT.replace("{edition}", edition), pictures=pictures)


def document(**more: Any) -> dict[str, Any]:
    """Return an answers document, with more top-level keys."""
    return {
        "reference": "hobbinsley-poplin",
        "window": ["1953-03", "1953-05"],
        "answers": {"plate-screws": {"seen": "cross"}},
        **more,
    }


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Name the file of the book."""
    return tmp_path / "book.sqlite"


@pytest.fixture
def store(place: Path) -> Iterator[Store]:
    """Open a book whose library holds the small reference."""
    with open_store(f"sqlite:///{place}", patience=1) as opened:
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
