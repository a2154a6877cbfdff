"""The organizer's page during the day: who has something unsent, the count, and finishing the day."""

import logging
import re
from typing import Any, Final

from flask import Blueprint, abort, render_template, request, send_file
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import Fault, QuickcheckError
from quickcheck.web.access import is_organizer
from quickcheck.web.context import everything, settings

pages = Blueprint("stations", __name__, url_prefix="/stations")
_log = logging.getLogger(__name__)
_EXPORT: Final = re.compile(r"quickcheck-book-[0-9-]{10,20}\.zip")

Reply = str | Response | tuple[str, int]


def _page(*faults: Fault, **more: Any) -> str:
    found = settings()
    sheet = desk.day_sheet(found.store, found.now())
    return render_template("stations/stations.html", sheet=sheet, faults=faults, **more)


@pages.get("")
def index() -> str:
    """Show the day as it is now; a script asks for `live` from then on."""
    return _page()


@pages.get("/live")
def live() -> str:
    """Give the counts alone; who has locked this station in the meantime is told so, and no more."""
    if not is_organizer():
        return render_template("stations/locked.html")
    found = settings()
    return render_template("stations/_counts.html", sheet=desk.day_sheet(found.store, found.now()))


@pages.post("/finish")
def finish() -> Reply:
    """Export everything, prove the file, and show the sheet; or say what is open."""
    found = everything()
    if found.exports is None:
        abort(404)
    try:
        exported = desk.finish_day(
            found.store, found.exports, now=found.now(), anyway="anyway" in request.form
        )
    except QuickcheckError as error:
        return _page(*error.faults), error.status
    _log.info("the day was finished: %s", exported.path.name)
    return _page(exported=exported)


@pages.get("/exports/<name>")
def export(name: str) -> Response:
    """Give an export out, to be taken along on a stick."""
    folder = everything().exports
    if folder is None or not _EXPORT.fullmatch(name) or not (folder / name).is_file():
        abort(404)
    return send_file(folder / name, as_attachment=True, max_age=0)
