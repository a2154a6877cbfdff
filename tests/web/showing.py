"""A show: two dealers' books, a kiosk, an organizer, and what each of them has in it."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import UUID

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from quickcheck import desk
from quickcheck.reference import Reference
from quickcheck.store import (
    THIS_BOOK,
    Device,
    KeyFiles,
    Role,
    Scope,
    Sent,
    make_key,
    open_store,
)
from tests import kit
from tests.store.hasty import hasty
from tests.store.pictures import photo
from tests.web.issuing import ISSUER, MADE, clock
from tests.web.kit import HERE, Site, write_loom_one
from tests.web.sending import OUTBOX, message

PASSPHRASE = "loom bobbin shuttle heddle"  # noqa: S105  # of a test
PIN = "482915"
PHOTO = photo()
PHOTO_NAME = sha256(PHOTO).hexdigest()
OWNER_WORDS = "Pemberton’s own"
SERIAL = "0420-A"
UNKNOWN = UUID("12345678-0000-4000-8000-000000000000")
EDITION_GONE = "f" * 64


@dataclass
class Show:
    """The application with an organizer, and who is there; `nobody` and a `buyer` have no cookie."""

    site: Site
    tokens: dict[str, str] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    books: dict[str, UUID] = field(default_factory=dict)
    inspection: UUID = UNKNOWN  # dealer A's, with answers, a photo, a card, two versions
    parked: UUID = UNKNOWN  # dealer A's: only a document that could not be taken
    card: str = ""  # the digits of A's card
    issued: str = ""  # its name in the log

    def client(self, who: str) -> FlaskClient:
        """Return a browser of somebody's."""
        client = self.site.app.test_client()
        if who in self.tokens:
            client.set_cookie("device", self.tokens[who])
            known = self.site.store.devices.find(self.tokens[who])
            if known and known.visit:  # somebody is there, and was just now
                mark = sha256(b"visit" + known.visit.bytes).hexdigest()[:16]
                client.set_cookie("turn", f"{mark}.{int(self.now().timestamp())}.90")
        return client

    def ask(self, who: str, path: str, method: str = "GET", **more: Any) -> TestResponse:
        """Ask as somebody, from a page of ours."""
        headers = {**OUTBOX, **more.pop("headers", {})}
        return self.client(who).open(path, method=method, headers=headers, **more)

    def post(self, who: str, path: str, **fields: Any) -> TestResponse:
        """Send a form as somebody."""
        return self.client(who).post(path, data=fields, headers=HERE)

    def put(self, who: str, inspection: UUID, **more: Any) -> TestResponse:
        """Send a document as somebody's phone."""
        headers = more.pop("headers", {})
        base = more.pop("base", 0)
        edition = more.pop("edition", self.site.reference.hash)
        body = json.dumps(message(kit.document(**more), edition, base=base))
        kind = {"Content-Type": "application/json", **headers}
        return self.ask(who, f"/api/inspections/{inspection}", "PUT", data=body, headers=kind)

    def let_in(self, who: str, role: Role, book: UUID) -> Device:
        """Pair somebody's device."""
        access, now = self.site.store.access, self.now()
        code = access.offer(role, book, name=who, now=now)
        self.tokens[who], self.devices[who] = access.pair(code, now)
        return self.devices[who]

    def now(self) -> Any:
        """Return the time."""
        return clock(self.site)()

    def unlock(self, who: str) -> None:
        """Give somebody's device the organizer's rights once more, and a token that is known."""
        access = self.site.store.access
        access.unlock(self.devices[who], self.now())
        self.tokens[who] = access.renew(self.devices[who])


@contextmanager
def showing(folder: Path, reference: Reference) -> Iterator[Show]:
    """Open a show; the organizer is unlocked."""
    files = KeyFiles(folder / "keys")
    with hasty(), open_store(folder / "show.sqlite3") as store:
        make_key(store.keys, files, issuer=ISSUER, now=MADE)
        shelf = desk.shelf_from(desk.Folders(_references(folder / "own")))
        show = Show(Site.on(store, reference, shelf, keys=files))
        clock(show.site).step = timedelta(milliseconds=100)  # an unlocked station stays so
        store.access.set_up(PASSPHRASE, PIN, show.now())
        show.books = {"A": THIS_BOOK, "B": store.access.new_book("Balcony", show.now()).id}
        show.let_in("dealer A", Role.DEALER, show.books["A"])
        show.let_in("dealer B", Role.DEALER, show.books["B"])
        show.let_in("kiosk", Role.KIOSK, show.books["A"])
        show.let_in("organizer", Role.ORGANIZER, show.books["A"])
        show.let_in("locked", Role.ORGANIZER, show.books["B"])
        show.unlock("organizer")
        _fill(show)
        yield show


def _references(folder: Path) -> Path:
    """Write the references of the show into a folder of their own."""
    write_loom_one(folder)
    two = kit.REFERENCE.replace("loom-one", "loom-two")
    (folder / "loom-two.toml").write_text(two, encoding="utf-8")
    return folder


def _fill(show: Show) -> None:
    """Give dealer A an inspection with something of everything, and one that is only parked."""
    store, reference = show.site.store, show.site.reference
    mine = store.within(Scope(show.books["A"]))
    document = kit.document(
        name=OWNER_WORDS, serial_text=SERIAL, photos={"knobs": [PHOTO_NAME]}, owner=OWNER_WORDS
    )
    saved = desk.open_inspection(mine, reference, document, now=show.now())
    desk.keep_photo(mine, saved.id, PHOTO_NAME, content=PHOTO, now=show.now())
    show.inspection = saved.id
    assert show.put("dealer A", saved.id, name="Another version").status_code == 409
    show.parked = UUID(int=77)
    sent = Sent(kit.document(name=OWNER_WORDS), 0)
    mine.book.park(show.parked, sent, edition_hash=EDITION_GONE, reason="test", now=show.now())
    made = show.post("dealer A", f"/inspect/{saved.id}/card", leave="y", interest="none")
    assert made.status_code == 303, made.text
    show.card = made.location.removeprefix("/c/")
    show.issued = store.cards.of_inspection(saved.id)[0].id
