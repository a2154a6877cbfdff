"""Make a card of an inspection, and what its issuer does with it afterwards."""

from typing import Any, Final
from uuid import UUID

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.card import MARK_KINDS, MARK_PLACES, digits
from quickcheck.errors import AnswerError, CardError, ConflictError, Fault, ReadingError
from quickcheck.readings import parse_quantity
from quickcheck.store import Saved
from quickcheck.web import kiosk_cards
from quickcheck.web.context import inspection_id, settings
from quickcheck.web.words import INTEREST_WORDS

pages = Blueprint("making", __name__)

Reply = str | Response | tuple[str, int]
_MARKS: Final = 2

LEAVE: Final = Fault(
    "the owner’s leave",
    "the tick that the owner agrees to a public page",
    "none",
    "Ask the owner. Without it the inspection stays in the book, and there is no card.",
)
_INTEREST: Final = Fault(
    "the issuer’s interest", "one of the three lines", "none", "Say what the issuer has to gain."
)


def _typed_marks() -> list[dict[str, str]]:
    columns = [request.form.getlist(f"mark-{part}")[:_MARKS] for part in ("place", "kind", "mm")]
    rows = zip(*(column + [""] * (_MARKS - len(column)) for column in columns), strict=True)
    return [dict(zip(("place", "kind", "mm"), row, strict=True)) for row in rows]


def _mark(number: int, typed: dict[str, str]) -> dict[str, Any] | None:
    """Return one mark as documents hold it, None if nothing was filled in."""
    if not any(typed.values()):
        return None
    if not (typed["place"] and typed["kind"]):
        raise AnswerError.of(
            f"mark {number}",
            expected="where it is and what it is",
            came="one of the two",
            remedy="Choose both, or neither.",
        )
    size = parse_quantity(typed["mm"], "mm").to("mm") if typed["mm"].strip() else 0.0
    return {"place": typed["place"], "kind": typed["kind"], "mm": size}


def _stored_marks(document: dict[str, Any]) -> list[dict[str, Any]]:
    empty: dict[str, Any] = {"place": "", "kind": "", "mm": ""}
    return [*document.get("marks", ())[:_MARKS], empty, empty][:_MARKS]


@pages.route("/inspect/<inspection>/card", methods=["GET", "POST"])
def make(inspection: str) -> Reply:
    """Ask for the owner's leave, the issuer's interest and two marks; make the card."""
    found = settings()
    saved = found.store.book.get(inspection_id(inspection))
    faults: tuple[Fault, ...] = ()
    if request.method == "POST":
        try:
            data = _made(saved)
        except (AnswerError, CardError, ConflictError, ReadingError) as error:
            faults = error.faults
        else:
            return redirect(url_for("cards.show", text=kiosk_cards.named(digits(data))), code=303)
    page = render_template(
        "cards/make.html",
        saved=saved,
        judged=desk.judge_saved(found.store, saved),
        issuer=desk.issuer_here(found.store, found.keys),
        faults=faults,
        places=MARK_PLACES,
        kinds=MARK_KINDS,
        marks=_typed_marks() if request.form else _stored_marks(saved.document),
        interest=request.form.get("interest", ""),
        leave=request.form.get("leave"),
        instead_of=request.values.get("instead-of", ""),
    )
    return page, (422 if faults else 200)


def _made(saved: Saved) -> bytes:
    """Check what was filled in, issue the card, and only then keep the marks."""
    found = settings()
    interest = request.form.get("interest", "")
    missing = [LEAVE] if request.form.get("leave") != "y" else []
    missing += [_INTEREST] if interest not in INTEREST_WORDS else []
    if missing:
        raise AnswerError(*missing)
    marks = [_mark(number, typed) for number, typed in enumerate(_typed_marks(), 1)]
    claim = {"marks": [mark for mark in marks if mark]}
    reference = found.store.library.get(saved.reference_hash)
    judged = desk.judge_sheet(reference, {**saved.document, **claim})
    data = _issued(saved.id, judged, interest)
    desk.amend_claim(found.store, saved, claim, now=found.now())
    return data


def _issued(inspection: UUID, judged: desk.Judged, interest: str) -> bytes:
    found = settings()
    card = desk.make_card(judged, interest=interest, now=found.now())
    instead_of = request.form.get("instead-of", "")
    if not instead_of:
        signer = desk.signer_here(found.store, found.keys)
        return desk.issue_card(found.store, signer, card, inspection=inspection)
    needed = desk.signer_needed(found.store, found.keys)
    return desk.correct_card(
        found.store, needed, card, inspection=inspection, instead_of=instead_of
    )


@pages.get("/inspect/<inspection>/cards")
def index(inspection: str) -> Reply:
    """List the cards that were issued of an inspection, with what can be done about each."""
    store = settings().store
    saved = store.book.get(inspection_id(inspection))
    cards = desk.cards_of(store, saved.id)
    return render_template("cards/issued.html", saved=saved, cards=cards)


@pages.post("/inspect/<inspection>/cards/withdraw")
def withdraw(inspection: str) -> Reply:
    """Take a card back, for good."""
    found = settings()
    saved = found.store.book.get(inspection_id(inspection))
    card = request.form.get("card", "")
    desk.withdraw_card(found.store, card, inspection=saved.id, now=found.now())
    return redirect(url_for("making.index", inspection=saved.id), code=303)
