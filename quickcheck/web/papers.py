"""Papers of an inspection: the months that they give, and where these are known from."""

from collections.abc import Mapping, Sequence

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import AnswerError, Fault
from quickcheck.readings import month_text
from quickcheck.store import Papers
from quickcheck.web.context import inspection_id, settings
from quickcheck.web.words import PAPER_WORDS

pages = Blueprint("papers", __name__, url_prefix="/inspect/<inspection>/papers")

Reply = str | Response | tuple[str, int]


@pages.get("")
def show(inspection: str) -> Reply:
    """Show what was said of the papers, and ask for it."""
    return _page(inspection)


def _page(
    inspection: str, typed: Mapping[str, str] | None = None, faults: Sequence[Fault] = ()
) -> str:
    store = settings().store
    saved = store.book.get(inspection_id(inspection))
    words = store.documented.history(saved.id)
    standing = words[-1] if words else None
    return render_template(
        "papers/papers.html",
        saved=saved,
        reference=store.library.get(saved.reference_hash),
        history=words[::-1],
        papers=standing.papers if standing else None,
        undoable=standing is not None and standing.back is not None,
        typed=typed or _fields(standing.papers if standing else None),
        kinds=PAPER_WORDS,
        faults=faults,
    )


def _fields(papers: Papers | None) -> Mapping[str, str]:
    """Return papers as the form's fields hold them."""
    if papers is None:
        return {}
    return {
        "kind": papers.kind.value,
        "first": month_text(papers.first),
        "last": "" if papers.last == papers.first else month_text(papers.last),
        "doubt": "" if papers.doubt is None else f"{papers.doubt:g}",
        "note": papers.note,
    }


@pages.post("")
def say(inspection: str) -> Reply:
    """Mark the inspection as documented."""
    found = settings()
    saved = found.store.book.get(inspection_id(inspection))
    try:
        desk.say_papers(found.store, saved, request.form, now=found.now())
    except AnswerError as error:
        return _page(inspection, request.form, error.faults), 422
    return _back(inspection)


@pages.post("/withdraw")
def withdraw(inspection: str) -> Reply:
    """Let the papers count no more."""
    found = settings()
    found.store.documented.say(inspection_id(inspection), None, now=found.now())
    return _back(inspection)


@pages.post("/undo")
def undo(inspection: str) -> Reply:
    """Take the last word about the papers back."""
    found = settings()
    found.store.documented.undo(inspection_id(inspection), now=found.now())
    return _back(inspection)


def _back(inspection: str) -> Response:
    return redirect(url_for("papers.show", inspection=inspection), code=303)
