"""The count of a day: what a device says that it began, and what is here."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from sqlalchemy import text

from quickcheck.errors import StoreError
from quickcheck.store import Counted, Device, Saved, Sent, Store, Tally
from quickcheck.store.tally import FIRST
from tests.store.samples import document, reference

Clock = Callable[[], datetime]
Begin = Callable[..., Saved]


@pytest.fixture(name="phone")
def _phone(store: Store, tick: Clock) -> Device:
    return store.devices.welcome(tick())[1]


def arrive(store: Store, phone: Device, now: datetime) -> None:
    """Let an inspection that was begun on a phone come in."""
    sent = Sent(document(), 0, (), phone.id)
    store.book.receive(uuid4(), reference(), sent, now=now)


def only(store: Store) -> Counted:
    """Return the one line that there is."""
    (found,) = store.tallies.counted()
    return found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("12 2 1", Tally(12, 2, 1)),
        ("0 0 0", Tally(0, 0, 0)),
        ("", None),
        ("12 2", None),
        ("12 2 1 4", None),
        ("-1 0 0", None),
        ("12 2 ١", None),
        ("12345678 0 0", None),
    ],
)
def test_three_numbers_are_a_tally(text: str, found: Tally | None) -> None:
    """Anything else tells nothing, and nothing is made of it."""
    assert Tally.read(text) == found


def test_one_message_is_one_transaction(
    store: Store, phone: Device, tick: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What waits and the count are kept together or not at all; what is no news is not written."""
    written: list[str] = []
    transaction = store.together

    def counting() -> AbstractContextManager[None]:
        written.append("")
        return transaction()

    monkeypatch.setattr(store, "together", counting)
    now = tick()
    store.hear(phone, Tally(4, 1, 1), now=now, unsent=3)
    (told,) = store.devices.list()
    assert (told.unsent, told.told, only(store).told) == (3, now, now)
    store.hear(told, Tally(4, 1, 1), now=now, unsent=3)
    store.hear(told, None, now=now)
    assert len(written) == 1
    store.hear(told, None, now=now, unsent=2)
    monkeypatch.setattr(store.tallies, "note", fail)
    with pytest.raises(StoreError, match="no room"):
        store.hear(told, Tally(5, 1, 1), now=now, unsent=1)
    assert [each.unsent for each in store.devices.list()] == [2]


def fail(*_: object, **__: object) -> None:
    """Fail as a full disk does."""
    raise StoreError.of("disk", expected="room", came="no room", remedy="Make some.")


def test_what_was_begun_is_here_or_waits(store: Store, phone: Device, tick: Clock) -> None:
    """Two arrived, one waits, one was thrown away: four were begun, and the count adds up."""
    store.tallies.note(phone.id, Tally(0, 0, 0), now=tick())
    arrive(store, phone, tick())
    arrive(store, phone, tick())
    store.tallies.note(phone.id, Tally(4, 1, 1), now=tick())
    line = only(store)
    assert (line.arrived, line.tally, line.missing) == (2, Tally(4, 1, 1), 0)


def test_one_that_is_nowhere_is_missing(store: Store, phone: Device, tick: Clock) -> None:
    """Three were begun, one came, none waits: two are missing."""
    store.tallies.note(phone.id, Tally(0, 0, 0), now=tick())
    arrive(store, phone, tick())
    store.tallies.note(phone.id, Tally(3, 0, 0), now=tick())
    assert only(store).missing == 2


def test_what_was_before_it_was_paired_does_not_count(
    store: Store, phone: Device, tick: Clock
) -> None:
    """A phone that counted elsewhere begins at nothing here, and what waits then is its own."""
    store.tallies.note(phone.id, Tally(20, 2, 3), now=tick())
    assert only(store).tally == Tally(2, 2, 0)
    arrive(store, phone, tick())
    store.tallies.note(phone.id, Tally(21, 2, 4), now=tick())
    line = only(store)
    assert (line.tally, line.missing) == (Tally(3, 2, 1), -1)
    store.tallies.note(phone.id, Tally(22, 2, 4), now=tick())
    assert only(store).missing == 0


def test_what_is_on_its_way_is_not_missing(store: Store, phone: Device, tick: Clock) -> None:
    """What a phone told before its last one arrived counts that one as waiting: no alarm."""
    store.tallies.note(phone.id, Tally(1, 1, 0), now=tick())
    arrive(store, phone, tick())
    assert only(store).missing == 0


def test_a_cleared_phone_is_noticed(store: Store, phone: Device, tick: Clock) -> None:
    """A phone that remembers fewer than arrived lost its memory, and with it maybe more."""
    store.tallies.note(phone.id, Tally(0, 0, 0), now=tick())
    for _ in range(3):
        arrive(store, phone, tick())
    store.tallies.note(phone.id, Tally(0, 0, 0), now=tick())
    assert only(store).missing == -3


def test_begun_by_a_form_there_is_no_count(store: Store, begin: Begin) -> None:
    """Inspections that no device sent are nobody's line, and a device that told nothing misses none."""
    begin()
    assert store.tallies.counted() == ()


def test_a_late_document_stands_in_its_writers_line(
    store: Store, phone: Device, begin: Begin, tick: Clock
) -> None:
    """Until somebody chooses, the device whose document came too late has one open."""
    saved = begin()
    store.book.save(saved.id, document(name="on paper"), revision=saved.revision, now=tick())
    sent = Sent(document(name="on the phone"), saved.revision, (), phone.id)
    store.book.receive(saved.id, reference(), sent, now=tick())
    assert only(store).undecided == 1
    current = store.book.get(saved.id)
    store.book.bring_back(saved.id, document(), revision=current.revision, now=tick())
    assert store.tallies.counted() == ()


def test_the_day_counts_from_its_own_midnight(store: Store, begin: Begin, tick: Clock) -> None:
    """What was opened before is another day's."""
    saved = begin()
    assert store.tallies.begun(saved.opened) == 1
    assert store.tallies.begun(saved.opened + timedelta(seconds=1)) == 0
    assert store.tallies.cards(saved.opened).issued == 0


def test_the_count_does_not_go_through_all_revisions(store: Store) -> None:
    """It reads an index of first documents alone, however long the histories are."""
    with store._database.reading() as connection:
        if connection.dialect.name != "sqlite":
            pytest.skip("PostgreSQL decides by how much there is")
        told = connection.execute(text(f"EXPLAIN QUERY PLAN {FIRST.compile(connection)}")).all()
    assert [row.detail for row in told] == [
        "SEARCH revision USING COVERING INDEX ix_revision_first (device_id>?)"
    ]
