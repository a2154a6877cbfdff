"""The devices and the books, for the organizer: list, rename, revoke, pair another."""

import logging
from typing import Any
from uuid import UUID

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.card import QUIET, svg_path, symbol
from quickcheck.errors import ConflictError, Fault, NotFoundError, shown
from quickcheck.store import THIS_BOOK, Role
from quickcheck.web.context import everything, has_organizer, settings, who

pages = Blueprint("devices", __name__, url_prefix="/devices")
_log = logging.getLogger(__name__)

Reply = str | Response | tuple[str, int]


@pages.before_request
def need_an_organizer() -> Response | None:
    """Where no secret was set nobody is paired, and the page says how to begin."""
    if has_organizer():
        return None
    return redirect(url_for("organizer.show"), code=303)


def _page(*faults: Fault, **more: Any) -> str:
    found = settings()
    access = found.store.access
    return render_template(
        "access/devices.html",
        devices=access.devices(),
        books=access.books(),
        names={book.id: book.name for book in access.books()},
        roles=Role,
        now=found.now(),
        mine=who().device,
        faults=faults,
        **more,
    )


def _id(text: str, what: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise NotFoundError.of(
            what,
            expected=f"a {what} that is kept here",
            came=shown(text),
            remedy="Choose one of those listed.",
        ) from None


def _done() -> Response:
    return redirect(url_for("devices.index"), code=303)


@pages.get("")
def index() -> str:
    """List the devices and the books."""
    return _page()


@pages.post("/<device>/name")
def rename(device: str) -> Reply:
    """Call a device something else."""
    everything().store.access.rename(_id(device, "device"), request.form.get("name", ""))
    return _done()


@pages.post("/<device>/revoke")
def revoke(device: str) -> Reply:
    """Let a device in no more; what it sent stays."""
    found = everything()
    found.store.access.revoke(_id(device, "device"), found.now())
    _log.info("%s was revoked", device)
    return _done()


@pages.post("/offer")
def offer() -> Reply:
    """Offer a code that pairs one device, as text and as a symbol; it is kept nowhere."""
    found = everything()
    form = request.form
    role = Role(form["role"]) if form.get("role") in set(Role) else Role.DEALER
    book = _id(form.get("book") or str(THIS_BOOK), "book")
    access = found.store.access
    code = access.offer(role, book, name=form.get("name", ""), now=found.now())
    address = desk.pair_address(found.base_url, code)
    drawn = symbol(address)
    return render_template(
        "access/offered.html",
        address=address,
        code=desk.code_words(code),
        role=role,
        book=next(each.name for each in access.books() if each.id == book),
        side=drawn.size + 2 * QUIET,
        quiet=QUIET,
        path=svg_path(drawn),
    )


@pages.post("/books")
def begin_book() -> Reply:
    """Begin a book."""
    found = everything()
    try:
        found.store.access.new_book(request.form.get("name", ""), found.now())
    except ConflictError as error:
        return _page(*error.faults), error.status
    return _done()


@pages.post("/books/<book>/name")
def name_book(book: str) -> Reply:
    """Call a book something else."""
    try:
        everything().store.access.name_book(_id(book, "book"), request.form.get("name", ""))
    except ConflictError as error:
        return _page(*error.faults), error.status
    return _done()
