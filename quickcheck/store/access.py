"""Who may see what: books, devices paired to them by codes that work once, the organizer's secret.

As long as no secret was set, the book is open: it is one person's, on one machine. From then on a
device is either paired, or nobody's.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID, uuid4

from sqlalchemy import Connection, delete, insert, select, update

from quickcheck.errors import ConflictError, NotFoundError, shown
from quickcheck.store import tries
from quickcheck.store.access_tables import LONGEST_NAME, BookRow, EndedVisitRow, OfferRow
from quickcheck.store.devices import (
    Device,
    Devices,
    add_device,
    device_by_id,
    hashed,
    new_token,
)
from quickcheck.store.documents import storable
from quickcheck.store.organizer_secret import (
    checked_passphrase,
    checked_pin,
    is_right,
    read_secret,
    write_secret,
)
from quickcheck.store.records import in_utc
from quickcheck.store.scope import Role, Scope
from quickcheck.store.session import Database
from quickcheck.store.sync_tables import DeviceRow
from quickcheck.store.tables import THIS_BOOK

CODE_LASTS: Final = timedelta(minutes=15)
UNLOCKED_FOR: Final = timedelta(minutes=15)
COOKIE_WRITTEN: Final = timedelta(minutes=1)
"""After that long a browser has written its cookies (Chromium: 30 seconds; from memory)."""
_ALPHABET: Final = "0123456789abcdefghjkmnpqrstvwxyz"  # no i, l, o, u: people read it aloud
_SIGNS: Final = 26
"""Of a code: 130 random bits."""
_LOOKS_LIKE: Final = str.maketrans({"o": "0", "i": "1", "l": "1", "-": "", " ": ""})


@dataclass(frozen=True, slots=True)
class OneBook:
    """A dealer's book by name."""

    id: UUID
    name: str
    made: datetime


class Access:
    """The books, and who is let in."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._devices = Devices(database)
        self._was_set_up = False  # once it is, it stays so

    # -- the organizer's secret -------------------------------------------------------------

    def is_set_up(self) -> bool:
        """Whether the organizer has a secret, so that nobody is let in who was not paired."""
        if not self._was_set_up:
            with self._database.reading() as connection:
                self._was_set_up = read_secret(connection) is not None
        return self._was_set_up

    def set_up(self, passphrase: str, pin: str, now: datetime) -> None:
        """Set passphrase and PIN ("": none) for the first time; ConflictError if there are any.

        Every device that came in until then is revoked, as nobody asked who it was.
        """
        hashes = {"passphrase": checked_passphrase(passphrase), "pin": checked_pin(pin)}
        at = in_utc(now)
        with self._database.writing() as connection:
            write_secret(connection, now=at, first=True, **hashes)
            connection.execute(
                update(DeviceRow).where(DeviceRow.revoked.is_(None)).values(revoked=at)
            )

    def change_passphrase(self, passphrase: str, now: datetime) -> None:
        """Put another passphrase in place of the one there is; nothing stays unlocked by it."""
        kept = checked_passphrase(passphrase)
        with self._database.writing() as connection:
            write_secret(connection, now=in_utc(now), first=False, passphrase=kept)
            connection.execute(update(DeviceRow).values(unlocked=None))

    def change_pin(self, pin: str, now: datetime) -> None:
        """Put another PIN in place of the one there is; "" takes it away."""
        kept = checked_pin(pin)
        with self._database.writing() as connection:
            write_secret(connection, now=in_utc(now), first=False, pin=kept)

    def check_passphrase(self, text: str, now: datetime, *, device: Device | None = None) -> bool:
        """Whether this is the passphrase; WaitError if it is too soon after wrong ones.

        Tries at a station of the organizer's count by themselves, so that nobody else's noise
        keeps the organizer waiting.
        """
        station = device.id if device and _is_station(device) else None
        return self._check(tries.PASSPHRASE, text, device=station, now=now)

    def check_pin(self, device: Device, text: str, now: datetime) -> bool:
        """Whether this is the PIN, typed at a station of the organizer's; WaitError as above.

        At any other device it never is.
        """
        if not _is_station(device):
            return False
        return self._check(tries.PIN, text, device=device.id, now=now)

    def _check(self, kind: str, text: str, *, device: UUID | None, now: datetime) -> bool:
        with self._database.writing() as connection:
            kept = read_secret(connection)
            if kept is None:
                return False
            number = tries.begin(connection, kind, device, now=in_utc(now))
        right = is_right(kept[0 if kind == tries.PASSPHRASE else 1], text)  # a tenth of a second
        if right:
            with self._database.writing() as connection:
                tries.succeed(connection, number)
        return right

    # -- books ------------------------------------------------------------------------------

    def books(self) -> tuple[OneBook, ...]:
        """Return the books: the one that is always there, and the others as they were made."""
        query = select(BookRow.id, BookRow.name, BookRow.made).order_by(
            BookRow.id != THIS_BOOK, BookRow.made, BookRow.id
        )
        with self._database.reading() as connection:
            return tuple(OneBook(*row) for row in connection.execute(query))

    def new_book(self, name: str, now: datetime) -> OneBook:
        """Begin a book; ConflictError where another has the name."""
        with self._database.writing() as connection:
            book = OneBook(uuid4(), _free_name(connection, name), in_utc(now))
            row = {"id": book.id, "name": book.name, "made": book.made}
            connection.execute(insert(BookRow).values(**row))
        return book

    def name_book(self, book: UUID, name: str) -> None:
        """Call a book something else; ConflictError where another has the name."""
        with self._database.writing() as connection:
            _check_book(connection, book)
            called = _free_name(connection, name, but=book)
            connection.execute(update(BookRow).where(BookRow.id == book).values(name=called))

    # -- pairing ----------------------------------------------------------------------------

    def offer(self, role: Role, book: UUID, *, name: str = "", now: datetime) -> str:
        """Return a code by which one device is paired once, within 15 minutes; 130 random bits."""
        code = "".join(secrets.choice(_ALPHABET) for _ in range(_SIGNS))
        at = in_utc(now)
        with self._database.writing() as connection:
            _check_book(connection, book)
            connection.execute(delete(OfferRow).where(OfferRow.until < at))
            row = {
                "code_sha256": hashed(code),
                "role": role,
                "book_id": book,
                "name": _short(name),
                "until": at + CODE_LASTS,
            }
            connection.execute(insert(OfferRow).values(**row))
        return code

    def pair(self, code: str, now: datetime) -> tuple[str, Device]:
        """Use a code up; return the new device with its token. NotFoundError for any other code."""
        with self._database.writing() as connection:
            query = select(OfferRow).where(OfferRow.code_sha256 == hashed(even_code(code)))
            offer = connection.execute(query.with_for_update()).one_or_none()
            if offer is None or offer.until < in_utc(now):
                raise NotFoundError.of(
                    "code",
                    expected="a code that was offered in the last 15 minutes and not used yet",
                    came="another",
                    remedy="Ask the organizer for a new one.",
                )
            used = delete(OfferRow).where(OfferRow.code_sha256 == offer.code_sha256)
            connection.execute(used)
            role = Role(offer.role)
            return add_device(connection, now, role=role, book=offer.book_id, name=offer.name)

    def enrol(self, now: datetime, *, name: str = "") -> tuple[str, Device]:
        """Make a device the organizer's, for somebody who knew the passphrase."""
        with self._database.writing() as connection:
            return add_device(connection, now, role=Role.ORGANIZER, name=_short(name))

    # -- devices ----------------------------------------------------------------------------

    def devices(self) -> tuple[Device, ...]:
        """Return every device, the one seen last first, revoked ones too."""
        return self._devices.list()

    def rename(self, device: UUID, name: str) -> None:
        """Call a device something else; an empty name changes nothing."""
        with self._database.writing() as connection:
            found = device_by_id(connection, device)
            _change(connection, found, name=_short(name) or found.name)

    def revoke(self, device: UUID, now: datetime) -> None:
        """Let a device in no more, from its next request on; what it sent stays."""
        with self._database.writing() as connection:
            found = device_by_id(connection, device)
            _change(connection, found, revoked=found.revoked or in_utc(now), unlocked=None)

    def renew(self, device: Device) -> str:
        """Return a new token for a device; the old one is worth nothing any more."""
        token = new_token()
        with self._database.writing() as connection:
            _change(connection, device, token_sha256=hashed(token))
        return token

    def unlock(self, device: Device, now: datetime) -> None:
        """Give a device the organizer's rights for 15 minutes."""
        with self._database.writing() as connection:
            _change(connection, device, unlocked=in_utc(now) + UNLOCKED_FOR)

    def lock(self, device: Device) -> None:
        """Take the organizer's rights from a device."""
        with self._database.writing() as connection:
            _change(connection, device, unlocked=None)

    # -- visits -----------------------------------------------------------------------------

    def hand_over(self, device: Device, now: datetime) -> str:
        """End the visit at a kiosk and begin the next; return its token.

        The old token opens nothing any more; `ended_visit` still knows whose it was. ConflictError
        at a device that is no kiosk, or whose visit was ended already.
        """
        token = new_token()
        with self._database.writing() as connection:
            now_kept = device_by_id(connection, device.id)
            if now_kept.visit is None or now_kept.visit != device.visit:
                raise ConflictError.of(
                    "visit",
                    expected="the present visit at a kiosk",
                    came=f"{device.role} {shown(device.name)}",
                    remedy="Open the start page: it shows whose turn it is.",
                )
            old = select(DeviceRow.token_sha256).where(DeviceRow.id == device.id)
            ended = {"device_id": device.id, "visit": device.visit, "ended": in_utc(now)}
            row = {"token_sha256": connection.scalar(old), **ended}
            connection.execute(insert(EndedVisitRow).values(**row))
            new = {"token_sha256": hashed(token), "visit": uuid4(), "unlocked": None}
            _change(connection, device, **new)
        return token

    def just_ended(self, token: str) -> Device | None:
        """Return the kiosk whose token this was until a moment ago.

        A browser writes a cookie to the disk within half a minute: after a power cut it comes back
        with the one before. Once the new one was in use for longer, the old one opens nothing.
        """
        query = select(EndedVisitRow.device_id, EndedVisitRow.ended).where(
            EndedVisitRow.token_sha256 == hashed(token)
        )
        with self._database.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        devices = (each for each in self._devices.list() if each.id == row.device_id)
        found = next(devices, None)
        return found if found and found.last_seen - row.ended <= COOKIE_WRITTEN else None

    def ended_visit(self, device: Device, token: str) -> Scope | None:
        """Return the scope of a visit that is over, for the kiosk that still has its token.

        So that what was not sent before a hand-over goes to whom it belongs, and not to the next.
        """
        query = select(EndedVisitRow.visit).where(
            EndedVisitRow.token_sha256 == hashed(token), EndedVisitRow.device_id == device.id
        )
        with self._database.reading() as connection:
            visit = connection.scalar(query)
        return Scope(device.book, visit) if visit else None


def _is_station(device: Device) -> bool:
    return device.role is Role.ORGANIZER and device.revoked is None


def even_code(code: str) -> str:
    """Return a code as it was given out, however it was typed: capitals, blanks, O for 0."""
    return code.strip().lower().translate(_LOOKS_LIKE)


def _short(name: str) -> str:
    return " ".join(storable(name).split())[:LONGEST_NAME]


def _change(connection: Connection, device: Device, **values: object) -> None:
    connection.execute(update(DeviceRow).where(DeviceRow.id == device.id).values(**values))


def _check_book(connection: Connection, book: UUID) -> None:
    if connection.scalar(select(BookRow.id).where(BookRow.id == book)) is None:
        raise NotFoundError.of(
            "book", expected="a book", came=shown(str(book)), remedy="Choose one of those listed."
        )


def _free_name(connection: Connection, name: str, *, but: UUID | None = None) -> str:
    """Return a name for a book; ConflictError where it is empty or another book has it."""
    called = _short(name)
    others = connection.execute(select(BookRow.id, BookRow.name)).all()
    taken = {other.name.casefold() for other in others if other.id != but}
    if called and called.casefold() not in taken:
        return called
    raise ConflictError.of(
        "name of the book",
        expected="one that no other book has",
        came=shown(name),
        remedy="Choose another name.",
    )
