"""What the views share: who asks, the settings, the inspection of a path, the time."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, cast
from uuid import UUID

from flask import current_app, g, request

from quickcheck import desk
from quickcheck.desk import LOOPBACK, Shelf
from quickcheck.errors import NotFoundError, StoreError, shown
from quickcheck.store import EVERYTHING, Device, KeyFiles, Role, Scope, Store

VEIL: Final = "veil"


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
    exports: Path | None = None  # where a finished day is put


@dataclass(frozen=True)
class Who:
    """Who sends this request; ``role`` is None for somebody who was not let in."""

    role: Role | None
    scope: Scope
    device: Device | None = None  # None: not known here, or revoked
    unlocked: bool = False  # has the organizer's rights at this moment

    @property
    def book(self) -> UUID:
        """Where new inspections go."""
        return self.scope.book

    @property
    def visit(self) -> UUID | None:
        """At a kiosk: whose turn it is."""
        return self.scope.visit


NOBODY: Final = Scope(UUID(int=0))
"""The scope of whoever was not let in: there is no such book."""


def everything() -> Settings:
    """Return the settings with a store that knows no scope: for what lets people in."""
    return cast(Settings, current_app.extensions["quickcheck"])


def settings() -> Settings:
    """Return the settings for this request; the store holds what its sender may see, no more."""
    if "settings" not in g:
        found = everything()
        g.settings = replace(found, store=found.store.within(who().scope))
    return cast(Settings, g.settings)


def who() -> Who:
    """Return who sends this request."""
    if "who" not in g:
        g.who = _who()
    return cast(Who, g.who)


def has_organizer() -> bool:
    """Whether an organizer's secret was set; asked once a request, as every link on a page asks."""
    if "organizer" not in g:
        g.organizer = everything().store.access.is_set_up()
    return cast(bool, g.organizer)


def forget_who() -> None:
    """Look again who sends this request: it was just let in, or has other rights now."""
    for name in ("who", "settings"):
        g.pop(name, None)


def cookie_name() -> str:
    """Return the name for this request: one prefix binds it to the host, but only over https."""
    return "__Host-device" if request.is_secure else "device"


def token() -> str:
    """Return the token that this request came with, or "" where it came without."""
    given: str = g.get("new_token") or request.cookies.get(cookie_name(), "")
    return given


def _who() -> Who:
    found = everything()
    store, known = found.store, token()
    device = store.devices.find(known) if known else None
    if known and device is None:
        device = store.access.just_ended(known)
    if not has_organizer():
        return Who(device.role if device else Role.DEALER, EVERYTHING, device)
    if device is None or device.revoked:
        return Who(None, NOBODY)
    unlocked = device.is_unlocked(found.now())
    return Who(device.role, _scope(device, unlocked=unlocked), device, unlocked)


def _scope(device: Device, *, unlocked: bool) -> Scope:
    """Return what a device may see; what a kiosk sends of a visit that is over goes to that one."""
    if unlocked:
        return Scope(device.book, device.visit, everything=True)
    if device.role is not Role.KIOSK:
        return Scope(device.book)
    ended = request.headers.get("X-Visit", "") if request.path.startswith("/api/") else ""
    if ended:
        return everything().store.access.ended_visit(device, ended) or NOBODY
    return Scope(device.book, device.visit)


def shelve() -> None:
    """Read the references anew: an edition was written."""
    found = everything()
    shelf = desk.shelf_from(found.shelf.folders)
    with suppress(StoreError):  # whoever opens an inspection by one keeps it, too
        for reference in shelf.current.values():
            found.store.library.keep(reference)
    current_app.extensions["quickcheck"] = replace(found, shelf=shelf)
    forget_who()


def look_at_shelf() -> None:
    """Read the references anew if a file changed: by another server, an editor or a copy."""
    if request.endpoint != "asset" and not everything().shelf.is_current:
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
