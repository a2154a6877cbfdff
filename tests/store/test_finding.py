"""Pages of hits: whichever leg finds them, they are those that a plain look at every one gives."""

import itertools
import random
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest

from quickcheck.store import Store, finding, index, open_store
from quickcheck.store.documents import folded, spaced
from tests.store.samples import document, reference

START = datetime(2026, 4, 11, tzinfo=UTC)
_NAMES = ("Heron", "Ladle 52-47", "Öhr", "100% find", 'the "Spoon"', "ab_c")
ASKED = (
    *("", "heron", "ladle heron", "52-47", "47", "5", "öhr", "ö", '"spoon"', "%", "_", "ab_c"),
    *("zeppelin", "q", "qq", "old", "heron old", "rare", "e", "in", "hobbinsley"),
)


@pytest.fixture(name="short_legs")
def _short_legs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let a few dozen inspections be as many as a million."""
    monkeypatch.setattr(finding, "_WALK", 7)
    monkeypatch.setattr(finding, "_MOST_HITS", 9)


@pytest.fixture(name="book")
def _book(store: Store) -> list[tuple[UUID, str]]:
    """Fill the book; return ids and words, the last opened first, two of each moment."""
    dice, found = random.Random(3), []
    for n in range(40):
        name = " ".join(dice.sample(_NAMES, 2)) + (" Old" if n < 20 else "") + " Rare" * (n == 9)
        opened = START + timedelta(minutes=n // 2)
        saved = store.book.open(
            UUID(int=dice.getrandbits(128)), reference(), document(name=name), now=opened
        )
        found.append((opened, saved.id, spaced(folded(f"{name}\n{saved.title}"))))
    return [(each, words) for _, each, words in sorted(found, reverse=True)]


def plainly(book: list[tuple[UUID, str]], asked: str) -> list[UUID]:
    """Return all hits by looking at every inspection."""
    words = [word if len(word) > 2 else f"  {word}" for word in folded(asked).split()]
    return [each for each, text in book if all(word in text for word in words)]


def pages(store: Store, asked: str, size: int) -> list[UUID]:
    """Return all hits by paging through them."""
    met: list[UUID] = []
    while page := store.book.list(size, met[-1] if met else None, matching=asked):
        met += [saved.id for saved in page]
    return met


@pytest.mark.parametrize("has_index", [True, False])
def test_all_legs_find_the_same(
    store: Store, book: list[tuple[UUID, str]], short_legs: None, has_index: bool
) -> None:
    """Common, rare, old, short and absent words, with and without an index, in any size of page."""
    if not has_index:
        take_index_away(store)
    for asked, size in itertools.product(ASKED, (3, 50)):
        assert pages(store, asked, size) == plainly(book, asked), (asked, size)


def take_index_away(store: Store) -> None:
    """Leave the book without its index."""
    with store._database.writing() as connection:
        gone = index._UNMAKE if store._database.is_sqlite else ("DROP INDEX finding_words",)
        for statement in gone:
            connection.exec_driver_sql(statement)
        assert not index.is_here(connection)


def test_the_index_follows_what_is_saved(
    store: Store, begin: Callable[..., object], short_legs: None
) -> None:
    """A changed name is found by its new words alone."""
    first = begin(name="Zeppelin")
    for n in range(12):
        begin(name=f"Filler {n}")
    assert [saved.id for saved in store.book.list(matching="zeppelin")] == [first.id]
    store.book.save(first.id, document(name="Anvil"), revision=1, now=START)
    assert store.book.list(matching="zeppelin") == ()
    assert [saved.id for saved in store.book.list(matching="anv")] == [first.id]


def test_an_index_that_is_missing_is_made_at_the_next_start(
    store: Store, address: str, book: list[tuple[UUID, str]], short_legs: None
) -> None:
    """What was saved without one is in it."""
    take_index_away(store)
    assert store.health()["found_by"] == "walking"
    with open_store(address) as again:
        assert again.health()["found_by"] == "index"
        assert pages(again, "rare", 50) == plainly(book, "rare")


def test_an_sqlite_that_knows_no_triples_saves_all_the_same(
    store: Store, place: Path, book: list[tuple[UUID, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Opened by an older SQLite a book loses its index, not its use; a newer one makes it again."""
    store.close()
    older = {"sqlite": (*index._MAKE["sqlite"][:1], "CREATE VIRTUAL TABLE x USING no_such(a)")}
    monkeypatch.setattr(index, "_MAKE", older)
    monkeypatch.setattr(index, "_TRIED", {"sqlite": "SELECT no_such FROM finding_words"})
    with open_store(place) as old:
        assert old.health()["found_by"] == "walking"
        saved = old.book.open(UUID(int=5), reference(), document(name="Meanwhile"), now=START)
    monkeypatch.undo()
    with open_store(place) as new:
        assert new.health()["found_by"] == "index"
        assert new.book.list(matching="meanw")[0].id == saved.id


def test_a_vacuum_leaves_the_index_right(
    store: Store, place: Path, book: list[tuple[UUID, str]], short_legs: None
) -> None:
    """SQLite may number the rows of a table anew; the index has numbers of its own."""
    store.close()
    with sqlite3.connect(place) as file:
        file.execute("VACUUM")
    file.close()
    with open_store(place) as again:
        assert pages(again, "rare", 50) == plainly(book, "rare")
