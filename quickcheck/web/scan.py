"""Read a card at a station: by its camera, from a picture, from an address or digits.

The camera and the picture are read by the page itself; what it can't do without its scripts, the
server does. Whatever the text names, only its digits are used, and only here.
"""

from urllib.parse import urlsplit

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.card import Scanned, digits, read_text
from quickcheck.errors import CardError, Fault, PhotoError
from quickcheck.web import devices
from quickcheck.web.context import settings

pages = Blueprint("scan", __name__)

Reply = str | Response | tuple[str, int]


def _hosts() -> tuple[str, ...]:
    """Return the names under which this server is reached: a code that names one is no stranger's."""
    found = settings()
    return tuple(dict.fromkeys([*found.hosts, urlsplit(found.base_url).hostname or ""]))


def _page(*faults: Fault, elsewhere: Scanned | None = None) -> str:
    return render_template(
        "scan/scan.html",
        faults=faults,
        elsewhere=elsewhere,
        text=digits(elsewhere.data) if elsewhere else "",
        hosts=_hosts(),
        reads_pictures=desk.reads_pictures(),
    )


def _open(scanned: Scanned) -> Reply:
    """Go to the card's page here; where its code names another server, say so first."""
    if scanned.host and scanned.host not in _hosts():
        return _page(elsewhere=scanned)
    return redirect(url_for("cards.show", text=digits(scanned.data)), code=303)


@pages.get("/scan")
def show() -> Reply:
    """Offer the camera, a picture, a field for the text."""
    return _page()


@pages.post("/scan")
def text() -> Reply:
    """Take an address or digits as a person pastes them."""
    try:
        return _open(read_text("".join(request.form.get("card", "").split())))
    except CardError as error:
        return _page(*error.faults), 422


@pages.post("/scan/picture")
def picture() -> Reply:
    """Take a picture from a page without scripts; NotFoundError where no decoder is installed."""
    if not devices.vouches():
        abort(403, "Only a device of the book may have a picture read.")
    sent = request.files.get("picture")
    try:
        return _open(desk.card_in_photo(sent.read() if sent else b""))
    except (CardError, PhotoError) as error:
        return _page(*error.faults), 422
