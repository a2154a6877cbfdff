"""What protects every reply and every change: one set of headers, and same-origin changes only."""

import logging
from collections.abc import Mapping
from typing import Final

from flask import Flask, Response, abort, request

from quickcheck.desk import LOOPBACK
from quickcheck.store import LARGEST_PHOTO
from quickcheck.web.learning import LARGEST as LARGEST_TABLE
from quickcheck.web.writing import LARGEST, LARGEST_WITH_FILES

_log = logging.getLogger(__name__)
_SOURCES = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' blob: data:",
    "connect-src 'self'",
    "font-src 'self'",
    "manifest-src 'self'",
    "worker-src 'self'",
    "form-action 'self'",
    "frame-ancestors 'none'",
    "base-uri 'none'",
)
POLICY = "; ".join(_SOURCES)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}
HTTPS_ONLY: Final = "max-age=31536000"
"""For a year, as OWASP ASVS 5.0, 3.4.1 asks. Not for subdomains: they are not ours to close."""
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_LIMITS: Final[Mapping[str | None, int]] = {
    "api.put_photo": LARGEST_PHOTO,
    "scan.picture": LARGEST_PHOTO,
    "learning.put": LARGEST_TABLE,
    **dict.fromkeys(
        ("writing.begin", "writing.check", "writing.keep", "comparing.before_it_is_kept"), LARGEST
    ),
    **dict.fromkeys(("writing.add", "writing.bring"), LARGEST_WITH_FILES),
}
"""Endpoints that take more than MAX_CONTENT_LENGTH."""


def same_origin() -> bool:
    """Whether a change comes from a page of ours.

    Every current browser sends Sec-Fetch-Site to https and to localhost, and Origin with a POST
    elsewhere. Unlike a token in the form neither can expire while somebody types.
    """
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site == "same-origin"
    return request.headers.get("Origin", "") == request.host_url.rstrip("/")


def _name() -> str:
    # The header is read raw: a reply that refuses a broken Host needs a policy too.
    return str(request.environ.get("HTTP_HOST", "")).partition(":")[0]


def _referrer_policy() -> str:
    # With no-referrer a browser sends "Origin: null" even to ourselves, and on a plain http LAN
    # address, where there is no Sec-Fetch-Site, nothing would be left to tell our pages by.
    return "no-referrer" if request.is_secure or _name() in LOOPBACK else "same-origin"


def init_app(app: Flask) -> None:
    """Guard every request and every reply."""

    @app.before_request
    def refuse_foreign_changes() -> None:
        limit = _LIMITS.get(request.endpoint, app.config["MAX_CONTENT_LENGTH"])
        request.max_content_length = request.max_form_memory_size = limit
        if (request.content_length or 0) > limit:
            abort(413)  # also where a view would never read the body
        if request.method not in _SAFE and not same_origin():
            _log.warning("a change from elsewhere was refused at %s", request.endpoint)
            abort(
                403,
                "This change did not come from a page of this app. Open the page and try again.",
            )

    @app.after_request
    def put_headers(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        response.headers["Referrer-Policy"] = _referrer_policy()
        response.headers.setdefault("Cache-Control", "no-store")
        # Never for localhost: the browser would ask every server on this machine for https.
        if request.is_secure and _name() not in LOOPBACK:
            response.headers["Strict-Transport-Security"] = HTTPS_ONLY
        return response
