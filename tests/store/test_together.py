"""Several threads and several processes in one book, and a process that is killed."""

import os
import random
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from uuid import UUID, uuid4

import pytest

import quickcheck
from quickcheck.errors import ConflictError
from quickcheck.store import Kind, Saved, Store, open_store
from tests.postgres import ON_POSTGRESQL
from tests.store.samples import document, reference

Begin = Callable[..., Saved]
Tick = Callable[[], datetime]
_FULL = bool(os.environ.get("QUICKCHECK_FULL"))
_WRITER = Path(__file__).with_name("writer.py")


def _writer(address: str, inspection: UUID, *more: str) -> subprocess.Popen[str]:
    command = [sys.executable, str(_WRITER), address, str(inspection), *more]
    root = str(Path(quickcheck.__file__).parent.parent)
    environment = {**os.environ, "PYTHONPATH": root}
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, text=True)


def test_eight_threads_that_race_for_each_revision(store: Store, begin: Begin, tick: Tick) -> None:
    """Of eight documents on the same revision one is taken, and the other seven are kept."""
    first, start = begin(), threading.Barrier(8)

    def race(name: int) -> int:
        start.wait()
        taken = 0
        for round_ in range(1, 6):
            mine = document(by=name, round=round_)
            try:
                store.book.save(first.id, mine, revision=round_, now=tick())
                taken += 1
            except ConflictError:
                pass
            start.wait()
        return taken

    with ThreadPoolExecutor(8) as threads:
        taken = sum(threads.map(race, range(8)))
    entries = store.book.history(first.id)
    assert taken == 5
    assert [e.number for e in entries if e.number] == [1, 2, 3, 4, 5, 6]
    sent = {(name, round_) for name in range(8) for round_ in range(1, 6)}
    assert {(e.document["by"], e.document["round"]) for e in entries[1:]} == sent
    assert len(entries) == 1 + len(sent)


def test_eight_threads_amend_without_losing_one(store: Store, begin: Begin, tick: Tick) -> None:
    """Changes that are put on what is there never conflict and never get lost."""
    first = begin(count=0)

    def count(answers: dict[str, int]) -> None:
        answers["count"] += 1

    with ThreadPoolExecutor(8) as threads:
        list(threads.map(lambda _: store.book.amend(first.id, count, now=tick()), range(80)))
    assert store.book.get(first.id).document["count"] == 80
    assert len(store.book.history(first.id)) == 81


def test_eight_threads_open_one_inspection_once(store: Store, tick: Tick) -> None:
    """The same opening sent eight times at once is one inspection with one receipt."""
    inspection = uuid4()

    def send(_: int) -> Saved:
        return store.book.open(inspection, reference(), document(), now=tick())

    with ThreadPoolExecutor(8) as threads:
        receipts = {saved.opened for saved in threads.map(send, range(8))}
    assert len(receipts) == 1
    assert len(store.book.history(inspection)) == 1


def test_readers_see_whole_revisions_while_others_write(
    store: Store, begin: Begin, tick: Tick
) -> None:
    """A reader never sees a revision without its document, nor the history with a gap."""
    first, done = begin(count=0), threading.Event()

    def read(_: int) -> int:
        looks = 0
        while not done.is_set():
            entries = store.book.history(first.id)
            assert [e.document["count"] for e in entries] == list(range(len(entries)))
            looks += 1
        return looks

    with ThreadPoolExecutor(3) as threads:
        reading = [threads.submit(read, n) for n in range(3)]
        for number in range(1, 61):
            store.book.save(first.id, document(count=number), revision=number, now=tick())
        done.set()
        assert all(future.result() > 0 for future in reading)


def test_a_second_process_works_in_the_same_book(
    store: Store, address: str, begin: Begin, tick: Tick
) -> None:
    """Two processes on one inspection: every document is a revision or kept as late."""
    first = begin()
    with _writer(address, first.id, "other", "40") as other:
        for n in range(40):
            current = store.book.get(first.id)
            mine = {**current.document, "by": "me", "n": n}
            try:
                store.book.save(first.id, mine, revision=current.revision, now=tick())
            except ConflictError:
                continue
        told = other.stdout.read().split("\n") if other.stdout else []
    assert other.returncode == 0
    entries = store.book.history(first.id)
    assert len(entries) == 1 + 80
    late = [entry for entry in entries if entry.kind is Kind.LATE]
    assert told.count("late") == sum(entry.document["by"] == "other" for entry in late)


@pytest.mark.parametrize("round_", range(100 if _FULL else 2 if ON_POSTGRESQL else 5))
def test_what_was_called_saved_outlives_a_kill(
    store: Store, address: str, begin: Begin, round_: int
) -> None:
    """A process killed right after it said "saved" lost nothing (a power cut is another test)."""
    first = begin()
    store.close()
    with _writer(address, first.id, "victim") as victim:
        assert victim.stdout
        told = [victim.stdout.readline()]
        time.sleep(random.Random(round_).uniform(0, 0.05))
        victim.kill()
        told += victim.stdout.readlines()
    said = [line.split() for line in told if line.startswith("saved") and line.endswith("\n")]
    with open_store(address) as again:
        entries = {entry.number: entry.sha256 for entry in again.book.history(first.id)}
        assert said
        assert all(entries[int(number)] == sha256 for _, number, sha256 in said)
        # The one that was not told may be there or not, whole either way.
        assert len(entries) - 1 in {len(said), len(said) + 1}
        current = again.book.get(first.id)
        assert (
            again.book.save(
                first.id,
                {**current.document, "n": -1},
                revision=current.revision,
                now=current.saved,
            ).revision
            == len(entries) + 1
        )
