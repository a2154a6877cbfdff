"""How the server is: versions, disk, clock, who has something unsent, what does not agree."""

from flask import Blueprint, Response, jsonify, render_template, request

from quickcheck import desk
from quickcheck.web.access import is_organizer
from quickcheck.web.context import settings

pages = Blueprint("health", __name__)


@pages.get("/health")
def show() -> str | Response:
    """Tell it as a page, or as JSON (``?json``, or asked for by Accept); ``?check`` reads it all.

    Where there is an organizer, nobody else is told more than that the server answers.
    """
    here, full = settings(), is_organizer()
    check = "check" in request.args
    report = (
        desk.report_health(here.store, now=here.now(), check=check) if full else {"alive": True}
    )
    wanted = request.accept_mimetypes.best_match(["text/html", "application/json"], "text/html")
    if "json" in request.args or wanted == "application/json":
        return jsonify(report)
    return render_template("health/health.html" if full else "health/alive.html", report=report)
