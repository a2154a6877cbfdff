"""A server that is killed, stopped, short of disk or put back from a backup loses no receipt."""

import os
import shutil
import signal
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from random import Random
from threading import Event, Thread
from time import monotonic, sleep

import pytest

from tests.faults.conftest import Note
from tests.faults.figures import FULL, dice, size
from tests.faults.ledger import Ledger, read_book
from tests.faults.phone import Phone
from tests.faults.proxy import Proxy
from tests.kit import Server, write_reference

pytestmark = pytest.mark.browser
WRITERS = 4


def write_on(phone: Phone, stop: Event) -> None:
    """Open inspections and go on with each, as fast as replies come, until told to stop."""
    while not stop.is_set():
        one = phone.begin()
        for _ in range(3):
            phone.flush()
            phone.write(one)


def test_killed_while_writing(server: Server, ledger: Ledger, note: Note) -> None:
    """After kill -9 at any moment every receipt is in the book, and what had none arrives once."""
    rolled, kills, slowest = dice("T1"), size(6, 300), 0.0
    phones = [Phone(server.port, ledger) for _ in range(WRITERS)]
    for _ in range(kills):
        stop = Event()
        threads = [Thread(target=write_on, args=(phone, stop)) for phone in phones]
        for thread in threads:
            thread.start()
        sleep(rolled.uniform(0.05, 0.5))
        server.kill()
        stop.set()
        for thread in threads:
            thread.join()
        account = ledger.settle(read_book(server.data), [phone.unsent for phone in phones])
        assert (account.lost, account.doubled) == (0, 0)
        began = monotonic()
        server.start()
        slowest = max(slowest, monotonic() - began)
    for phone in phones:
        phone.drain()
    account = ledger.settle(read_book(server.data))
    note("T1 server killed while writing", kills, account, f"back within {slowest:.1f} s")


def test_stopped_for_a_while(server: Server, proxy: Proxy, ledger: Ledger, note: Note) -> None:
    """A server that sleeps longer than phones wait takes each thing once when it wakes."""
    rolled, stops = dice("T20 stop"), size(4, 80)
    phones = [Phone(proxy.port, ledger, patience=0.3) for _ in range(2)]
    assert server.process
    for _ in range(stops):
        server.process.send_signal(signal.SIGSTOP)
        wakes = monotonic() + rolled.uniform(0.2, 1.0)
        while monotonic() < wakes:
            for phone in phones:
                phone.begin() if rolled.random() < 0.5 else None
                phone.flush()
        server.process.send_signal(signal.SIGCONT)
        for phone in phones:
            for one in phone.drafts:
                phone.write(one) if rolled.random() < 0.3 else None
            phone.flush()
    for phone in phones:
        phone.patience = 20.0
        phone.drain(40)
    sleep(0.5)
    note("T20 server stopped and woken", stops, ledger.settle(read_book(server.data)))


def test_put_back_from_a_backup(server: Server, ledger: Ledger, note: Note) -> None:
    """A book put back from an older copy is offered again what it lost, by every phone, once."""
    rolled, restores = dice("T19"), size(2, 40)
    phones = [Phone(server.port, ledger) for _ in range(3)]
    for _ in range(restores):
        for phone in phones:
            phone.begin()
            phone.flush()
        backup = server.data / "backup.sqlite3"
        _copy(server.data / "book.sqlite3", backup)
        for phone in phones:
            for one in rolled.sample(list(phone.drafts), k=1):
                phone.write(one)
            phone.begin()
            phone.flush()
        server.stop()
        shutil.move(backup, server.data / "book.sqlite3")
        server.start()
        for phone in phones:
            phone.flush()  # hears of the other book
            phone.drain()
    book = read_book(server.data)
    # A receipt of the lost stretch names a number that was given out anew: its content is what counts.
    contents = Ledger()
    for line in ledger.lines:
        contents.note(line.inspection, line.sha256)
    account = contents.settle(book)
    assert not any(draft.conflict for phone in phones for draft in phone.drafts.values())
    note("T19 put back from an older backup", restores, account)


def _copy(book: Path, to: Path) -> None:
    with closing(sqlite3.connect(book)) as source, closing(sqlite3.connect(to)) as target:
        source.backup(target)


class QuietServer(Server):
    """One whose printing does not go to the disk that is full."""

    @property
    def log(self) -> Path:
        """The file that gets everything the program prints."""
        return self.data.parent / "server.log"


@pytest.fixture(name="small_disk")
def _small_disk(tmp_path: Path) -> Iterator[Path]:
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={'24m' if FULL else '3m'}", "tmpfs", str(place)]
    done = subprocess.run(mount, capture_output=True, check=False) if os.geteuid() == 0 else None
    if done is None or done.returncode:
        why = done.stderr.decode().strip() if done else "only root may mount one"
        print(f"T4 disk full: skipped, {why}")
        pytest.skip(f"no small disk: {why}")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_disk_full(small_disk: Path, ledger: Ledger, note: Note) -> None:
    """On a full disk nothing is acknowledged, all before stays readable, and room lets it go on."""
    rolled, fills = dice("T4"), 0
    write_reference(small_disk)
    with QuietServer(small_disk, "serve") as server:
        phone = Phone(server.port, ledger)
        while fills < size(5, 50) and _taken(small_disk) < 0.6:
            assert phone.send(_long(phone, rolled)) == "sent"
            _fill(small_disk, leaves=rolled.randint(0, 30) * 4096)
            fate = "sent"
            while fate == "sent":
                fate = phone.send(_long(phone, rolled))
            assert fate == "later", "refused for good, though room may come"
            account = ledger.settle(read_book(small_disk), [phone.unsent])
            assert (account.lost, account.doubled) == (0, 0)
            Phone(server.port, Ledger(), cookie=phone.cookie).fetch(ledger.lines[0].inspection)
            assert server.get("/book").status == 200
            (small_disk / "ballast").unlink()
            phone.drain()
            fills += 1
        account = ledger.settle(read_book(small_disk))
    note("T4 disk full", fills, account)


def _long(phone: Phone, rolled: Random) -> str:
    return phone.begin(note="x" * rolled.randint(10, 20_000))


def _taken(place: Path) -> float:
    found = shutil.disk_usage(place)
    return found.used / found.total


def _fill(place: Path, *, leaves: int) -> None:
    free = shutil.disk_usage(place).free
    with (place / "ballast").open("wb") as ballast:
        ballast.write(bytes(max(0, free - leaves)))
