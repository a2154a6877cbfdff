"""The organizer's rights: unlocked by the passphrase, or by the PIN at a station; for 15 minutes."""

import logging
from typing import Final

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck.desk import LOOPBACK
from quickcheck.errors import Fault, SecretError, WaitError
from quickcheck.store import SHORTEST, Role
from quickcheck.web import devices
from quickcheck.web.context import everything, has_organizer, who

pages = Blueprint("organizer", __name__)
_log = logging.getLogger(__name__)

Reply = str | Response | tuple[str, int]
_FORWARDED: Final = ("Forwarded", "X-Forwarded-For", "X-Real-IP", "Via")


def is_here() -> bool:
    """Whether a browser on the very machine of the server asks, and nothing handed it on."""
    here = request.remote_addr in {*LOOPBACK, "::1"}
    return here and not any(name in request.headers for name in _FORWARDED)


def is_station() -> bool:
    """Whether this is a station of the organizer's, on the very machine of the server."""
    return who().role is Role.ORGANIZER and is_here()


def _page(*faults: Fault) -> str:
    return render_template(
        "access/organizer.html",
        faults=faults,
        is_set_up=has_organizer(),
        by_pin=is_station(),
        shortest=SHORTEST,
    )


def _wrong(what: str) -> Fault:
    return Fault(what, "the right one", "another", "Try once more. Nobody is locked out.")


@pages.get("/organizer")
def show() -> str:
    """Ask for the passphrase or the PIN; where it is unlocked, offer what can be done then."""
    return _page()


@pages.post("/organizer/unlock")
def unlock() -> Reply:
    """Give this device the organizer's rights; one that was not known becomes a station."""
    found = everything()
    access, now, device = found.store.access, found.now(), who().device
    try:
        pin = request.form.get("pin", "")
        if pin and device and is_station():
            what, right = "PIN", access.check_pin(device, pin, now)
        else:
            text = request.form.get("passphrase", "")
            what, right = "passphrase", access.check_passphrase(text, now, device=device)
    except WaitError as error:
        _log.warning("a try from %s came too soon", request.remote_addr)
        return _page(*error.faults), error.status
    if not right:
        _log.warning("a wrong %s was tried from %s", what, request.remote_addr)
        return _page(_wrong(what)), 422
    if device is None:
        _, device = access.enrol(now)
    access.unlock(device, now)
    devices.let_in(access.renew(device))  # whoever knew the old token has none of these rights
    _log.info("%s was unlocked", device.id)
    return redirect(url_for("devices.index"), code=303)


@pages.post("/organizer/lock")
def lock() -> Reply:
    """Take the rights back."""
    device = who().device
    if device:
        access = everything().store.access
        access.lock(device)
        devices.let_in(access.renew(device))
    return redirect(url_for("organizer.show"), code=303)


@pages.post("/organizer/secret")
def change() -> Reply:
    """Put another passphrase or PIN in the place of the present one, for who knows the passphrase."""
    found = everything()
    access, now = found.store.access, found.now()
    try:
        known = request.form.get("known", "")
        if not access.check_passphrase(known, now, device=who().device):
            _log.warning("a wrong present passphrase was tried from %s", request.remote_addr)
            return _page(_wrong("present passphrase")), 422
        _put(request.form.get("passphrase", ""), request.form.get("again", ""))
    except (SecretError, WaitError) as error:
        return _page(*error.faults), error.status
    _log.info("the organizer's secret was changed")
    return redirect(url_for("organizer.show"), code=303)


def _put(passphrase: str, again: str) -> None:
    """Change what the form is about; SecretError where the two of a passphrase differ."""
    found = everything()
    if "pin" in request.form:
        found.store.access.change_pin(request.form["pin"], found.now())
        return
    if passphrase != again:
        raise SecretError.of(
            "passphrase",
            expected="the same text twice",
            came="two that differ",
            remedy="Type it twice.",
        )
    found.store.access.change_passphrase(passphrase, found.now())
