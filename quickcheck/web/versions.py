"""All versions of an inspection side by side, and photos as they were sent."""

from contextlib import suppress

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from quickcheck import desk
from quickcheck.errors import NotFoundError
from quickcheck.store import Saved
from quickcheck.web.context import inspection_id, settings

pages = Blueprint("versions", __name__)


@pages.get("/inspect/<inspection>/versions")
def show(inspection: str) -> str:
    """List every document that was ever received, and how it differs from the current one."""
    store, number = settings().store, inspection_id(inspection)
    found = desk.versions(store, number)
    saved: Saved | None = None
    with suppress(NotFoundError):  # only documents that could not be taken: nothing to go back to
        saved = store.book.get(number)
    return render_template(
        "inspect/versions.html",
        inspection=number,
        saved=saved,
        versions=found,
        undecided=number in store.book.undecided(),
    )


@pages.post("/inspect/<inspection>/versions")
def bring_back(inspection: str) -> AnyResponse:
    """Bring one version back as a new revision, or let the current one stand."""
    found, number = settings(), inspection_id(inspection)
    revision = request.form.get("revision", "")
    desk.bring_back(
        found.store,
        number,
        request.form.get("version", ""),
        revision=int(revision) if revision.isascii() and revision.isdigit() else 0,
        now=found.now(),
    )
    return redirect(url_for("inspect.show", inspection=number), code=303)


@pages.get("/inspections/<inspection>/photos/<name>")
def photo(inspection: str, name: str) -> Response:
    """Serve a photo; not kept by browsers, as the next person at a station is another one."""
    found = settings().store.photos.get(inspection_id(inspection), name)
    return Response(found.content, mimetype=found.content_type)
