"""A book with something of everything that a book can hold, and its rows to compare."""

import sqlite3
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

from quickcheck.card import Signer
from quickcheck.desk import receive
from quickcheck.errors import ConflictError
from quickcheck.store import (
    Differing,
    KeyFiles,
    Paper,
    Papers,
    Photo,
    Role,
    Saved,
    Scope,
    Sent,
    Show,
    Store,
    Tally,
    retire_key,
    rotate_key,
)
from tests.store.pictures import photo
from tests.store.samples import document, reference
from tests.store.sealing import ISSUED, MADE, card, new_signer

NOW = datetime(2026, 4, 11, 9, 0, 0, 1, tzinfo=UTC)
FULL_ONE = UUID(int=1)  # with undo, photos, cards, two versions
FROM_PHONE = UUID(int=2)
NEVER_OPENED = UUID(int=3)
OTHER_EDITION = UUID(int=4)
IN_A_VISIT = UUID(int=5)  # at a kiosk, in another book
SHEET_NAME = '=HYPERLINK("http://poplin.example")'
JPEG, PNG, WEBP = photo(), photo("PNG"), photo("WEBP")


def name_of(content: bytes) -> str:
    return sha256(content).hexdigest()


def at(minute: int) -> datetime:
    return NOW + timedelta(minutes=minute)


def fill(store: Store, keys: Path) -> dict[str, Any]:
    """Put everything into a book; return what a test may want to go on with."""
    store.library.keep(reference(), now=NOW)
    store.library.keep(reference("2026-12", stroke=3), now=at(1))
    token, device = store.devices.welcome(NOW)
    _full_one(store, device.id)
    _from_phone(store, device.id)
    _not_taken(store, device.id)
    _at_a_kiosk(store)
    _said(store, device.id)
    return {"signer": _cards(store, keys), "token": token, "device": device}


def _full_one(store: Store, device: UUID) -> None:
    names = [name_of(JPEG), name_of(PNG), "0" * 64]
    pictures = {"photos": {"plate-screws": names}}
    store.book.open(FULL_ONE, reference(), document(name="First"), now=NOW)
    saved = store.book.save(FULL_ONE, document(name="Wrong"), revision=1, now=at(2))
    saved = store.book.undo(FULL_ONE, at(3))
    sent = Sent(
        document(name=SHEET_NAME, serial_text="A 641", **pictures), saved.revision, device=device
    )
    receive(store, FULL_ONE, sent, edition_hash=reference().hash, now=at(4))
    late = document(name="Too late")
    try:
        store.book.save(FULL_ONE, late, revision=1, now=at(5))
    except ConflictError:
        store.book.bring_back(FULL_ONE, late, revision=4, now=at(6))
    store.book.receive(FULL_ONE, reference(), Sent(document(name="Later"), 2), now=at(7))
    for content, kind in ((JPEG, "image/jpeg"), (PNG, "image/png"), (WEBP, "image/webp")):
        store.photos.keep(FULL_ONE, name_of(content), Photo(kind, content), now=at(8))


def _from_phone(store: Store, device: UUID) -> None:
    """Add a phone's inspection, judged otherwise there, with text in several scripts."""
    sent = Sent(document(name="Ünïcode 木 \u2028 \U0001f3b8", serial_text="+1"), 0, device=device)
    differing = Differing('{"verdict":"other"}', '{"verdict":"agrees"}', 1)
    store.book.receive(FROM_PHONE, reference(), sent, now=at(9), differing=differing)


def _not_taken(store: Store, device: UUID) -> None:
    """Park something: without an edition, and for another one."""
    sent = Sent(document(name="Parked"), 0, device=device)
    store.book.park(NEVER_OPENED, sent, edition_hash="f" * 64, reason="no edition", now=at(10))
    newer = reference("2026-12", stroke=3)
    store.book.open(OTHER_EDITION, newer, document(name="-2+3"), now=at(11))
    store.book.receive(OTHER_EDITION, reference(), sent, now=at(12))


def _at_a_kiosk(store: Store) -> None:
    """Begin another book, with an inspection of a visit that is over; the kiosk was taken away."""
    balcony = store.access.new_book("Balcony", at(13))
    code = store.access.offer(Role.KIOSK, balcony.id, name="Desk", now=at(13))
    _, kiosk = store.access.pair(code, at(14))
    visit = store.within(Scope(balcony.id, kiosk.visit)).book
    visit.open(IN_A_VISIT, reference(), document(name="Visitor's"), now=at(15))
    newer, sent = reference("2026-12", stroke=3), Sent(document(name="More"), 0, device=kiosk.id)
    visit.receive(IN_A_VISIT, newer, sent, now=at(16))
    store.access.hand_over(kiosk, at(17))
    store.access.revoke(kiosk.id, at(18))
    store.access.offer(Role.DEALER, balcony.id, now=at(19))


def _said(store: Store, device: UUID) -> None:
    """Add what papers say, the show, and what a device counted."""
    for papers in (Papers(Paper.LEDGER, 641, 643, 1.5, "Page 3"), None):
        store.documented.say(FULL_ONE, papers, now=at(20))
    store.documented.undo(FULL_ONE, now=at(21))
    show = Show("Harbour Fair", date(2026, 4, 11), date(2026, 4, 12), "https://cards.example")
    store.show.put(show, at(22))
    store.tallies.note(device, Tally(5, 1, 0), now=at(23))


def _cards(store: Store, keys: Path) -> Signer:
    """Four cards by two keys, the first of which was rotated: one withdrawn, one corrected."""
    files = KeyFiles(keys)
    old = new_signer(store, keys)
    given = [
        store.cards.issue(card(), old, inspection=FULL_ONE, source=name_of(bytes([n])))
        for n in range(3)
    ]
    store.cards.withdraw(given[0].id, now=ISSUED)
    store.cards.correct(given[1].id, by=given[2].id, now=ISSUED)
    lost = new_signer(store, keys, issuer="Lost & Found", now=MADE)
    retire_key(store.keys, files, key_id=lost.id, now=ISSUED, revoke=True)
    _, new = rotate_key(store.keys, files, old=old.id, now=ISSUED)
    signer = files.load(new.id)
    store.cards.issue(card("", issued=ISSUED + timedelta(days=1)), signer)
    return signer


def current(store: Store, inspection: UUID = FULL_ONE) -> Saved:
    return store.book.get(inspection)


_OWN = {"server", "start", "tally", "alembic_version"}
_LETS_IN = {"offer", "ended_visit", "organizer_secret", "secret_try"}
_LEFT = {"token_sha256", "unsent", "skew", "told", "unlocked"}  # of a device


def rows(place: Path) -> dict[str, set[tuple[object, ...]]]:
    """Return all rows that are carried, without the numbers that a database gives by itself."""
    with sqlite3.connect(place) as file:
        named = file.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {
            name: _rows(file, name)
            for (name,) in named
            if name not in _OWN | _LETS_IN and not name.startswith("finding")
        }


def _rows(file: sqlite3.Connection, table: str) -> set[tuple[object, ...]]:
    told = file.execute(f'SELECT name FROM pragma_table_info("{table}")').fetchall()  # noqa: S608
    left = _LEFT if table == "device" else {"id"} if table in {"conflict", "parked"} else set()
    columns = ", ".join(f'"{name}"' for (name,) in told if name not in left)
    return set(file.execute(f'SELECT {columns} FROM "{table}"').fetchall())  # noqa: S608
