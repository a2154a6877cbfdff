"""Every fault as a page that says what came, what was expected and what to do; never a trace."""

import logging

from flask import Flask, Response, make_response, render_template
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from quickcheck.errors import Fault, QuickcheckError

_log = logging.getLogger(__name__)
_TITLES = {
    400: "That could not be read",
    403: "Not from here",
    404: "Nothing here",
    405: "Not that way",
    409: "Changed in between",
    413: "Too large",
    422: "Something is not right",
    503: "The book can't be reached",
}


def _page(status: int, faults: tuple[Fault, ...], text: str = "") -> tuple[str, int]:
    title = _TITLES.get(status, "Something went wrong")
    return render_template("errors/error.html", title=title, faults=faults, text=text), status


def init_app(app: Flask) -> None:
    """Answer every error of the tree, of HTTP and of ours with a page."""

    @app.errorhandler(QuickcheckError)
    def ours(error: QuickcheckError) -> tuple[str, int]:
        return _page(error.status, error.faults)

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> Response:
        response = make_response(_page(error.code or 500, (), error.description or ""))
        if isinstance(error, MethodNotAllowed):
            response.allow.update(error.valid_methods or ())
        return response

    @app.errorhandler(Exception)
    def bug(error: Exception) -> tuple[str, int]:
        _log.exception("a fault of the app's own", exc_info=error)
        return _page(
            500,
            (),
            "This is a fault of the app. What was saved before is still saved. "
            "Go back and try once more.",
        )
