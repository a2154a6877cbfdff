"""From one person at a kiosk to the next: what is done at the server."""

from flask import (
    Blueprint,
    Response,
    abort,
    jsonify,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)

from quickcheck import desk
from quickcheck.errors import ConflictError
from quickcheck.store import Saved
from quickcheck.web import devices, turns
from quickcheck.web.context import everything, settings, who

pages = Blueprint("handover", __name__)
_MOST = 50  # inspections of one visit


def _unfinished() -> tuple[Saved, ...]:
    """Return the inspections of this visit of which no card was sealed; of an organizer's, none.

    Unlocked, one sees everybody's, and what was put aside comes in as if it were of this visit.
    """
    if who().unlocked:
        return ()
    store = settings().store
    found = store.book.list(_MOST)
    counts = store.cards.counts(saved.id for saved in found)
    return tuple(saved for saved in found if not counts.get(saved.id))


def _is_asked_by_script() -> bool:
    return bool(request.accept_mimetypes.best == "application/json")


@pages.post("/hand-over")
def hand_over() -> Response:
    """End the visit and begin the next; ask first what to do with what is unfinished.

    ``keep`` is "y" or "n"; a script gets ``{"visit": mark}``, or ``{"ask": true}``.
    """
    if not turns.mark():
        abort(404)
    keep, left = request.form.get("keep", ""), _unfinished()
    if left and keep not in {"y", "n"}:
        asks = jsonify({"ask": True})
        if _is_asked_by_script():
            return asks
        turns.stay(inspecting=False)
        return make_response(render_template("handover/ask.html"))
    if keep == "n":
        for saved in left:
            desk.discard(settings().store, saved.id, now=settings().now())
    _begin_next()
    following = redirect(url_for("start.home"), code=303)
    asked = _is_asked_by_script()
    response = jsonify({"visit": turns.mark()}) if asked else make_response(following)
    # Not "storage": what could not be sent is there, and the next page puts it aside.
    response.headers["Clear-Site-Data"] = '"cache"'
    turns.forget(response)
    return response


def _begin_next() -> None:
    found, device = everything(), who().device
    if device is None:
        abort(404)
    devices.let_in(found.store.access.hand_over(device, found.now()))
    turns.begin()


@pages.post("/hand-over/here")
def here() -> tuple[str, int]:
    """Note that somebody is there; ConflictError where the visit was left alone for too long."""
    if not turns.mark():
        abort(404)
    if not turns.stay(inspecting=request.form.get("inspecting") == "y"):
        raise ConflictError.of(
            "visit",
            expected="one in which somebody was there of late",
            came="one that was left alone",
            remedy="Open the start page.",
        )
    return "", 204
