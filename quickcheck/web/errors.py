"""Every fault as a page that says what came, what was expected and what to do; never a trace.

Under ``/api/`` it is JSON, whatever it is: a device takes nothing else for a reply of ours.
"""

import logging
from dataclasses import asdict

from flask import Flask, Response, jsonify, make_response, render_template, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from quickcheck.errors import Fault, QuickcheckError

_log = logging.getLogger(__name__)
_TITLES = {
    400: "That could not be read",
    401: "This device is not paired",
    403: "Not from here",
    404: "Nothing here",
    405: "Not that way",
    409: "Changed in between",
    413: "Too large",
    415: "Not of that kind",
    422: "Something is not right",
    429: "Not yet",
    503: "The book can't be reached",
}


_AGAIN = frozenset({401, 403, 404, 408, 429, 500, 502, 503, 504})
"""Statuses after which a device tries the same again; after the others that would be in vain."""


def as_json(status: int, faults: tuple[Fault, ...], text: str = "", **more: object) -> Response:
    """Return a fault as a device reads it; ``again`` says whether to try the same once more."""
    title = _TITLES.get(status, "Something went wrong")
    told = {
        "error": title,
        "text": text or "\n".join(str(fault) for fault in faults),
        "faults": [asdict(fault) for fault in faults],
        "again": status in _AGAIN,
        **more,
    }
    response = jsonify(told)
    response.status_code = status
    return response


def _reply(status: int, faults: tuple[Fault, ...], text: str = "") -> Response:
    if request.path.startswith("/api/"):
        return as_json(status, faults, text)
    title = _TITLES.get(status, "Something went wrong")
    page = render_template("errors/error.html", title=title, faults=faults, text=text)
    return make_response(page, status)


def init_app(app: Flask) -> None:
    """Answer every error of the tree, of HTTP and of ours with a page."""

    @app.errorhandler(QuickcheckError)
    def ours(error: QuickcheckError) -> Response:
        return _reply(error.status, error.faults)

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> Response:
        response = _reply(error.code or 500, (), error.description or "")
        if isinstance(error, MethodNotAllowed):
            response.allow.update(error.valid_methods or ())
        return response

    @app.errorhandler(Exception)
    def bug(error: Exception) -> Response:
        _log.exception("a fault of the app's own", exc_info=error)
        return _reply(
            500,
            (),
            "This is a fault of the app. What was saved before is still saved. "
            "Go back and try once more.",
        )
