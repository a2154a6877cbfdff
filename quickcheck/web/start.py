"""Start or resume: choose a reference, say what is claimed, begin."""

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import AnswerError
from quickcheck.reference import Reference
from quickcheck.web.context import settings
from quickcheck.web.forms import ClaimForm

pages = Blueprint("start", __name__)
_RECENT = 5

Reply = str | Response | tuple[str, int]


@pages.get("/")
def home() -> Reply:
    """Show the references to choose from, the claim to fill in for one, and what can be resumed."""
    found = settings()
    own = [each.id for each in found.shelf.listed if each.id not in found.shelf.general]
    chosen = request.args.get("reference", "") or (own[0] if len(own) == 1 else "")
    if chosen:
        return _claim(found.shelf.get(chosen))
    return render_template(
        "start/home.html",
        references=found.shelf.listed,
        general=found.shelf.general,
        faulty=found.shelf.faulty,
        recent=found.store.book.list(_RECENT),
    )


def _claim(reference: Reference) -> str:
    """Return the claim to fill in, and beside it the references for what this one does not fit."""
    shelf = settings().shelf
    beside = [each for each in shelf.listed if each.id in shelf.general and each.id != reference.id]
    form = ClaimForm(reference)
    return render_template("start/claim.html", form=form, reference=reference, beside=beside)


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
