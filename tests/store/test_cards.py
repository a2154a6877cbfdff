"""The issue log: numbers, exact bytes, other cards, recalls, and what a seal is worth by it."""

import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import event

import quickcheck
from quickcheck.card import (
    RecallKind,
    SealState,
    Signer,
    decode_any,
    encode,
    head,
    read_recalls,
    seal,
    sign_recalls,
)
from quickcheck.errors import CardError, ConflictError, NotFoundError
from quickcheck.store import Saved, Scope, Store, open_store, serial_key
from tests.card.kit import ISSUED, loom
from tests.store.sealing import ISSUER, MADE, card, new_signer, numbered

DAY = timedelta(days=1)
LATER = ISSUED + 10 * DAY
_EACH = 25 if os.environ.get("QUICKCHECK_FULL") else 10
"""Cards that each of two programs issues."""
_ISSUER = Path(__file__).with_name("issuer.py")


@pytest.fixture(name="signer")
def _signer(store: Store, tmp_path: Path) -> Signer:
    """Make a key that was in use before any of the cards."""
    return new_signer(store, tmp_path / "keys")


def test_an_issued_card_is_kept_byte_for_byte(store: Store, address: str, signer: Signer) -> None:
    """What is served again is what went out, and it is the seal of just this card."""
    issued = store.cards.issue(card(), signer)
    assert issued.data == seal(card(), signer).data
    assert decode_any(issued.data, loom()) == card()
    assert (issued.number, issued.issued, issued.key_id) == (1, ISSUED, signer.id)
    assert store.cards.get(issued.id) == issued
    with open_store(address) as again:
        assert again.cards.get(issued.id).data == issued.data


def test_numbers_count_by_serial_and_key(store: Store, signer: Signer, tmp_path: Path) -> None:
    """Each serial has its own count with each key, whatever number the card came with."""
    other = new_signer(store, tmp_path / "keys")
    asked = [("641", signer), ("641", signer), ("642", signer), ("641", other), ("641", signer)]
    numbers = [store.cards.issue(card(serial, number=77), by).number for serial, by in asked]
    assert numbers == [1, 2, 1, 1, 3]


def test_the_number_is_in_the_signed_bytes(store: Store, signer: Signer) -> None:
    """Nobody can issue until it passes and hide that there were others before."""
    first, second = (store.cards.issue(card(), signer) for _ in range(2))
    assert [head(one.data).number for one in (first, second)] == [1, 2]
    assert first.id != second.id


@pytest.mark.parametrize("spelling", ["a641", "A-641", " A 64 1", "A.6/41"])
def test_a_spelling_begins_no_new_count(store: Store, signer: Signer, spelling: str) -> None:
    """Blanks, separators and small letters do not make it another serial."""
    store.cards.issue(card("A 641"), signer)
    assert store.cards.issue(card(spelling), signer).number == 2
    assert serial_key(spelling) == "A641"


def test_a_sign_that_cannot_be_read_is_part_of_a_serial(store: Store, signer: Signer) -> None:
    """With a question mark it is another text: nobody knows whether it is the same."""
    assert serial_key("a6?1") == "A6?1"
    store.cards.issue(card("A 641"), signer)
    assert store.cards.issue(card("A 6?1"), signer).number == 1


def test_other_cards_for_a_serial(store: Store, signer: Signer, tmp_path: Path) -> None:
    """Their dates, the last one first, by whatever key and in whatever spelling; not its own."""
    other = new_signer(store, tmp_path / "keys")
    first = store.cards.issue(card("A 641"), signer)
    store.cards.issue(card("a641", ISSUED + DAY), other)
    store.cards.issue(card("A 641", ISSUED + 2 * DAY), signer)
    store.cards.issue(card("642"), signer)
    assert store.cards.others("A641", but=first.id) == (ISSUED + 2 * DAY, ISSUED + DAY)
    assert len(store.cards.others("A641")) == 3
    assert store.cards.others("999") == ()


def test_without_a_serial_there_are_no_others(store: Store, signer: Signer) -> None:
    """They share a count, but nothing tells whether it is the same instrument."""
    numbers = [store.cards.issue(card(serial), signer).number for serial in ("", "", "-")]
    assert numbers == [1, 2, 3]
    assert store.cards.others("") == store.cards.others(" - ") == ()


def test_the_same_source_gives_the_same_card(store: Store, signer: Signer, tmp_path: Path) -> None:
    """Sent twice, scanned twice, also after a rotation: one card, not two."""
    first = store.cards.issue(card(), signer, source="a" * 64)
    later = card("A 641", ISSUED + DAY)
    other = new_signer(store, tmp_path / "keys")
    assert store.cards.issue(later, signer, source="a" * 64) == first
    assert store.cards.issue(later, other, source="a" * 64) == first
    assert store.cards.issue(later, signer, source="b" * 64).number == 2


def test_the_cards_of_an_inspection(store: Store, signer: Signer) -> None:
    """In the order in which they were issued."""
    inspection = uuid4()
    cards = [
        store.cards.issue(card("1", ISSUED + n * DAY), signer, inspection=inspection)
        for n in (0, 1)
    ]
    store.cards.issue(card("2"), signer, inspection=uuid4())
    assert store.cards.of_inspection(inspection) == tuple(cards)


def test_a_key_out_of_use_issues_nothing(store: Store, signer: Signer) -> None:
    """Retired in between, or dated before it was made: refused, and no number is used up."""
    with pytest.raises(ConflictError, match=r"^key: expected a key in use since before 2026-01-01"):
        store.cards.issue(card(issued=MADE.replace(month=1, day=1, hour=0, minute=0)), signer)
    store.keys.retire(signer.id, LATER)
    with pytest.raises(ConflictError, match="retired in between"):
        store.cards.issue(card(), signer)
    assert store.cards.others("A 641") == ()


def test_a_key_that_nobody_knows_issues_nothing(store: Store) -> None:
    """Nor does another that has the id of a known one."""
    with pytest.raises(NotFoundError, match=r"^key: "):
        store.cards.issue(card(), Signer(b"\1" * 32))


def test_another_key_under_the_same_id_issues_nothing(store: Store, signer: Signer) -> None:
    """The public halves are compared, not the ids."""
    other = Signer(b"\1" * 32)
    other.id = signer.id
    with pytest.raises(ConflictError, match=r"^key: "):
        store.cards.issue(card(), other)


def test_the_last_number(store: Store, signer: Signer, monkeypatch: pytest.MonkeyPatch) -> None:
    """After it the key is to be rotated; a number is never given twice."""
    monkeypatch.setattr("quickcheck.store.cards._HIGHEST", 2)
    for _ in range(2):
        store.cards.issue(card(), signer)
    with pytest.raises(CardError, match=r"^number: expected at most 2 cards.*keys rotate"):
        store.cards.issue(card(), signer)


def test_a_card_that_was_never_issued_is_told(store: Store, signer: Signer) -> None:
    """Whatever is asked of it."""
    issued = store.cards.issue(card(), signer)
    for do in (
        lambda: store.cards.get("a" * 16),
        lambda: store.cards.withdraw("a" * 16, now=LATER),
        lambda: store.cards.correct("a" * 16, by="b" * 16, now=LATER),
        lambda: store.cards.correct(issued.id, by="nonsense", now=LATER),
    ):
        with pytest.raises(NotFoundError, match=r"^card: expected a card of the issue log"):
            do()


def test_every_card_and_recall_is_counted(store: Store, signer: Signer) -> None:
    """A book put back from a backup is noticed by them as by any other write."""
    before = store.server.standing(LATER).commits
    first = store.cards.issue(card(), signer, source="a" * 64)
    store.cards.issue(card(), signer, source="a" * 64)
    store.cards.withdraw(first.id, now=LATER)
    store.cards.withdraw(first.id, now=LATER)
    assert store.server.standing(LATER).commits == before + 2


@pytest.mark.parametrize("table", ["card", "recall"])
@pytest.mark.parametrize("change", ["DELETE FROM {}", "UPDATE {} SET rowid = rowid + 1"])
def test_the_file_itself_keeps_the_log(
    store: Store, place: Path, signer: Signer, table: str, change: str
) -> None:
    """Whatever program asks, no card and no recall is taken away or changed."""
    store.cards.withdraw(store.cards.issue(card(), signer).id, now=LATER)
    with (
        sqlite3.connect(place) as file,
        pytest.raises(sqlite3.IntegrityError, match=f"{table}: rows are only ever added"),
    ):
        file.execute(change.format(table))
    file.close()


# Recalls


def test_a_withdrawn_card(store: Store, signer: Signer) -> None:
    """It says so from then on; withdrawing it again changes nothing."""
    issued = store.cards.issue(card(), signer)
    taken = store.cards.withdraw(issued.id, now=LATER + timedelta(microseconds=5))
    assert (taken.kind, taken.at, taken.by) == (RecallKind.WITHDRAWN, LATER, None)
    assert store.cards.withdraw(issued.id, now=LATER + DAY) == taken
    found = store.cards.check(issued.data)
    assert (found.state, found.recall) == (SealState.WITHDRAWN, taken)


def test_a_corrected_card(store: Store, signer: Signer) -> None:
    """It leads to the one in its place, which stands."""
    old, new = (store.cards.issue(card(), signer) for _ in range(2))
    taken = store.cards.correct(old.id, by=new.id, now=LATER)
    assert store.cards.correct(old.id, by=new.id, now=LATER + DAY) == taken
    found = store.cards.check(old.data)
    assert (found.state, found.recall) == (SealState.CORRECTED, taken)
    assert taken.by == new.id
    assert store.cards.check(new.data).state is SealState.SEALED


def test_a_recall_is_for_good(store: Store, signer: Signer) -> None:
    """No second one, and no circle of cards that correct each other."""
    one, two, three = (store.cards.issue(card(), signer) for _ in range(3))
    store.cards.correct(one.id, by=two.id, now=LATER)
    for again in (
        lambda: store.cards.withdraw(one.id, now=LATER),
        lambda: store.cards.correct(one.id, by=three.id, now=LATER),
        lambda: store.cards.correct(two.id, by=one.id, now=LATER),
    ):
        with pytest.raises(ConflictError, match=f"^card {one.id}: .*one that was corrected"):
            again()
    store.cards.withdraw(two.id, now=LATER)
    assert store.cards.check(two.data).state is SealState.WITHDRAWN
    with pytest.raises(ConflictError, match="expected another card in its place; got the same"):
        store.cards.correct(three.id, by=three.id, now=LATER)


def test_the_recall_list(store: Store, signer: Signer, tmp_path: Path) -> None:
    """All recalls and revoked keys, signed, believed by whoever has the keys."""
    gone = new_signer(store, tmp_path / "keys")
    one, two, three = (store.cards.issue(card(), signer) for _ in range(3))
    recalls = {store.cards.withdraw(one.id, now=LATER)}
    recalls.add(store.cards.correct(two.id, by=three.id, now=LATER))
    store.keys.revoke(gone.id, LATER)
    made = store.cards.recall_list(LATER)
    assert (set(made.recalls), dict(made.revoked)) == (recalls, {gone.id: LATER})
    assert read_recalls(sign_recalls(made, signer), store.keys.ring()) == made


# What a seal is worth


def test_the_life_of_a_key(store: Store, signer: Signer) -> None:
    """In use, retired, revoked: what stands in the log stands all along."""
    issued = store.cards.issue(card(), signer)
    assert store.cards.check(issued.data).state is SealState.SEALED
    store.keys.retire(signer.id, LATER)
    assert store.cards.check(issued.data).state is SealState.RETIRED
    store.keys.revoke(signer.id, LATER)
    assert store.cards.check(issued.data).state is SealState.LOGGED


def test_a_card_that_was_forged_with_a_stolen_key(store: Store, signer: Signer) -> None:
    """It passes until the key is revoked, and never again from then on."""
    forged = seal(numbered(card("999"), 1), signer).data
    assert store.cards.check(forged).state is SealState.SEALED
    store.keys.revoke(signer.id, LATER)
    assert store.cards.check(forged).state is SealState.REVOKED


def test_unknown_altered_and_unsealed(store: Store, signer: Signer) -> None:
    """None of them is in the book, and none stands."""
    issued = store.cards.issue(card(), signer)
    altered = issued.data[:-1] + bytes([issued.data[-1] ^ 1])
    by_other = seal(card(), Signer(b"\1" * 32)).data
    states = [store.cards.check(data).state for data in (altered, by_other, encode(card()))]
    assert states == [SealState.ALTERED, SealState.UNKNOWN_KEY, SealState.UNSEALED]


def test_the_issuer_of_a_card(store: Store, signer: Signer) -> None:
    """The name is that of the key."""
    found = store.cards.check(store.cards.issue(card(), signer).data)
    assert found.key
    assert found.key.issuer == ISSUER


# Several at once


def _process(*words: Any) -> subprocess.Popen[str]:
    root = str(Path(quickcheck.__file__).parent.parent)
    tests = str(Path(__file__).parent.parent.parent)
    command = [sys.executable, str(_ISSUER), *map(str, words)]
    pipe = subprocess.PIPE
    environment = {"PYTHONPATH": f"{root}:{tests}"}
    return subprocess.Popen(command, env=environment, stdin=pipe, stdout=pipe, text=True)


@pytest.fixture(name="processes")
def _processes(
    address: str, tmp_path: Path, signer: Signer
) -> Iterator[list[subprocess.Popen[str]]]:
    """Start two processes that wait for their line, and end them whatever happens."""
    started = [_process(address, tmp_path / "keys", signer.id.hex(), _EACH) for _ in range(2)]
    yield started
    for process in started:
        process.kill()
        process.communicate()


def test_two_processes_give_no_number_twice(
    store: Store, processes: list[subprocess.Popen[str]]
) -> None:
    """The cards for one serial by two programs at once are numbered on, without a gap."""
    for process in processes:
        assert process.stdout
        assert process.stdout.readline() == "ready\n"
    for process in processes:
        assert process.stdin
        process.stdin.write("\n")
        process.stdin.flush()
    with ThreadPoolExecutor(2) as threads:
        printed = list(threads.map(lambda process: process.communicate()[0], processes))
    assert [process.returncode for process in processes] == [0, 0]
    lines = [[line.split() for line in text.splitlines()] for text in printed]
    assert [len(each) for each in lines] == [_EACH, _EACH]
    numbers = sorted(int(number) for each in lines for number, _ in each)
    assert numbers == list(range(1, 2 * _EACH + 1))
    for each in lines:
        for number, name in each:
            kept = store.cards.get(name)
            assert (kept.number, head(kept.data).number) == (int(number), int(number))


def test_eight_threads_with_the_same_source(store: Store, signer: Signer) -> None:
    """A tap that was sent eight times makes one card."""
    start = threading.Barrier(8)

    def issue(_: int) -> str:
        start.wait()
        return store.cards.issue(card(), signer, source="c" * 64).id

    with ThreadPoolExecutor(8) as threads:
        assert len(set(threads.map(issue, range(8)))) == 1
    assert len(store.cards.others("A 641")) == 1


def test_cards_of_a_list_are_counted_at_once(
    store: Store, signer: Signer, begin: Callable[..., Saved]
) -> None:
    """Those of other books are left out, by two queries however long the list is."""
    ids = [begin().id for _ in range(4)]
    for n, each in enumerate(ids):
        for _ in range(n):
            store.cards.issue(card(), signer, inspection=each)
    asked: list[str] = []

    def note(*told: Any) -> None:
        if told[2].startswith("SELECT"):
            asked.append(told[2])

    event.listen(store._database.engine, "before_cursor_execute", note)
    assert store.within(Scope()).cards.counts(ids) == {ids[1]: 1, ids[2]: 2, ids[3]: 3}
    assert len(asked) == 2
    assert store.within(Scope(uuid4())).cards.counts(ids) == {}
