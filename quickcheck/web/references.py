"""References: what is known, from when to when, with its sources and pictures."""

import json
import mimetypes
from collections.abc import Sequence

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from quickcheck import desk
from quickcheck.errors import AnswerError, Fault, ReadingError
from quickcheck.reference import Assembly, Kind, Reference, json_schema
from quickcheck.web.context import settings
from quickcheck.web.lifelines import reference_lifelines

pages = Blueprint("references", __name__, url_prefix="/references")


@pages.get("")
def index() -> str:
    """List the references, and the files that could not be read with their faults."""
    shelf = settings().shelf
    return render_template("references/list.html", references=shelf.listed, faulty=shelf.faulty)


@pages.get("/schema.json")
def schema() -> Response:
    """Hand out the format as a JSON Schema, for editors that complete and check by one."""
    text = json.dumps(json_schema(), ensure_ascii=False, indent=1)
    return Response(text, mimetype="application/schema+json")


@pages.get("/<reference>")
def show(reference: str) -> str | AnyResponse | tuple[str, int]:
    """Show the lifelines of all points of a reference, or what some months should look like."""
    found = settings().shelf.get(reference)
    first, last = request.args.get("first", "").strip(), request.args.get("last", "").strip()
    if first or last:  # the form's own two fields
        months = f"{first or last}..{last or first}"
        return redirect(url_for("references.show", reference=reference, window=months))
    if "window" not in request.args:
        return _lifelines(found)
    try:
        window = desk.parse_window(request.args["window"])
        points = desk.expected(found, window)
    except (AnswerError, ReadingError) as error:
        return _lifelines(found, error.faults), 422
    assemblies: dict[Assembly, list[desk.ExpectedPoint]] = {}
    for point in points:
        assemblies.setdefault(point.point.assembly, []).append(point)
    return render_template(
        "references/expected.html",
        reference=found,
        window=window,
        assemblies=assemblies,
        kinds=Kind,
    )


def _lifelines(found: Reference, faults: Sequence[Fault] = ()) -> str:
    return render_template(
        "references/reference.html",
        reference=found,
        chart=reference_lifelines(found),
        faults=faults,
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
