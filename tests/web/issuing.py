"""A site whose station has an issuer's key, and what tests of sealed cards do there."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from werkzeug.test import TestResponse

from quickcheck.card import data_of
from quickcheck.reference import Reference
from quickcheck.store import Issued, KeyFiles, make_key, open_store
from tests import kit
from tests.web.kit import Clock, Site

ISSUER = "Fettle & Daughter"
MADE = datetime(2026, 4, 1, 8, tzinfo=UTC)
FORM: dict[str, Any] = {
    "leave": "y",
    "interest": "selling",
    "mark-place": ["board-9", "cavity"],
    "mark-kind": ["burn", "initials"],
    "mark-mm": ["6", "20"],
}


@contextmanager
def issuing(folder: Path, reference: Reference, *, key: bool = True) -> Iterator[Site]:
    """Open a site on a book of its own; without ``key`` it has a folder for keys and none in it."""
    files = KeyFiles(folder / "keys")
    with open_store(folder / "issuer.sqlite3") as store:
        if key:
            make_key(store.keys, files, issuer=ISSUER, now=MADE)
        yield Site.on(store, reference, keys=files)


def clock(site: Site) -> Clock:
    """Return the site's time, to set it."""
    found: Clock = site.app.extensions["quickcheck"].now
    return found


def answered(site: Site, serial: str = "0420") -> UUID:
    """Open an inspection with the answers of the kit."""
    inspection = site.begin(serial_text=serial)
    for point, answer in kit.ANSWERS.items():
        site.answer(inspection, point, seen=str(next(iter(answer.values()))))
    return inspection


def press(site: Site, inspection: UUID, **more: Any) -> TestResponse:
    """Fill in "Make a card" and send it."""
    fields = {key.replace("_", "-"): value for key, value in more.items()}
    return site.post(f"/inspect/{inspection}/card", {**FORM, **fields})


def make(site: Site, inspection: UUID, **more: Any) -> str:
    """Make a card and return its digits."""
    response = press(site, inspection, **more)
    assert response.status_code == 303, response.text
    return (response.location or "").removeprefix("/c/")


def issued(site: Site, inspection: UUID) -> list[Issued]:
    """Return the cards of an inspection in the issue log."""
    return list(site.store.cards.of_inspection(inspection))


def bytes_of(digits: str) -> bytes:
    """Return the bytes of a card."""
    return data_of(digits)
