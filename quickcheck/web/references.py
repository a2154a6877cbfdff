"""References: what is known, from when to when, with its sources and pictures."""

import mimetypes

from flask import Blueprint, Response, abort, render_template

from quickcheck.web.context import settings
from quickcheck.web.lifelines import reference_lifelines

pages = Blueprint("references", __name__, url_prefix="/references")


@pages.get("")
def index() -> str:
    """List the references, and the files that could not be read with their faults."""
    shelf = settings().shelf
    return render_template("references/list.html", references=shelf.listed, faulty=shelf.faulty)


@pages.get("/<reference>")
def show(reference: str) -> str:
    """Show the lifelines of all points of a reference."""
    found = settings().shelf.get(reference)
    return render_template(
        "references/reference.html", reference=found, chart=reference_lifelines(found)
    )


@pages.get("/<prefix>/pictures/<name>")
def picture(prefix: str, name: str) -> Response:
    """Serve a picture of an edition; the address holds the edition's hash, so it never changes."""
    try:
        found = settings().store.library.find(bytes.fromhex(prefix))
    except ValueError:
        abort(404)
    if name not in found.pictures:
        abort(404)
    mimetype = mimetypes.guess_type(name)[0] or "application/octet-stream"
    response = Response(found.pictures[name], mimetype=mimetype)
    response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
    return response
