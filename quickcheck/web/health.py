"""How the server is: versions, disk, clock, who has something unsent, what does not agree."""

from flask import Blueprint, Response, jsonify, render_template, request

from quickcheck import desk
from quickcheck.web.context import settings

pages = Blueprint("health", __name__)


@pages.get("/health")
def show() -> str | Response:
    """Tell it as a page, or as JSON (``?json``, or asked for by Accept); ``?check`` reads it all."""
    here = settings()
    report = desk.report_health(here.store, now=here.now(), check="check" in request.args)
    wanted = request.accept_mimetypes.best_match(["text/html", "application/json"], "text/html")
    if "json" in request.args or wanted == "application/json":
        return jsonify(report)
    return render_template("health/health.html", report=report)
