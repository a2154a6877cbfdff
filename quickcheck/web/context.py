"""What the views share: the settings, the inspection of a path, the time."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Final, cast
from uuid import UUID

from flask import current_app, request

from quickcheck import desk
from quickcheck.desk import Shelf
from quickcheck.errors import NotFoundError, StoreError, shown
from quickcheck.store import KeyFiles, Store

VEIL: Final = "veil"
LOOPBACK: Final = ("localhost", "127.0.0.1")  # the server listens on no other address


def _utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Settings:
    """What the application works on."""

    store: Store
    shelf: Shelf
    base_url: str = "http://localhost:8000"  # what a card's code leads to, never the Host header
    hosts: tuple[str, ...] = LOOPBACK
    now: Callable[[], datetime] = field(default=_utc_now)
    keys: KeyFiles | None = None  # without them no card is sealed here


def settings() -> Settings:
    """Return the settings of the application that serves this request."""
    return cast(Settings, current_app.extensions["quickcheck"])


def shelve() -> None:
    """Read the references anew: an edition was written."""
    found = settings()
    shelf = desk.shelf_from(found.shelf.folders)
    with suppress(StoreError):  # whoever opens an inspection by one keeps it, too
        for reference in shelf.current.values():
            found.store.library.keep(reference)
    current_app.extensions["quickcheck"] = replace(found, shelf=shelf)


def look_at_shelf() -> None:
    """Read the references anew if a file changed: by another server, an editor or a copy."""
    if request.endpoint != "asset" and not settings().shelf.is_current:
        shelve()


def inspection_id(text: str) -> UUID:
    """Return the inspection's id; anything else is answered like an id that nobody has."""
    try:
        return UUID(text)
    except ValueError:
        raise NotFoundError.of(
            "inspection",
            expected="an inspection of this book",
            came=shown(text),
            remedy="Open it from the book.",
        ) from None


def is_htmx() -> bool:
    """Whether a script asks for the changed parts only."""
    return request.headers.get("HX-Request") == "true"


def is_veiled() -> bool:
    """Whether the verdict is hidden from the owner's eyes."""
    return request.cookies.get(VEIL) == "1"
