"""The inspection: one point a screen, an answer at a time, the verdict beside it."""

import re
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Final

from flask import Blueprint, make_response, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.errors import AnswerError, Fault, NotFoundError, ReadingError, shown
from quickcheck.reference import Place, Point, Reference
from quickcheck.store import Saved
from quickcheck.web import photos
from quickcheck.web.answers import Fields, answer_of, fields_of
from quickcheck.web.context import VEIL, inspection_id, is_htmx, settings
from quickcheck.web.forms import ClaimForm, claim_data
from quickcheck.web.lifelines import lifelines
from quickcheck.web.walk import Walk

pages = Blueprint("inspect", __name__)
_OWN_PATH: Final = re.compile(
    r"/(?:[\w?=&.%-][\w/?=&.%-]*)?", re.ASCII
)  # never "//", nothing unseen

Reply = str | Response | tuple[str, int]


@dataclass(frozen=True)
class Attempt:
    """What was typed at a point and could not be taken, with the reason."""

    point: str = ""
    fields: Fields = field(default_factory=MultiDict)
    faults: tuple[Fault, ...] = ()


_NOTHING = Attempt()


Found = tuple[Saved, desk.Judged, Walk]


def _found(inspection: str) -> Found:
    store = settings().store
    return _judged(store.book.get(inspection_id(inspection)))


def _judged(saved: Saved) -> Found:
    judged = desk.judge_saved(settings().store, saved)
    return saved, judged, Walk.over(judged.reference, saved.document)


def _point(reference: Reference, point_id: str) -> Point:
    try:
        return reference.by_id[point_id]
    except KeyError:
        raise NotFoundError.of(
            "point",
            expected=f"a point of {reference.title}",
            came=shown(point_id),
            remedy="Go back to the inspection and choose it there.",
        ) from None


def _page(found: Found, at: str | None, attempt: Attempt = _NOTHING) -> str:
    saved, judged, walk = found
    filled = {
        stop.point.id: fields_of(stop.point, stop.answer or {}) for stop in walk.stops
    }  # fmt: skip
    if attempt.point:
        filled[attempt.point] = attempt.fields
    place = request.args.get("place", "")
    return render_template(
        "inspect/inspection.html",
        saved=saved,
        judged=judged,
        walk=walk,
        at=at,
        place=Place(place) if place in set(Place) else None,
        filled=filled,
        attempt=attempt,
        undecided=saved.id in settings().store.book.undecided(),
        photos=photos.by_point(settings().store, saved),
    )


@pages.get("/inspect/<inspection>")
def show(inspection: str) -> Reply:
    """Show the outline and the points, or one point (``?at=``)."""
    found = _found(inspection)
    at = request.args.get("at")
    return _page(found, _point(found[1].reference, at).id if at else None)


@pages.post("/inspect/<inspection>/answer")
def answer(inspection: str) -> Reply:
    """Take one point's answer; reply with the changed parts, or go on to the next point."""
    store, now = settings().store, settings().now()
    number = inspection_id(inspection)
    reference = store.library.get(store.book.edition_of(number))
    point = _point(reference, request.form.get("_point", ""))
    go = request.form.get("_go", "")
    try:
        given = None if go == "clear" else answer_of(point, request.form)
        saved = desk.record(store, number, point, answer=given, now=now)
    except (ReadingError, AnswerError) as error:
        return _refused(inspection, Attempt(point.id, request.form, error.faults))
    if is_htmx():
        return _parts(saved)
    return redirect(_onward(saved, point, go), code=303)


def _refused(inspection: str, attempt: Attempt) -> Reply:
    if is_htmx():
        return render_template("inspect/_fault.html", attempt=attempt), 422
    return _page(_found(inspection), attempt.point, attempt), 422


def _parts(now: Saved) -> str:
    saved, judged, walk = _judged(now)
    return render_template("inspect/_parts.html", saved=saved, judged=judged, walk=walk)


def _onward(saved: Saved, point: Point, go: str) -> str:
    """Return where the button that was pressed leads."""
    walk = Walk.over(settings().store.library.get(saved.reference_hash), saved.document)
    page = partial(url_for, "inspect.show", inspection=saved.id)
    if go == "next":
        stop = walk.after(point.id)
        return page(at=stop.point.id) if stop else url_for("inspect.verdict", inspection=saved.id)
    if go == "back":
        stop = walk.before(point.id)
        return page(at=stop.point.id) if stop else page()
    return page() if go == "places" else page(at=point.id)


@pages.post("/inspect/<inspection>/undo")
def undo(inspection: str) -> Reply:
    """Take the last change back and show the point that it was about."""
    _, point = desk.undo(settings().store, inspection_id(inspection), settings().now())
    return redirect(url_for("inspect.show", inspection=inspection, at=point), code=303)


@pages.post("/veil")
def veil() -> Reply:
    """Hide the verdict from the owner's eyes, or show it again."""
    back = request.form.get("back", "/")
    here = back if _OWN_PATH.fullmatch(back) else "/"
    response = make_response(redirect(here, code=303))
    value = request.form.get("veil", "0")
    response.set_cookie(VEIL, value, secure=request.is_secure, httponly=False, samesite="Strict")
    return response


@pages.route("/inspect/<inspection>/claim", methods=["GET", "POST"])
def claim(inspection: str) -> Reply:
    """Change what was claimed, allowed or admitted."""
    found = settings()
    saved = found.store.book.get(inspection_id(inspection))
    reference = found.store.library.get(saved.reference_hash)
    if request.method != "POST":
        form = ClaimForm(reference, claim_data(saved.document))
        return render_template("start/claim.html", form=form, reference=reference, saved=saved)
    form = ClaimForm(reference, request.form)
    faults: tuple[Fault, ...] = ()
    if form.validate():
        try:
            desk.amend_claim(found.store, saved, form.document(), now=found.now())
        except AnswerError as error:
            faults = error.faults
        else:
            return redirect(url_for("inspect.show", inspection=inspection), code=303)
    page = render_template(
        "start/claim.html", form=form, reference=reference, saved=saved, faults=faults
    )
    return page, 422


@pages.get("/inspect/<inspection>/verdict")
def verdict(inspection: str) -> Reply:
    """Show the verdict whole: the sentence, the lifelines, what was found and what was not seen."""
    saved, judged, walk = _found(inspection)
    cards = settings().store.cards.counts([saved.id]).get(saved.id, 0)
    context: dict[str, Any] = {"saved": saved, "judged": judged, "walk": walk, "cards": cards}
    return render_template("verdict/verdict.html", **context, chart=lifelines(judged))
