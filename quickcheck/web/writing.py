"""Writing a reference in the browser: a text, what is wrong beside its lines, its lifelines, its pictures.

What is kept goes into the data folder's `references/`, as a file that any editor can open. A picture
that was added is held there under its hash, which the form carries, until an edition is kept.
"""

import mimetypes
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any, Final

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import Fault, PhotoError, ReferenceFaultsError
from quickcheck.reference import BLANK, COLUMNS, Reference, located, text_of_table
from quickcheck.store import LARGEST_PHOTO
from quickcheck.web.context import settings, shelve
from quickcheck.web.lifelines import reference_lifelines

pages = Blueprint("writing", __name__, url_prefix="/references/write")
_MOST_TOLD: Final = 40  # faults that are shown at once
_MOST_ADDED: Final = 12  # files in one go: each is decoded by a process of its own
LARGEST: Final = 1_300_000
"""Bytes of a form with a reference: a text of 1 MB, as forms send it."""
LARGEST_WITH_FILES: Final = LARGEST + LARGEST_PHOTO
"""Bytes of such a form with pictures, or of a file that holds a reference."""

Reply = str | Response | tuple[str, int]
Located = tuple[int | None, Fault]
_NO_PICTURES: Final[Mapping[str, str]] = {}


@dataclass(frozen=True, slots=True)
class _Picture:
    """A picture as the page shows it; ``users`` None where the text can't be read yet."""

    name: str
    source: str
    users: tuple[str, ...] | None


@pages.get("")
def write() -> Reply:
    """Ask what to begin with, or show the text of what was chosen."""
    if "of" not in request.args:
        return _begin()
    name = request.args["of"]
    text = desk.text_of(settings().shelf, name) if name else text_of_table(BLANK, **_new())
    return editor(text)


def _new() -> dict[str, str]:
    return {"name": "new-reference", "title": "What it is a reference to"}


@pages.post("")
def begin() -> Reply:
    """Make a text of a table."""
    name = request.form.get("name", "").strip() or "reference"
    table = request.files.get("table")
    try:
        rows = desk.rows_of_table(table.read() if table else b"", name=name)
        return editor(text_of_table(rows, name=name, title=name), unkept=True)
    except ReferenceFaultsError as error:
        return _begin(error.faults), 422


@pages.post("/file")
def bring() -> Reply:
    """Show the text in a file, or in a zip with its pictures."""
    file = request.files.get("file")
    name = (file.filename if file else "") or "the file"
    try:
        text, pictures = desk.unpacked(file.read() if file else b"", name=name)
        if not text.strip():
            abort(400, "No text came. Choose a file.")
        held = {each: desk.hold(settings().shelf, content) for each, content in pictures.items()}
    except (ReferenceFaultsError, PhotoError) as error:
        return _begin(error.faults), 422
    return editor(text, held=held, unkept=True)


@pages.post("/pictures")
def add() -> Reply:
    """Clean and hold pictures, and show the text again with them."""
    text, held = _text(), held_of_form()
    shelf, faults = settings().shelf, []
    beside = {**desk.pictures_beside(shelf, text), **desk.held(shelf, held.items())}
    for file in request.files.getlist("new")[:_MOST_ADDED]:
        if not file.filename:
            continue  # nothing was chosen
        try:
            name, content = desk.add_picture(file.filename, file.read(), beside=beside)
        except (ReferenceFaultsError, PhotoError) as error:
            faults += [(None, fault) for fault in error.faults]
            continue
        beside[name] = content
        held[name] = desk.hold(shelf, content)
    return editor(text, faults, held=held, unkept=True), 422 if faults else 200


@pages.get("/pictures/<digest>.<kind>")
def picture(digest: str, kind: str) -> Response:
    """Show a picture that is held; its address holds its hash."""
    content = desk.held_picture(settings().shelf, digest)
    if content is None or kind not in {"svg", "png", "webp"}:
        abort(404)
    return Response(content, mimetype=mimetypes.guess_type(f"x.{kind}")[0] or f"image/{kind}")


@pages.post("/check")
def check() -> Reply:
    """Say what is wrong with a text, or draw its lifelines; for a script that part alone."""
    text, held = _text(), held_of_form()
    if "X-Part" not in request.headers:
        return editor(text, held=held, unkept=True)
    return render_template("writing/_checked.html", **_checked(text, held))


@pages.post("/keep")
def keep() -> Reply:
    """Put an edition on the shelf."""
    text, held = _text(), held_of_form()
    shelf = settings().shelf
    pictures = desk.held(shelf, held.items())
    try:
        kept = desk.keep_text(shelf, text, store=settings().store, pictures=pictures)
    except ReferenceFaultsError as error:
        return editor(text, located(text, error.faults), held=held, unkept=True), 422
    shelve()
    return redirect(url_for("references.show", reference=kept.id), code=303)


def _text() -> str:
    text = request.form.get("text", "").replace("\r\n", "\n")
    if not text.strip():
        abort(400, "No text came. Go back; what was typed is still there.")
    return text


def held_of_form() -> dict[str, str]:
    """Return name and hash of the pictures that the form carries."""
    pairs = (value.partition(" ") for value in request.form.getlist("picture"))
    return {name: digest for name, _, digest in pairs}


def _begin(faults: Sequence[Fault] = ()) -> str:
    return render_template(
        "writing/write.html",
        text="",
        faults=faults,
        columns=COLUMNS,
        xlsx=find_spec("openpyxl") is not None,
        references=settings().shelf.listed,
    )


def editor(
    text: str,
    faults: Sequence[Located] = (),
    *,
    held: Mapping[str, str] = _NO_PICTURES,
    unkept: bool = False,
) -> str:
    """Render the text with its faults and pictures, to go on writing."""
    found = _checked(text, held)
    if faults:
        found |= {"faults": [*faults, *found["faults"]] if found["reference"] else faults}
    return render_template("writing/write.html", text=text, held=held, unkept=unkept, **found)


def _checked(text: str, held: Mapping[str, str]) -> dict[str, Any]:
    shelf = settings().shelf
    found: Reference | None = None
    faults: Sequence[Located] = ()
    try:
        found = desk.read_text(shelf, text, desk.held(shelf, held.items()))
    except ReferenceFaultsError as error:
        faults = located(text, error.faults)
    return {
        "reference": found,
        "chart": reference_lifelines(found) if found else None,
        "faults": faults,
        "most": _MOST_TOLD,
        "pictures": tuple(_pictures(found, held)),
    }


def _pictures(found: Reference | None, held: Mapping[str, str]) -> Iterator[_Picture]:
    """Yield the pictures that came, and those of the edition that is here, with whose they are."""
    users = _users(found) if found else None
    for name, digest in held.items():
        source = url_for("writing.picture", digest=digest, kind=name.rpartition(".")[2])
        yield _Picture(name, source, users.get(name, ()) if users is not None else None)
    here = settings().shelf.current.get(found.id) if found else None
    for name, of in (users or {}).items():
        if here and name not in held:
            source = url_for("references.picture", prefix=here.hash[:16], name=name)
            yield _Picture(name, source, of)


def _users(reference: Reference) -> dict[str, tuple[str, ...]]:
    """Return the variants that show each picture, in words."""
    found: dict[str, tuple[str, ...]] = {}
    for point in reference.points:
        for variant in point.seen:
            if variant.picture:
                words = f"{point.name or point.ask}: {variant.label}"
                found[variant.picture] = (*found.get(variant.picture, ()), words)
    return found
