"""Power cuts under SQLite as the store configures it: what was acknowledged is there afterwards.

The store itself runs once, on a real file, and every statement that it sends is written down, its
settings first. These are run again on a disk in memory whose power is cut between any two writes.
"""

import sqlite3
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID

import apsw
import pytest

from quickcheck.reference import read_reference_text
from quickcheck.store import Sent, Store, open_store, session
from tests import kit
from tests.faults import figures
from tests.faults.conftest import Note
from tests.faults.disk import Disk, PowerCutError
from tests.faults.figures import dice, size
from tests.faults.ledger import Account

BOOK = "/book"
START = datetime(2026, 1, 1, tzinfo=UTC)
REFERENCE = read_reference_text(kit.REFERENCE)


@dataclass(frozen=True)
class Script:
    """The statements of a run, settings first."""

    statements: tuple[str, ...]

    def under(self, synchronous: str) -> "Script":
        """Return it with another setting."""
        return Script(
            tuple(
                f"PRAGMA synchronous = {synchronous}" if "synchronous" in each else each
                for each in self.statements
            )
        )


@pytest.fixture(scope="module", name="script")
def _script(tmp_path_factory: pytest.TempPathFactory) -> Script:
    """Write down what the store sends for devices, inspections, late documents and photos."""
    said: list[str] = []
    prepare = session._prepare

    def listen(connection: sqlite3.Connection, record: object) -> None:
        connection.set_trace_callback(said.append)
        prepare(connection, record)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(session, "_prepare", listen)
        with open_store(tmp_path_factory.mktemp("store") / "book.sqlite3") as store:
            _work(store)
    statements = tuple(each for each in said if not each.startswith("--"))
    assert {"BEGIN IMMEDIATE", "COMMIT"} <= set(statements)
    assert any("synchronous" in each for each in statements)
    return Script(statements)


def _work(store: Store) -> None:
    store.library.keep(REFERENCE)
    _, device = store.devices.welcome(START)
    for number in range(24):
        now = START + timedelta(minutes=number)
        base = (number % 4) if number % 8 != 7 else 0  # the last of some comes too late
        document = kit.document(n=number, note="x" * (number * 531 % 9000))
        inspection = UUID(int=number // 4 + 1)
        sent = Sent(document, base, frozenset(), device.id)
        store.book.receive(inspection, REFERENCE, sent, now=now, differing=None)
        store.devices.tell(device, now=now, unsent=number)


def _fingerprint(book: apsw.Connection) -> str:
    told = book.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")
    # the index of words is made of the rows, and can't be read as they are
    tables = [name for (name,) in told if not name.startswith("finding")]
    rows = [(name, book.execute(f'SELECT * FROM "{name}"').fetchall()) for name in sorted(tables)]  # noqa: S608
    return sha256(repr(rows).encode()).hexdigest()


def _run(disk: Disk, statements: Sequence[str], marks: list[Any] | None = None) -> int:
    """Run the statements until the power goes; return how many writes were acknowledged."""
    acknowledged = 0
    book = apsw.Connection(BOOK, vfs=disk.name)
    try:
        writing = False
        for statement in statements:
            book.execute(statement)
            writing = writing or statement == "BEGIN IMMEDIATE"
            if statement == "COMMIT" and writing:
                acknowledged, writing = acknowledged + 1, False
                if marks is not None:
                    marks.append((disk.done, _fingerprint(book)))
    except (PowerCutError, apsw.Error):
        if disk.cut_after is None:
            raise
    finally:
        with suppress(PowerCutError, apsw.Error):
            book.close(force=True)
    return acknowledged


def _cut(script: Script, marks: list[Any], rolled: Any) -> tuple[int, int, bool]:
    """Cut the power once; return how many were acknowledged, how many lost, whether it is damaged."""
    first, last = marks[0][0], marks[-1][0]
    disk = Disk({BOOK: b""}, cut_after=rolled.randint(first, last))
    acknowledged = _run(disk, script.statements)
    back = Disk(disk.survivors(rolled))
    states = [fingerprint for _, fingerprint in marks]
    try:
        book = apsw.Connection(BOOK, vfs=back.name)
        try:
            whole = book.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            found = _fingerprint(book)
        finally:
            book.close(force=True)
    except apsw.Error:
        return acknowledged, acknowledged, True
    if not whole or found not in states:
        return acknowledged, acknowledged, True
    # The one that was being written may be there or not; those before must be.
    there = max(index + 1 for index, state in enumerate(states) if state == found)
    return acknowledged, max(0, acknowledged - there), False


def _cuts(script: Script, count: int, name: str) -> tuple[Account, int]:
    marks: list[Any] = []
    _run(Disk({BOOK: b""}), script.statements, marks)
    rolled = dice(name)
    each = [_cut(script, marks, rolled) for _ in range(count)]
    lines, lost = sum(one for one, _, _ in each), sum(gone for _, gone, _ in each)
    return Account(lines, lost, 0), sum(damaged for _, _, damaged in each)


def test_power_cut(script: Script, note: Note) -> None:
    """After a power cut at any write the book is whole and has all that was acknowledged."""
    count = size(200, 2000)
    account, damaged = _cuts(script, count, "T2")
    note("T2 power cut", count, account, f"{damaged} damaged")
    assert damaged == 0


@pytest.mark.parametrize("weaker", ["FULL", "OFF"])
def test_power_cut_with_less_syncing(
    weaker: str, script: Script, request: pytest.FixtureRequest
) -> None:
    """The same cuts under weaker settings lose something, or the test above proves nothing.

    FULL does not sync the folder after the journal's deletion, which is what commits.
    """
    count = size(60, 600)
    account, damaged = _cuts(script.under(weaker), count, "T2")
    text = figures.line(f"T2 control, synchronous {weaker}", count, account, f"{damaged} damaged")
    figures.keep(request, f"{text}, as it must")
    assert account.lost + damaged > 0
