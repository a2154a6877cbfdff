"""Who is let in: codes that work once, roles, the organizer's secret, and tries at it."""

import re
import shutil
import sqlite3
from collections import deque
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from quickcheck.errors import ConflictError, NotFoundError, SecretError, WaitError
from quickcheck.store import THIS_BOOK, Access, Device, Role, Scope, Store, open_store
from quickcheck.store.tries import PASSPHRASE_ANYWHERE, PIN_ANYWHERE, PIN_AT_A_DEVICE, Pace
from tests.store.hasty import hasty

NOW = datetime(2026, 4, 11, 12, tzinfo=UTC)
PHRASE = "loom bobbin shuttle heddle"
PIN = "482915"
SECOND = timedelta(seconds=1)


@pytest.fixture(name="store")
def _store(place: Path) -> Iterator[Store]:
    with hasty(), open_store(place) as store:
        yield store


@pytest.fixture(name="made", scope="module")
def _made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a book with an organizer, made once: the hashes are slow on purpose."""
    path = tmp_path_factory.mktemp("made") / "book.sqlite"
    with hasty(), open_store(path) as store:
        store.access.set_up(PHRASE, PIN, NOW)
    return path


@pytest.fixture(name="set_up")
def _set_up(place: Path, made: Path) -> Iterator[Store]:
    shutil.copy(made, place)
    with hasty(), open_store(place) as store:
        yield store


def paired(store: Store, role: Role = Role.DEALER, book: UUID = THIS_BOOK) -> tuple[str, Device]:
    """Pair a device."""
    return store.access.pair(store.access.offer(role, book, now=NOW), NOW)


def test_a_book_is_open_until_a_secret_is_set(store: Store) -> None:
    """Setting it revokes whoever came in before; it is set once, and another program sees it."""
    token, _ = store.devices.welcome(NOW)
    assert not store.access.is_set_up()
    assert not store.access.check_passphrase(PHRASE, NOW)
    with pytest.raises(ConflictError, match="expected a passphrase to change; got none"):
        store.access.change_passphrase(PHRASE, NOW)
    store.access.set_up(PHRASE, PIN, NOW)
    found = store.devices.find(token)
    assert found
    assert found.revoked == NOW
    assert store.access.is_set_up()
    with pytest.raises(ConflictError, match="expected no passphrase yet; got one"):
        store.access.set_up(PHRASE, PIN, NOW)


def test_what_is_kept_of_secrets(set_up: Store, place: Path) -> None:
    """Neither passphrase, PIN, code nor token stands in the file: argon2id of two, hashes of two."""
    code = set_up.access.offer(Role.DEALER, THIS_BOOK, now=NOW)
    token, _ = paired(set_up)
    content = place.read_bytes()
    for secret in (PHRASE, PIN, code, token):
        assert secret.encode() not in content
    with sqlite3.connect(place) as file:
        kept = file.execute("SELECT passphrase, pin FROM organizer_secret").fetchone()
    file.close()
    for text in kept:
        # RFC 9106, section 4: the second recommended option is t=3, p=4, m=64 MiB
        assert text.startswith("$argon2id$v=19$m=65536,t=3,p=4$")


@pytest.mark.parametrize("text", ["", "fourteen signs", "ab" * 10, "x" * 1001, " " * 20])
def test_passphrases_that_are_none(store: Store, text: str) -> None:
    """Too short, too long, the same few signs: refused, and not repeated in what is said."""
    with pytest.raises(SecretError, match="15 characters or more") as refused:
        store.access.set_up(text, PIN, NOW)
    assert not text.strip() or text not in str(refused.value)
    assert not store.access.is_set_up()


@pytest.mark.parametrize(
    "pin", ["12345", "1234567", "12a456", "123456", "987654", "111111", "112211", "１２３４５７"]
)
def test_pins_that_are_none(store: Store, pin: str) -> None:
    """Six plain digits that nobody tries first."""
    with pytest.raises(SecretError, match="PIN: expected six digits"):
        store.access.set_up(PHRASE, pin, NOW)


def test_the_passphrase(set_up: Store) -> None:
    """The right text in either form of its accents, whole, and nothing else."""
    access = set_up.access
    access.change_passphrase("Kötner Jacquard, drei Ellen", NOW)
    assert access.check_passphrase("Ko\u0308tner Jacquard, drei Ellen", NOW)
    for text in (
        PHRASE,
        "Kötner Jacquard, drei Elle",
        "Kötner Jacquard, drei Ellen ",
        "\ud800",
        "",
    ):
        assert not access.check_passphrase(text, NOW)


def test_the_pin_is_for_stations_alone(set_up: Store) -> None:
    """It is right at a station of the organizer's, nowhere else; and not where there is none."""
    access = set_up.access
    stations = {role: paired(set_up, role)[1] for role in Role}
    assert [access.check_pin(stations[role], PIN, NOW) for role in Role] == [True, False, False]
    station = stations[Role.ORGANIZER]
    assert not access.check_pin(station, "482916", NOW)
    access.change_pin("", NOW)
    assert not access.check_pin(station, "", NOW)
    access.change_pin("730418", NOW)
    assert access.check_pin(station, "730418", NOW)
    access.revoke(station.id, NOW)
    (found,) = [each for each in access.devices() if each.id == station.id]
    assert not access.check_pin(found, "730418", NOW)


@pytest.fixture(name="cheap")
def _cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let hundreds of tries pass without a tenth of a second each."""
    monkeypatch.setattr("quickcheck.store.access.is_right", lambda _, text: text == PIN)


def wait_and_fail(access: Access, station: Device, now: datetime) -> int:
    """Try a wrong PIN as soon as it is let, and return after how many seconds that was."""
    try:
        assert not access.check_pin(station, "000000", now)
    except WaitError as refused:
        found = re.search(r"Wait (\d+) seconds", str(refused))
        assert found
        seconds = int(found[1])
        with pytest.raises(WaitError, match="Wait 1 seconds"):
            access.check_pin(station, "000000", now + (seconds - 1) * SECOND)
        assert not access.check_pin(station, "000000", now + seconds * SECOND)
        return seconds
    return 0


def test_wrong_pins_wait_longer_and_longer(set_up: Store, cheap: None) -> None:
    """Five are free; then 30 s, 1, 2, 4, 8 minutes, and never more than 15: nobody is locked out."""
    station = paired(set_up, Role.ORGANIZER)[1]
    access, now, waits = set_up.access, NOW, []
    for _ in range(12):
        waits.append(wait_and_fail(access, station, now))
        now += waits[-1] * SECOND
    assert waits == [0, 0, 0, 0, 0, 30, 60, 120, 240, 480, 900, 900]
    with pytest.raises(WaitError, match=r"PIN: .* Wait 900 seconds"):
        access.check_pin(station, PIN, now)
    assert access.check_pin(station, PIN, now + timedelta(minutes=15))
    assert not access.check_pin(station, "000000", now + timedelta(minutes=15))  # forgiven


def test_tries_are_counted_across_restarts(set_up: Store, place: Path, cheap: None) -> None:
    """Another program on the same book waits as well; a try that was refused counts for nothing."""
    station = paired(set_up, Role.ORGANIZER)[1]
    for _ in range(5):
        assert not set_up.access.check_pin(station, "000000", NOW)
    with open_store(place) as again:
        for _ in range(3):
            with pytest.raises(WaitError, match="Wait 30 seconds"):
                again.access.check_pin(station, PIN, NOW)
        assert again.access.check_pin(station, PIN, NOW + timedelta(seconds=30))


def test_a_clock_that_is_set_back_locks_nobody_out(set_up: Store, cheap: None) -> None:
    """The wait is never longer than the pace has it, whatever the clock says of the last try."""
    station = paired(set_up, Role.ORGANIZER)[1]
    for _ in range(5):
        set_up.access.check_pin(station, "000000", NOW + timedelta(days=1))
    with pytest.raises(WaitError, match="Wait 30 seconds"):
        set_up.access.check_pin(station, PIN, NOW)


def test_many_stations_do_not_give_many_tries(set_up: Store, cheap: None) -> None:
    """All stations together wait as well after twenty wrong ones in an hour."""
    access, tried = set_up.access, 0
    for _ in range(6):
        station = paired(set_up, Role.ORGANIZER)[1]
        for _ in range(5):
            try:
                access.check_pin(station, "000000", NOW)
            except WaitError:
                continue
            tried += 1
    assert tried == 20


def test_how_many_pins_a_day() -> None:
    """A hundred a day at one station, under six hundred at all of them, by the paces themselves."""
    # by hand: ten in the first 930 s (five free, then 30, 60, 120, 240, 480), one each 900 s after
    assert in_a_day(PIN_AT_A_DEVICE) == 10 + (86_400 - 930) // 900 == 104
    assert 480 <= in_a_day(PIN_ANYWHERE) <= 600
    assert PASSPHRASE_ANYWHERE.wait(100) == timedelta(minutes=1)


def in_a_day(pace: Pace) -> int:
    """Return how many tries somebody gets in a day who takes each in the second it is let."""
    within = pace.within // SECOND
    counted: deque[int] = deque()
    tried, last = 0, 0
    for at in range(86_400):
        while counted and counted[0] <= at - within:
            counted.popleft()
        while last + pace.wait(len(counted)) // SECOND <= at:
            counted.append(at)
            tried, last = tried + 1, at
    return tried


def test_noise_does_not_keep_the_organizer_waiting(set_up: Store) -> None:
    """Wrong passphrases from anywhere delay each other, and not the organizer's own station."""
    access, station = set_up.access, paired(set_up, Role.ORGANIZER)[1]
    for _ in range(5):
        assert not access.check_passphrase("wrong", NOW)
    with pytest.raises(WaitError, match=r"passphrase: .* Nobody is locked out"):
        access.check_passphrase(PHRASE, NOW)
    assert access.check_passphrase(PHRASE, NOW, device=station)


def test_a_code_pairs_one_device_once(set_up: Store) -> None:
    """26 signs of 32 (130 bits), however they are typed; used up by the first, gone after 15 min."""
    access = set_up.access
    codes = {access.offer(Role.DEALER, THIS_BOOK, now=NOW) for _ in range(50)}
    assert len(codes) == 50
    assert {len(code) for code in codes} == {26}
    code = codes.pop()
    typed = "-".join(code.upper().replace("0", "O").replace("1", "l")) + " "
    token, device = access.pair(typed, NOW + timedelta(minutes=14))
    assert set_up.devices.find(token) == device
    for wrong in (code, "", "0" * 26, code[:-1], codes.pop() + "0"):
        with pytest.raises(NotFoundError, match="offered in the last 15 minutes and not used"):
            access.pair(wrong, NOW)
    with pytest.raises(NotFoundError, match="code: expected a code"):
        access.pair(codes.pop(), NOW + timedelta(minutes=15, seconds=1))


def test_books(store: Store) -> None:
    """A name is one book's; a code for no book is none."""
    access = store.access
    balcony = access.new_book(" The  balcony ", NOW)
    assert balcony.name == "The balcony"
    for name in ("the BALCONY", "", " ", "this book"):
        with pytest.raises(ConflictError, match="one that no other book has"):
            access.new_book(name, NOW)
    access.name_book(balcony.id, "THE BALCONY")
    with pytest.raises(ConflictError, match="one that no other book has"):
        access.name_book(THIS_BOOK, "The Balcony")
    assert {book.name for book in access.books()} == {"This book", "THE BALCONY"}
    for act in (
        lambda: access.name_book(uuid4(), "Other"),
        lambda: access.offer(Role.DEALER, uuid4(), now=NOW),
    ):
        with pytest.raises(NotFoundError, match="expected a book"):
            act()


def test_devices_are_renamed_and_revoked(set_up: Store) -> None:
    """A revoked device is still listed, with the time; a name is one line and never empty."""
    access = set_up.access
    _, device = paired(set_up)
    access.rename(device.id, " Ann’s\nphone " + "x" * 100)
    access.rename(device.id, "  ")
    access.revoke(device.id, NOW)
    access.revoke(device.id, NOW + SECOND)
    (found,) = access.devices()
    assert (found.name[:12], len(found.name), found.revoked) == ("Ann’s phone ", 80, NOW)
    with pytest.raises(NotFoundError, match="a device that was paired here"):
        access.revoke(uuid4(), NOW)


def test_unlocking(set_up: Store) -> None:
    """It lasts 15 minutes; locking, revoking and another passphrase end it at once."""
    access = set_up.access
    token, device = access.enrol(NOW, name="Desk")

    def unlocked(minutes: int = 1) -> bool:
        found = set_up.devices.find(token)
        assert found
        return found.is_unlocked(NOW + timedelta(minutes=minutes))

    assert not unlocked()
    for end in (
        lambda: access.lock(device),
        lambda: access.change_passphrase(PHRASE, NOW),
        lambda: access.revoke(device.id, NOW),
    ):
        access.unlock(device, NOW)
        assert [unlocked(minutes) for minutes in (0, 14, 15)] == [True, True, False]
        end()
        assert not unlocked()


def test_a_visit_ends_once(set_up: Store) -> None:
    """A hand-over gives a new token and visit; the old token is known for sending alone."""
    access = set_up.access
    token, kiosk = paired(set_up, Role.KIOSK)
    new = access.hand_over(kiosk, NOW)
    assert set_up.devices.find(token) is None
    found = set_up.devices.find(new)
    assert found
    assert found.id == kiosk.id
    assert found.visit not in {None, kiosk.visit}
    assert access.ended_visit(found, token) == Scope(THIS_BOOK, kiosk.visit)
    assert access.ended_visit(found, new) is None
    assert access.ended_visit(paired(set_up, Role.KIOSK)[1], token) is None
    for other in (kiosk, paired(set_up)[1]):
        with pytest.raises(ConflictError, match="expected the present visit at a kiosk"):
            access.hand_over(other, NOW)


def test_books_are_never_taken_away(store: Store, place: Path) -> None:
    """The file itself refuses it."""
    with sqlite3.connect(place) as file, pytest.raises(sqlite3.IntegrityError, match="never taken"):
        file.execute("DELETE FROM book")
    file.close()


@pytest.mark.parametrize("change", ["DELETE FROM ended_visit", "UPDATE ended_visit SET visit = 1"])
def test_what_was_a_visit_stays_one(store: Store, place: Path, change: str) -> None:
    """The file itself refuses to change or drop it."""
    store.access.hand_over(paired(store, Role.KIOSK)[1], NOW)
    with (
        sqlite3.connect(place) as file,
        pytest.raises(sqlite3.IntegrityError, match="ended_visit: rows are only ever added"),
    ):
        file.execute(change)
    file.close()
