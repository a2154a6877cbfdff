"""Start or resume: choose a reference, say what is claimed, begin."""

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import AnswerError
from quickcheck.web.context import settings
from quickcheck.web.forms import ClaimForm

pages = Blueprint("start", __name__)
_RECENT = 5

Reply = str | Response | tuple[str, int]


@pages.get("/")
def home() -> Reply:
    """Show the references to choose from, the claim to fill in for one, and what can be resumed."""
    found = settings()
    chosen = request.args.get("reference", "")
    if not chosen and len(found.shelf.current) == 1 and not found.shelf.general:
        chosen = next(iter(found.shelf.current))
    if chosen:
        reference = found.shelf.get(chosen)
        return render_template("start/claim.html", form=ClaimForm(reference), reference=reference)
    return render_template(
        "start/home.html",
        references=found.shelf.listed,
        general=found.shelf.general,
        faulty=found.shelf.faulty,
        recent=found.store.book.list(_RECENT),
    )


@pages.post("/")
def begin() -> Reply:
    """Open an inspection with the claim that was filled in."""
    found = settings()
    reference = found.shelf.get(request.form.get("reference", ""))
    form = ClaimForm(reference, request.form)
    faults: tuple[object, ...] = ()
    if form.validate():
        try:
            document = form.document() | {"answers": {}}
            saved = desk.open_inspection(found.store, reference, document, now=found.now())
        except AnswerError as error:
            faults = error.faults
        else:
            return redirect(url_for("inspect.show", inspection=saved.id), code=303)
    page = render_template("start/claim.html", form=form, reference=reference, faults=faults)
    return page, 422
