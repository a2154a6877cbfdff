"""Writing a reference in the browser: a text, what is wrong beside its lines, its lifelines.

What is kept goes into the data folder's `references/`, as a file that any editor can open.
"""

from collections.abc import Sequence
from importlib.util import find_spec
from typing import Any, Final

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import Fault, ReferenceFaultsError
from quickcheck.reference import BLANK, COLUMNS, Reference, located, text_of_table
from quickcheck.web.context import settings, shelve
from quickcheck.web.lifelines import reference_lifelines

pages = Blueprint("writing", __name__, url_prefix="/references/write")
_MOST_TOLD: Final = 40  # faults that are shown at once
LARGEST: Final = 1_300_000
"""Bytes of a form with a reference: a text of 1 MB, as forms send it."""

Reply = str | Response | tuple[str, int]
Located = tuple[int | None, Fault]


@pages.get("")
def write() -> Reply:
    """Ask what to begin with, or show the text of what was chosen."""
    if "of" not in request.args:
        return _begin()
    name = request.args["of"]
    text = desk.text_of(settings().shelf, name) if name else text_of_table(BLANK, **_new())
    return _editor(text)


def _new() -> dict[str, str]:
    return {"name": "new-reference", "title": "What it is a reference to"}


@pages.post("")
def begin() -> Reply:
    """Make a text of a table."""
    name = request.form.get("name", "").strip() or "reference"
    table = request.files.get("table")
    try:
        rows = desk.rows_of_table(table.read() if table else b"", name=name)
        return _editor(text_of_table(rows, name=name, title=name))
    except ReferenceFaultsError as error:
        return _begin(error.faults), 422


@pages.post("/check")
def check() -> Reply:
    """Say what is wrong with a text, or draw its lifelines; for a script that part alone."""
    text = _text()
    if "X-Part" not in request.headers:
        return _editor(text)
    return render_template("writing/_checked.html", **_checked(text))


@pages.post("/keep")
def keep() -> Reply:
    """Put an edition on the shelf."""
    text = _text()
    try:
        kept = desk.keep_text(settings().shelf, text, store=settings().store)
    except ReferenceFaultsError as error:
        return _editor(text, located(text, error.faults)), 422
    shelve()
    return redirect(url_for("references.show", reference=kept.id), code=303)


def _text() -> str:
    text = request.form.get("text", "").replace("\r\n", "\n")
    if not text.strip():
        abort(400, "No text came. Go back; what was typed is still there.")
    return text


def _begin(faults: Sequence[Fault] = ()) -> str:
    return render_template(
        "writing/write.html",
        text="",
        faults=faults,
        columns=COLUMNS,
        xlsx=find_spec("openpyxl") is not None,
        references=settings().shelf.listed,
    )


def _editor(text: str, faults: Sequence[Located] = ()) -> str:
    found = {"faults": faults, "most": _MOST_TOLD} if faults else _checked(text)
    return render_template("writing/write.html", text=text, **found)


def _checked(text: str) -> dict[str, Any]:
    found: Reference | None = None
    faults: Sequence[Located] = ()
    try:
        found = desk.read_text(settings().shelf, text)
    except ReferenceFaultsError as error:
        faults = located(text, error.faults)
    chart = reference_lifelines(found) if found else None
    return {"reference": found, "chart": chart, "faults": faults, "most": _MOST_TOLD}
