"""Whose turn it is at a kiosk, by this server's clock: a visit that was left alone opens no page.

When somebody was last there travels in a cookie that ends with the browser, so a browser that was
started again shows nothing of the visit before. What still sends goes on: to save is no showing.
"""

from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256
from typing import Final

from flask import Flask, Response, g, make_response, redirect, render_template, request, url_for

from quickcheck import desk
from quickcheck.errors import StoreError
from quickcheck.web.context import VEIL, everything, who

READING: Final = timedelta(seconds=90)
INSPECTING: Final = timedelta(minutes=10)  # both hands may be inside a guitar
WARNING: Final = timedelta(seconds=30)  # before either
_TOLD_LATE: Final = timedelta(seconds=10)
"""How long a page may take to tell that somebody is there (`static/js/kiosk/idle.js`)."""
_NO_PAGES: Final = frozenset({"asset", "offline.worker", "offline.manifest"})
_HAND_OVER: Final = frozenset({"handover.hand_over", "handover.here"})
_SHOWN: Final = frozenset({"document", "iframe", "frame", "embed", "object", ""})
"""What a browser says of a request whose reply is shown by itself; "" where it says nothing."""


@dataclass(frozen=True, slots=True)
class Turn:
    """What a kiosk's page says of the visit that it is of."""

    mark: str  # names the visit, and lets nobody in
    idle: int  # seconds after which this page is handed over
    warning: int  # seconds before that, from which on it is asked whether somebody is there
    over: bool  # nothing of the visit is shown any more
    takes_photos: bool


def mark() -> str:
    """Return what pages call the present visit; "" anywhere but at a kiosk."""
    visit = who().visit
    return sha256(b"visit" + visit.bytes).hexdigest()[:16] if visit else ""


def turn() -> Turn | None:
    """Return whose turn it is; None anywhere but at a kiosk, and where nobody can tell."""
    with suppress(StoreError, OSError):  # a page that says so is laid out as well
        if named := mark():
            idle = int(_limit().total_seconds())
            warning, over = int(WARNING.total_seconds()), g.get("over", False)
            return Turn(named, idle, warning, over, desk.takes_photos(everything().store))
    return None


def stay(*, inspecting: bool) -> bool:
    """Note that somebody is there; False where the visit is over and stays so."""
    if _left_for() > INSPECTING + _TOLD_LATE:
        return False
    g.turn = INSPECTING if inspecting else READING
    return True


def begin() -> None:
    """Begin the visit of this request's device, which is a new one."""
    g.turn = READING


def cookie_name(what: str) -> str:
    """Return the name of a cookie of a visit."""
    return f"__Host-{what}" if request.is_secure else what


def put_cookie(response: Response, what: str, value: str) -> None:
    """Set a cookie that ends with the browser."""
    response.set_cookie(
        cookie_name(what),
        value,
        secure=request.is_secure,
        httponly=True,
        samesite="Strict",
        path="/",
    )


def forget(response: Response) -> None:
    """Take back what this browser was told to remember of a visit."""
    for name in (VEIL, cookie_name("cards")):
        response.delete_cookie(
            name, path="/", secure=request.is_secure, samesite="Strict", httponly=name != VEIL
        )


def _limit() -> timedelta:
    return INSPECTING if request.endpoint in {"inspect.show", "inspect.answer"} else READING


def _told() -> tuple[timedelta, timedelta] | None:
    """Return how long ago somebody was there, and how long that was to last; None: not known."""
    named, *numbers = request.cookies.get(cookie_name("turn"), "").split(".")
    if named != mark() or len(numbers) != 2 or not all(_is_count(each) for each in numbers):
        return None
    at, limit = map(int, numbers)
    return timedelta(seconds=everything().now().timestamp() - at), timedelta(seconds=limit)


def _is_count(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 12


def _left_for() -> timedelta:
    told = _told()
    return told[0] if told else timedelta.max


def _is_over() -> bool:
    told = _told()
    return told is None or told[0] > told[1] + _TOLD_LATE


def _opens_page() -> bool:
    shown = request.headers.get("Sec-Fetch-Dest", "") in _SHOWN
    return request.method in {"GET", "HEAD"} and shown and request.endpoint not in _NO_PAGES


def _look() -> Response | None:
    """Show no page of a visit that was left alone; the start page hands over."""
    if request.endpoint in _HAND_OVER or not mark():
        return None
    if _opens_page():
        if not _is_over():
            g.turn = _limit()
            return None
        g.over = True
        if request.endpoint == "start.home":
            return make_response(render_template("handover/over.html"))
        return make_response(redirect(url_for("start.home"), code=303))
    # A form that somebody took their time over is taken, and what comes of it shown to nobody.
    if request.method == "POST" and not stay(inspecting=_limit() is INSPECTING):
        g.over = True
    return None


def _keep(response: Response) -> Response:
    if g.get("over") and request.method == "POST":
        response = make_response(redirect(url_for("start.home"), code=303))
    if limit := g.get("turn"):
        with suppress(StoreError):
            at = int(everything().now().timestamp())
            if named := mark():  # it may have been paired as something else in between
                put_cookie(response, "turn", f"{named}.{at}.{int(limit.total_seconds())}")
    return response


def init_app(app: Flask) -> None:
    """Stand between the guard and every view."""
    app.before_request(_look)
    app.after_request(_keep)
    app.jinja_env.globals["turn"] = turn
