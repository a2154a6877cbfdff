"""Papers: what they give is said, corrected, taken back and undone, and no word is lost."""

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from uuid import UUID

import pytest

from quickcheck.errors import ConflictError, NotFoundError
from quickcheck.readings import month_of
from quickcheck.store import Paper, Papers, Saved, Store

Tick = Callable[[], datetime]
RECEIPT = Papers(Paper.RECEIPT, month_of(1953, 3), month_of(1953, 3), 2.0, "Fettle & Daughter")
PHOTO = Papers(Paper.PHOTO, month_of(1953, 1), month_of(1953, 6))


def test_the_last_word_stands(store: Store, begin: Callable[..., Saved], tick: Tick) -> None:
    """What was said last is what the papers give; what was said before stays in the history."""
    one, other = begin().id, begin().id
    store.documented.say(one, RECEIPT, now=tick())
    store.documented.say(other, PHOTO, now=tick())
    store.documented.say(one, PHOTO, now=tick())
    assert store.documented.of([one]) == {one: PHOTO}
    assert [word.papers for word in store.documented.history(one)] == [RECEIPT, PHOTO]
    assert [word.inspection for word in store.documented.all()] == [other, one]


def test_papers_that_count_no_more(store: Store, begin: Callable[..., Saved], tick: Tick) -> None:
    """Taken back, an inspection is documented no more, and that can be undone."""
    one = begin().id
    store.documented.say(one, RECEIPT, now=tick())
    store.documented.say(one, None, now=tick())
    assert store.documented.of([one]) == {}
    assert store.documented.all() == ()
    assert store.documented.undo(one, now=tick()).papers == RECEIPT


def test_undo_after_undo(store: Store, begin: Callable[..., Saved], tick: Tick) -> None:
    """Undo walks back word by word until nothing was said, and no further; rows are only added."""
    one = begin().id
    wider = replace(RECEIPT, doubt=6.0)
    for papers in (RECEIPT, wider, PHOTO):
        store.documented.say(one, papers, now=tick())
    found = [store.documented.undo(one, now=tick()).papers for _ in range(3)]
    assert found == [wider, RECEIPT, None]
    with pytest.raises(ConflictError, match="a word about the papers that can be taken back"):
        store.documented.undo(one, now=tick())
    assert len(store.documented.history(one)) == 6
    store.documented.say(one, PHOTO, now=tick())
    assert store.documented.undo(one, now=tick()).papers is None


def test_the_same_again(store: Store, begin: Callable[..., Saved], tick: Tick) -> None:
    """A word that changes nothing is no new word; taking back what was never said is none."""
    one = begin().id
    assert store.documented.say(one, None, now=tick()).number == 0
    first = store.documented.say(one, RECEIPT, now=tick())
    assert store.documented.say(one, RECEIPT, now=tick()) == first
    assert len(store.documented.history(one)) == 1


def test_it_counts_among_the_writes(store: Store, begin: Callable[..., Saved], tick: Tick) -> None:
    """A loss of papers is noticed as any other: the word counts among the writes."""
    one = begin().id
    before = store.server.standing(tick()).commits
    store.documented.say(one, RECEIPT, now=tick())
    assert store.server.standing(tick()).commits == before + 1


def test_no_inspection(store: Store, tick: Tick) -> None:
    """Papers of an inspection that nobody has are refused."""
    with pytest.raises(NotFoundError, match="inspection"):
        store.documented.say(UUID(int=5), RECEIPT, now=tick())


@pytest.mark.parametrize("change", ["UPDATE documented SET note = 'x'", "DELETE FROM documented"])
def test_the_file_refuses_changes(
    store: Store, place: Path, begin: Callable[..., Saved], tick: Tick, change: str
) -> None:
    """No program changes or drops a word, not even one that goes round ours."""
    store.documented.say(begin().id, RECEIPT, now=tick())
    store.close()
    with (
        sqlite3.connect(place) as file,
        pytest.raises(sqlite3.IntegrityError, match="only ever added"),
    ):
        file.execute(change)
    file.close()
