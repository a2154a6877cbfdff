"""The cookie by which a device is known again, and what a device tells of itself."""

import logging
from contextlib import suppress
from datetime import UTC, datetime
from typing import Final

from flask import Flask, Response, g, request

from quickcheck.errors import StoreError
from quickcheck.store import Device, Role, Tally
from quickcheck.web.context import cookie_name, everything, forget_who, has_organizer, settings, who

_log = logging.getLogger(__name__)
_DAY: Final = 24 * 60 * 60
_OF_BUYERS: Final = frozenset({"cards", "issuer"})
"""Blueprints whose pages anybody opens: a buyer with a card is no device of ours."""


def meet() -> Device:
    """Return the device that sends this request; one that is not known is welcomed.

    With an organizer nobody is who was not paired, and `access` has turned them away before.
    """
    if "device" not in g:
        known = who().device
        if known is None:
            found = everything()
            g.new_token, known = found.store.devices.welcome(found.now())
        g.device = known
    device: Device = g.device
    return device


def let_in(token: str) -> None:
    """Give this request's sender the cookie of a device, and see them as that one."""
    g.new_token = token
    g.pop("device", None)
    forget_who()


def known() -> bool:
    """Whether this request comes from a device of the book; it makes nobody one."""
    return who().device is not None


def vouches() -> bool:
    """Whether who asks may have strangers' cards read and sealed: anybody known, but at no kiosk."""
    return known() and who().role is not Role.KIOSK


def note() -> None:
    """Keep what the headers tell: how many wait (X-Unsent), its count (X-Tally), its clock (X-Clock)."""
    now = settings().now()
    unsent = request.headers.get("X-Unsent", "")
    device, store = meet(), settings().store
    with suppress(StoreError):  # a full disk keeps nobody from reading
        store.hear(
            device,
            Tally.read(request.headers.get("X-Tally", "")),
            now=now,
            unsent=int(unsent)
            if unsent.isascii() and unsent.isdigit() and len(unsent) < 8
            else None,
            skew=_skew(request.headers.get("X-Clock", ""), now),
        )


def _skew(clock: str, now: datetime) -> float | None:
    """Return by how many seconds a clock is ahead; it says ISO 8601 or milliseconds since 1970."""
    with suppress(ValueError, OverflowError, OSError):
        if clock.isascii() and clock.isdigit():
            return int(clock) / 1000 - now.timestamp()
        at = datetime.fromisoformat(clock)
        return ((at if at.tzinfo else at.replace(tzinfo=UTC)) - now).total_seconds()
    return None


def _is_first_visit(response: Response) -> bool:
    return (
        request.method == "GET"
        and response.status_code == 200
        and response.mimetype == "text/html"
        and request.endpoint is not None
        and request.blueprint not in _OF_BUYERS
        and cookie_name() not in request.cookies
        # From another site a browser holds the cookie back: a new one would replace it.
        and request.headers.get("Sec-Fetch-Site") != "cross-site"
        and request.headers.get("Sec-Fetch-Dest", "document") == "document"
    )


def init_app(app: Flask) -> None:
    """Give each device its cookie with the first page that it opens."""

    @app.after_request
    def hand_out(response: Response) -> Response:
        if _is_first_visit(response):
            try:
                if not has_organizer():
                    meet()
            except StoreError as error:  # a full disk keeps nobody from reading
                _log.warning("a device was not noted: %s", error)
        if token := g.pop("new_token", None):
            response.set_cookie(
                cookie_name(),
                token,
                # Over plain http anybody in the hall may read along, so it is short-lived there.
                max_age=400 * _DAY if request.is_secure else _DAY // 2,
                secure=request.is_secure,
                httponly=True,
                samesite="Lax" if request.is_secure else "Strict",
                path="/",
            )
        return response
