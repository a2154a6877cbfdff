"""Which book it is, and how a backup that was put back is noticed."""

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from quickcheck.store import Saved, Store, open_store
from tests.store.samples import document, reference

Begin = Callable[..., Saved]
NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)


def write(store: Store) -> None:
    """Write once."""
    store.book.open(uuid4(), reference(), document(), now=NOW)


def test_every_write_is_counted(store: Store, begin: Begin) -> None:
    """The count goes up with each document that is kept, and with nothing else."""
    counts = [store.server.standing(NOW).commits]
    first = begin()
    counts.append(store.server.standing(NOW).commits)
    store.book.save(first.id, document(), revision=1, now=NOW)
    store.book.get(first.id)
    counts.append(store.server.standing(NOW).commits)
    assert counts == [0, 1, 1]


def test_the_epoch_outlives_a_restart(store: Store, address: str) -> None:
    """A server that only slept makes no device send anything again."""
    write(store)
    before = store.server.standing(NOW)
    store.close()
    with open_store(address) as again:
        now = again.server.compare(before.mark, NOW)
        assert (now.epoch, now.commits) == (before.epoch, before.commits)
        assert now.mark != before.mark


def test_two_books_are_two_epochs(store: Store, tmp_path: Path) -> None:
    """Another data folder under the same address is another book, and nothing is missing in it."""
    with open_store(tmp_path / "other.sqlite") as other:
        here, there = store.server.standing(NOW), other.server.standing(NOW)
        assert here.epoch != there.epoch
        assert other.server.compare(here.mark, NOW) == there


@pytest.mark.parametrize("writes_after", [0, 1, 5])
@pytest.mark.parametrize("restarts_before", [0, 2])
def test_a_backup_put_back_is_noticed(
    store: Store, place: Path, tmp_path: Path, writes_after: int, restarts_before: int
) -> None:
    """A device that saw more than the backup holds brings a new epoch, however much came since."""
    write(store)
    backup = shutil.copy(place, tmp_path / "backup.sqlite")
    for _ in range(restarts_before):
        store.close()
        store = open_store(place)
    write(store)
    seen = store.server.standing(NOW)
    store.close()
    shutil.copy(backup, place)
    with open_store(place) as back:
        back.library.keep(reference())
        for _ in range(writes_after):
            write(back)
        assert back.server.standing(NOW).epoch == seen.epoch  # it can't know by itself
        told = back.server.compare(seen.mark, NOW)
        assert told.epoch != seen.epoch
        assert back.server.compare(seen.mark, NOW) == told  # one new epoch a start is enough
    with open_store(place) as later:
        assert later.server.compare(told.mark, NOW).epoch == told.epoch


def test_a_backup_that_lacks_nothing_is_no_loss(store: Store, place: Path, tmp_path: Path) -> None:
    """Put back with all that anybody was told of, a book keeps its epoch."""
    write(store)
    seen = store.server.standing(NOW)
    backup = shutil.copy(place, tmp_path / "backup.sqlite")
    store.close()
    shutil.copy(backup, place)
    with open_store(place) as back:
        assert back.server.compare(seen.mark, NOW).epoch == seen.epoch


def test_two_programs_on_one_book_are_no_loss(store: Store, place: Path) -> None:
    """A mark names the last start of any program, so that a second one means nothing."""
    with open_store(place) as other:
        for _ in range(3):
            write(store)
        mark = store.server.standing(NOW).mark
        epoch = store.server.standing(NOW).epoch
        assert other.server.compare(mark, NOW).epoch == epoch
    with open_store(place) as later:
        assert later.server.compare(mark, NOW).epoch == epoch


@pytest.mark.parametrize("mark", ["", "x", "a.b.c", "0" * 32 + "." + "0" * 32 + ".x", "é" * 70])
def test_a_mark_that_is_none_says_nothing(store: Store, mark: str) -> None:
    """Nonsense makes no new epoch."""
    before = store.server.standing(NOW)
    assert store.server.compare(mark, NOW) == before


@pytest.mark.usefixtures("place")  # about the file
def test_a_start_that_could_not_be_noted_is_noted_later(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A book on a full disk can be read; its start is noted once there is room."""
    with store._database.writing() as connection:
        connection.exec_driver_sql("DROP TRIGGER start_no_delete")
        connection.exec_driver_sql("DELETE FROM start")
    assert not store.server._lacks("0" * 32, "0" * 32, "1")
    assert store.server.standing(NOW) == store.server.standing(NOW)
