"""Learning in the browser: a table and points in, a bar while it learns, the report, an edition.

The work is done by a process of its own (`desk.Workshop`); a page only asks how far it is.
"""

import re
from collections.abc import Sequence
from typing import Final, cast

from flask import Blueprint, Flask, Response, current_app, redirect, render_template, request
from flask import url_for as url
from werkzeug.wrappers import Response as AnyResponse

from quickcheck import desk
from quickcheck.errors import ConflictError, ExamplesError, Fault, ReferenceFaultsError
from quickcheck.learn import Table
from quickcheck.web.context import settings, shelve

pages = Blueprint("learning", __name__, url_prefix="/references/learn")
LARGEST: Final = 8_000_000
"""Bytes of a form with a table and a points file: a table of 20,000 rows and 40 columns."""
_MOST_TOLD: Final = 200  # faults that are shown at once
_ROW: Final = re.compile(r", row ([0-9]+), ")
_LABEL: Final = 40  # signs of an edition's label

Reply = str | AnyResponse | tuple[str, int]


def init_app(app: Flask) -> None:
    """Give the application a place to learn in."""
    app.extensions["quickcheck-workshop"] = desk.Workshop()


def _workshop() -> desk.Workshop:
    return cast(desk.Workshop, current_app.extensions["quickcheck-workshop"])


@pages.get("")
def begin() -> Reply:
    """Ask for a table and for points."""
    return _form()


def _form(faults: Sequence[Fault] = ()) -> str:
    found = settings()
    return render_template(
        "learning/begin.html",
        references=found.shelf.listed,
        documented=desk.documented_counts(found.store),
        faults=faults,
        chosen=request.form.get("of", ""),
        book=bool(request.form.get("book")),
    )


@pages.post("")
def put() -> Reply:
    """Take a table in; what is wrong with all of it is told on the same page, of its rows on the next."""
    try:
        file = _points()
        learning = _workshop().put(file, _table(file))
    except (ConflictError, ExamplesError, ReferenceFaultsError) as error:
        return _form(error.faults), error.status
    return _to(learning)


def _to(learning: desk.Learning) -> AnyResponse:
    return redirect(url("learning.show", learning=learning.id), code=303)


def _points() -> desk.PointsFile:
    """Return the points of the file that was sent, or of the reference that was chosen."""
    sent = request.files.get("points")
    content, name = (sent.read(), sent.filename) if sent else (b"", "")
    if content:
        return desk.sent_points(settings().shelf, content, name=name or "points.toml")
    shelf = settings().shelf
    chosen = request.form.get("of", "")
    if not chosen:
        raise ExamplesError.of(
            "points",
            expected="a reference whose points are looked at, or a points file",
            came="neither",
            remedy="Choose one of the references, or a file.",
        )
    pictures = shelf.get(chosen).pictures
    return desk.points_in(desk.text_of(shelf, chosen), name=chosen, pictures=pictures)


def _table(file: desk.PointsFile) -> Table:
    sent = request.files.get("examples")
    content = sent.read() if sent else b""
    found = Table((), (), 0)
    if content:
        name = (sent.filename if sent else "") or "the table"
        found = desk.examples_in(file.reference, content, name=name)
    if request.form.get("book"):
        found = desk.together(found, desk.examples_of_book(settings().store, file.reference))
    return found


@pages.get("/<learning>")
def show(learning: str) -> Reply:
    """Show how far a learning is, or what was learned; for a script the bar alone."""
    found = _workshop().get(learning)
    if "X-Part" in request.headers:
        return render_template("learning/_bar.html", learning=found)
    return _page(found)


def _page(found: desk.Learning, faults: Sequence[Fault] = (), edition: str | None = None) -> str:
    reference = found.file.reference
    if edition is None:
        edition = f"{reference.edition[: _LABEL - len(', learned')]}, learned"
    return render_template(
        "learning/learning.html",
        learning=found,
        reference=reference,
        rows=[(_row(fault), fault) for fault in found.table.faults[:_MOST_TOLD]],
        faults=faults,
        edition=edition,
        is_here=reference.id in settings().shelf.current,
    )


def _row(fault: Fault) -> str:
    """Return the number of the row that a fault is in; "" where it is in no table."""
    found = _ROW.search(fault.where)
    return found[1] if found else ""


@pages.post("/<learning>/start")
def start(learning: str) -> Reply:
    """Learn without the rows that have faults."""
    try:
        return _to(_workshop().start(learning))
    except (ConflictError, ExamplesError) as error:
        return _page(_workshop().get(learning), error.faults), error.status


@pages.post("/<learning>/stop")
def stop(learning: str) -> Reply:
    """Learn no further."""
    return _to(_workshop().stop(learning))


@pages.get("/<learning>/reference.toml")
def download(learning: str) -> AnyResponse:
    """Hand out the reference as a file."""
    found = _workshop().get(learning)
    name = f"{found.file.reference.id}.toml"
    return _file(desk.result_of(found).text, "application/toml", name)


@pages.get("/<learning>/report.html")
def report(learning: str) -> AnyResponse:
    """Hand out the report as a page that needs nothing else."""
    found = _workshop().get(learning)
    name = f"{found.file.reference.id}.report.html"
    return _file(desk.result_of(found).report, "text/html", name)


def _file(text: str, mimetype: str, name: str) -> AnyResponse:
    """Return a text to be kept, never shown: its styles are not those that our pages may have."""
    response = Response(text, mimetype=mimetype)
    response.headers.set("Content-Disposition", "attachment", filename=name)
    return response


@pages.post("/<learning>/keep")
def keep(learning: str) -> Reply:
    """Put what was learned on the shelf, under a label of its own."""
    found = _workshop().get(learning)
    label = request.form.get("edition", "").strip()
    text = desk.with_edition(desk.result_of(found).text, label)
    try:
        kept = desk.keep_text(settings().shelf, text, store=settings().store)
    except ReferenceFaultsError as error:
        return _page(found, error.faults, label), error.status
    shelve()
    return redirect(url("references.show", reference=kept.id), code=303)
