"""Pairing: a code that works once, typed or from a QR symbol, makes this browser a device.

Opening the address of a code does nothing yet, as the previews of messages open addresses too. The
one exception is a kiosk's browser, which is started with such an address on this very machine.
"""

import logging

from flask import Blueprint, redirect, render_template, request
from werkzeug.wrappers import Response

from quickcheck.errors import NotFoundError
from quickcheck.store import Role, even_code
from quickcheck.web import devices, turns
from quickcheck.web.context import everything, who
from quickcheck.web.organizer import is_here

pages = Blueprint("pairing", __name__)
_log = logging.getLogger(__name__)

Reply = str | Response | tuple[str, int]


@pages.get("/pair")
def ask() -> str:
    """Ask for the code."""
    return render_template("access/pair.html")


@pages.get("/pair/<code>")
def confirm(code: str) -> Reply:
    """Show one button; whether the code is right is told to whoever presses it.

    A kiosk's browser opens such an address whenever it starts, with nobody there to press it: one
    that is known goes on, one that lost its cookie in a crash is let in again.
    """
    if who().role is Role.KIOSK:
        return redirect("/", code=303)
    if "here" in request.args and _is_start_of_browser():
        return _paired(code)
    return render_template("access/confirm.html", code=even_code(code))


def _is_start_of_browser() -> bool:
    """Whether somebody on this machine typed the address, or started a browser with it."""
    told = [request.headers.get(f"Sec-Fetch-{name}") for name in ("Site", "Mode", "Dest")]
    return told == ["none", "navigate", "document"] and is_here()


@pages.post("/pair")
def pair() -> Reply:
    """Use the code up, and give this browser the device's cookie."""
    return _paired(request.form.get("code", ""))


def _paired(code: str) -> Reply:
    found = everything()
    before = who().device
    try:
        token, device = found.store.access.pair(code, found.now())
    except NotFoundError as error:
        _log.warning("a code that is none was tried from %s", request.remote_addr)
        return render_template("access/pair.html", faults=error.faults), 404
    if before:  # the same browser under its old name
        found.store.access.revoke(before.id, found.now())
    devices.let_in(token)
    if device.role is Role.KIOSK:
        turns.begin()  # somebody is there: who paired it
    _log.info("%s was paired as %s", device.id, device.role)
    return redirect("/", code=303)
