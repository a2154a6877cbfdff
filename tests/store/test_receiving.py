"""What becomes of documents that devices send: taken once, or kept beside what is there."""

import itertools
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from quickcheck.errors import AnswerError, ConflictError
from quickcheck.store import (
    Differing,
    Kind,
    Outcome,
    Photo,
    Received,
    Saved,
    Sent,
    Store,
    open_store,
    write,
)
from tests.postgres import ON_POSTGRESQL, borrowed_book
from tests.store.samples import document, reference

Begin = Callable[..., Saved]
Tick = Callable[[], datetime]
Send = Callable[..., Received]
NOON = datetime(2026, 4, 11, 12, tzinfo=UTC)
PHOTO = "ab" * 32


def sha256(**more: Any) -> str:
    """Return the hash of a document with these keys."""
    return write(document(**more)).sha256


@pytest.fixture(name="inspection")
def _inspection() -> UUID:
    return uuid4()


@pytest.fixture(name="send")
def _send(store: Store, inspection: UUID, tick: Tick) -> Send:
    """Send a document of the one inspection, as a device that has the receipt for ``base``."""

    def sending(base: int, *lost: str, device: UUID | None = None, **more: Any) -> Received:
        sent = Sent(document(**more), base, frozenset(lost), device)
        return store.book.receive(inspection, reference(), sent, now=tick())

    return sending


def revision(received: Received) -> int:
    """Return the revision of a document that was taken."""
    assert received.outcome is Outcome.TAKEN
    assert received.saved
    return received.saved.revision


def test_the_first_document_opens_the_inspection(
    store: Store, send: Send, inspection: UUID
) -> None:
    """What a phone began without a network is an inspection like any other."""
    device = uuid4()
    received = send(0, device=device, name="Seven")
    assert revision(received) == 1
    assert received.saved == received.current == store.book.get(inspection)
    assert [entry.device for entry in store.book.history(inspection)] == [device]


def test_the_same_again_gives_the_same_receipt(store: Store, send: Send, inspection: UUID) -> None:
    """A reply that is lost costs nothing: not a revision, not a conflict."""
    first = send(0, n=1)
    second = send(1, n=2)
    assert send(0, n=1).saved == first.saved
    assert send(1, n=2).saved == second.saved
    assert len(store.book.history(inspection)) == 2


def test_edited_after_the_reply_was_lost(send: Send) -> None:
    """What a device sent itself and had no reply to is no conflict with what it writes next."""
    send(0, n=1)
    assert revision(send(0, sha256(n=1), n=2)) == 2
    assert revision(send(0, sha256(n=1), sha256(n=2), n=3)) == 3


def test_edited_after_one_that_never_arrived(send: Send) -> None:
    """One of the hashes that the server never had changes nothing."""
    assert revision(send(0, sha256(n=1), n=2)) == 1
    assert revision(send(1, sha256(n="never"), n=3)) == 2


def test_somebody_else_in_between_keeps_both(store: Store, send: Send, inspection: UUID) -> None:
    """Of two devices on one revision the second is kept beside, and nobody is overwritten."""
    send(0, n=0)
    send(1, n="one")
    late = send(1, n="two")
    assert (late.outcome, late.saved) == (Outcome.LATE, None)
    assert late.current
    assert late.current.document["n"] == "one"
    assert [entry.kind for entry in store.book.history(inspection)] == ["answer", "answer", "late"]
    assert store.book.undecided() == {inspection}


def test_somebody_else_in_between_and_an_own_reply_lost(send: Send) -> None:
    """Hashes of one's own are no leave to write over somebody else's."""
    send(0, n="mine")
    send(1, n="theirs")
    assert send(0, sha256(n="mine"), n="mine again").outcome is Outcome.LATE


def test_one_id_on_two_devices(send: Send) -> None:
    """A second document that says it is the first one is kept beside."""
    send(0, n="one")
    assert send(0, n="two").outcome is Outcome.LATE


def test_a_change_that_was_undone_is_no_conflict(
    store: Store, send: Send, inspection: UUID, tick: Tick
) -> None:
    """What the device has seen stands there again, so its next document lies on just that."""
    send(0, n=1)
    send(1, n=2)
    store.book.undo(inspection, tick())
    assert revision(send(1, n=3)) == 4


def test_what_is_there_already_needs_no_base(send: Send) -> None:
    """Two devices that say the same do not differ."""
    send(0, n=1)
    send(1, n=2)
    assert revision(send(0, n=2)) == 2


def test_a_base_that_was_never_given_out(send: Send) -> None:
    """A book that was put back from a backup keeps what a device brings from the future."""
    send(0, n=1)
    assert send(7, n=8).outcome is Outcome.LATE
    assert send(2**40, n=9).outcome is Outcome.LATE


def test_another_edition_is_parked(store: Store, send: Send, inspection: UUID, tick: Tick) -> None:
    """An open inspection never changes its edition; what came for another one is kept."""
    send(0, n=1)
    store.library.keep(reference("2027-01"))
    sent = Sent(document(n=2), 1)
    for _ in range(2):
        received = store.book.receive(inspection, reference("2027-01"), sent, now=tick())
        assert (received.outcome, received.saved) == (Outcome.PARKED, None)
    entries = store.book.history(inspection)
    assert [(e.key, e.number, e.back, e.reason) for e in entries[1:]] == [
        ("parked-1", None, 1, "another edition")
    ]


def test_parked_before_it_was_ever_opened(
    store: Store, send: Send, inspection: UUID, tick: Tick
) -> None:
    """A document that can't be taken is kept even where there is no inspection yet."""
    sent = Sent(document(n="bad"), 0)
    received = store.book.park(inspection, sent, edition_hash="0" * 64, reason="odd", now=tick())
    assert (received.outcome, received.current) == (Outcome.PARKED, None)
    assert [entry.kind for entry in store.book.history(inspection)] == [Kind.PARKED]
    assert revision(send(0, n="good")) == 1
    assert [entry.kind for entry in store.book.history(inspection)] == ["parked", "answer"]


def test_a_choice_is_a_revision(store: Store, send: Send, inspection: UUID, tick: Tick) -> None:
    """Bringing a version back adds one, and the two versions are no open question any more."""
    send(0, n=0)
    send(1, n="one")
    send(1, n="two")
    saved = store.book.bring_back(inspection, document(n="two"), revision=2, now=tick())
    assert (saved.revision, saved.document["n"]) == (3, "two")
    assert store.book.history(inspection)[-1].kind is Kind.BACK
    assert not store.book.undecided()
    assert store.book.undo(inspection, tick()).document["n"] == "one"


def test_letting_it_stand_is_a_choice_too(
    store: Store, send: Send, inspection: UUID, tick: Tick
) -> None:
    """The current version chosen again is a revision; a later conflict is a new question."""
    send(0, n=0)
    send(1, n="one")
    send(1, n="two")
    store.book.bring_back(inspection, document(n="one"), revision=2, now=tick())
    assert not store.book.undecided()
    assert revision(send(2, n="next")) == 4  # its writer saw that very document
    send(1, n="three")
    assert store.book.undecided() == {inspection}


def test_a_choice_on_an_old_page_is_refused(
    store: Store, send: Send, inspection: UUID, tick: Tick
) -> None:
    """Who chose among versions of yesterday looks again."""
    send(0, n=0)
    send(1, n=1)
    with pytest.raises(ConflictError, match="Look at the versions again"):
        store.book.bring_back(inspection, document(n=0), revision=1, now=tick())
    assert store.book.get(inspection).revision == 2


def test_a_difference_is_noted_once(store: Store, inspection: UUID, tick: Tick) -> None:
    """Sent twice, a document whose judgement differs is one difference."""
    differing = Differing('{"verdict":"agrees"}', '{"verdict":"in-doubt"}', 1)
    for _ in range(2):
        store.book.receive(
            inspection, reference(), Sent(document(), 0), now=tick(), differing=differing
        )
    told = store.book.differences()
    assert [(d.inspection, d.revision, d.found) for d in told] == [(inspection, 1, differing)]


def test_announced_photos_are_missing_until_they_come(
    store: Store, send: Send, inspection: UUID, tick: Tick
) -> None:
    """Each receipt says which photos the server still waits for; nonsense is none."""
    other = "cd" * 32
    photos = {"plate-screws": [PHOTO, other, PHOTO, "x", 5], "neck": 7, "body": "text"}
    received = send(0, photos=photos)
    assert received.missing == (PHOTO, other)
    photo = Photo("image/png", b"pixels")
    for _ in range(2):
        assert store.photos.keep(inspection, PHOTO, photo, now=tick()) == (other,)
    assert send(0, photos=photos).missing == store.photos.missing(inspection) == (other,)
    assert store.photos.get(inspection, PHOTO) == photo
    assert send(1, photos={}).missing == (other,)  # the first document still speaks of it


def test_a_late_document_announces_photos_too(store: Store, send: Send, inspection: UUID) -> None:
    """What is kept beside has its photos as well."""
    send(0, n=0)
    send(1, n=1)
    assert send(1, photos={"": [PHOTO]}).missing == (PHOTO,)


def test_eight_that_send_the_same_at_once(store: Store, tick: Tick) -> None:
    """One revision and one receipt, fifty times over."""
    for n in range(50):
        inspection = uuid4()

        def put(_: int, inspection: UUID = inspection, n: int = n) -> Saved | None:
            sent = Sent(document(n=n, photos={"": [PHOTO]}), 0)
            return store.book.receive(inspection, reference(), sent, now=tick()).saved

        with ThreadPoolExecutor(8) as threads:
            receipts = list(threads.map(put, range(8)))
        assert len(set(receipts)) == 1
        assert len(store.book.history(inspection)) == 1


def test_what_is_no_json_is_refused(store: Store, inspection: UUID) -> None:
    """Nothing is opened by a document that can't be kept."""
    sent = Sent({"n": float("nan")}, 0)
    with pytest.raises(AnswerError, match="plain JSON"):
        store.book.receive(inspection, reference(), sent, now=NOON)
    assert not store.book.list()


class Phone:
    """A phone as the promise wants it: it notes what it sends before it sends it."""

    def __init__(self, name: str) -> None:
        self.name, self.typed = name, 0
        self.base, self.sent = 0, []  # type: int, list[str]
        self.document: dict[str, Any] = document(by=name, n=0)
        self.dirty = True

    def message(self) -> Sent:
        """Return what goes out; the same as long as nothing is typed and no reply comes."""
        mine = write(self.document).sha256
        self.sent = [*dict.fromkeys([*self.sent, mine])]
        return Sent(self.document, self.base, frozenset(self.sent) - {mine})


class TwoPhones(RuleBasedStateMachine):
    """Messages of two phones on one inspection: lost, repeated, delayed, in any order."""

    def __init__(self) -> None:
        super().__init__()
        self.books = ExitStack()
        self.store = open_store(self.books.enter_context(borrowed_book()))
        if self.store._database.is_sqlite:  # the disk's own pace has nothing to do with the rules
            with self.store._database.reading() as connection:
                connection.exec_driver_sql("PRAGMA journal_mode = MEMORY")
        self.store.library.keep(reference())
        self.id, self.ticks = uuid4(), itertools.count()
        self.phones = [Phone("A"), Phone("B")]
        self.wire: list[tuple[Phone, Sent]] = []
        self.acknowledged: set[str] = set()
        self.late: set[str] = set()

    def teardown(self) -> None:
        for phone in self.phones:  # the network is back: everything that waits is sent
            if phone.dirty:
                self.deliver(phone, phone.message(), is_heard=True)
        self.everything_acknowledged_is_kept_once()
        self.store.close()
        self.books.close()

    @rule(which=st.integers(0, 1))
    def type(self, which: int) -> None:
        phone = self.phones[which]
        phone.typed += 1
        phone.document, phone.dirty = document(by=phone.name, n=phone.typed), True

    @rule(which=st.integers(0, 1))
    def send(self, which: int) -> None:
        """Only what waits is sent: with a receipt for it, a phone says no more of it."""
        if self.phones[which].dirty:
            self.wire.append((self.phones[which], self.phones[which].message()))

    @precondition(lambda self: self.wire)
    @rule(data=st.data(), is_kept=st.booleans(), is_heard=st.booleans())
    def arrive(self, data: st.DataObject, is_kept: bool, is_heard: bool) -> None:
        """Any message on the wire arrives; it may arrive again, and its reply may be lost."""
        at = data.draw(st.integers(0, len(self.wire) - 1))
        phone, sent = self.wire[at] if is_kept else self.wire.pop(at)
        self.deliver(phone, sent, is_heard=is_heard)

    @precondition(lambda self: self.wire)
    @rule(data=st.data())
    def lose(self, data: st.DataObject) -> None:
        self.wire.pop(data.draw(st.integers(0, len(self.wire) - 1)))

    def deliver(self, phone: Phone, sent: Sent, *, is_heard: bool) -> None:
        before = self.history()
        now = datetime(2026, 4, 11, tzinfo=UTC) + timedelta(seconds=next(self.ticks))
        received = self.store.book.receive(self.id, reference(), sent, now=now)
        mine = write(sent.document).sha256
        (self.late if received.saved is None else self.acknowledged).add(mine)
        self.nothing_was_overwritten(before, received, sent)
        # A reply that comes after something else was sent is one the phone no longer waits for.
        if is_heard and write(phone.document).sha256 == mine and received.current:
            phone.base = (received.saved or received.current).revision
            phone.sent, phone.dirty = [], False

    def history(self) -> list[tuple[str, str]]:
        if not self.store.book.list():
            return []
        return [(entry.key, entry.sha256) for entry in self.store.book.history(self.id)]

    def nothing_was_overwritten(
        self, before: list[tuple[str, str]], received: Received, sent: Sent
    ) -> None:
        """Check that a new revision lies on one that its sender had a receipt for, or wrote."""
        after = self.history()
        assert [entry for entry in after if entry in before] == before
        revisions = [entry for entry in before if entry[0].startswith("revision")]
        is_new = received.saved and len(after) > len(before)
        if is_new and revisions:
            key, on_top_of = revisions[-1]
            at_base = dict(revisions).get(f"revision-{sent.base}")
            assert on_top_of in sent.sent | {at_base}, key

    @invariant()
    def everything_acknowledged_is_kept_once(self) -> None:
        kept = self.history()
        revisions = [sha for key, sha in kept if key.startswith("revision")]
        assert len(set(revisions)) == len(revisions)  # no phone types the same twice
        assert self.acknowledged == set(revisions)
        assert self.late == {sha for key, sha in kept if key.startswith("late")}


TestTwoPhones = TwoPhones.TestCase
TestTwoPhones.settings = settings(
    max_examples=400 if os.environ.get("QUICKCHECK_FULL") else 6 if ON_POSTGRESQL else 10,
    stateful_step_count=25,
    deadline=None,
)
