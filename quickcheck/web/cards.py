"""Cards: make one, and show the page that is rebuilt from a code alone."""

from typing import Any, Final
from urllib.parse import urlsplit

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quickcheck import desk
from quickcheck.card import MARK_KINDS, MARK_PLACES, card_url, data_of, digits, svg_path, symbol
from quickcheck.engine import Mark
from quickcheck.errors import AnswerError, CardError, Fault, ReadingError
from quickcheck.readings import parse_quantity
from quickcheck.web.context import inspection_id, settings
from quickcheck.web.lifelines import answer_words, lifelines
from quickcheck.web.words import INTEREST_WORDS

pages = Blueprint("cards", __name__)

Reply = str | Response | tuple[str, int]
_MARKS: Final = 2


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


_LEAVE = Fault(
    "the owner’s leave",
    "the tick that the owner agrees to a public page",
    "none",
    "Ask the owner. Without it the inspection stays in the book, and there is no card.",
)
_INTEREST = Fault(
    "the issuer’s interest", "one of the three lines", "none", "Say what the issuer has to gain."
)


@pages.route("/inspect/<inspection>/card", methods=["GET", "POST"])
def make(inspection: str) -> Reply:
    """Ask for the owner's leave, the issuer's interest and two marks; make the card."""
    found = settings()
    saved = found.store.book.get(inspection_id(inspection))
    faults: tuple[Fault, ...] = ()
    if request.method == "POST":
        try:
            data = _issue(saved.id)
        except (AnswerError, CardError, ReadingError) as error:
            faults = error.faults
        else:
            return redirect(url_for("cards.show", text=digits(data)), code=303)
    page = render_template(
        "cards/make.html",
        saved=saved,
        judged=desk.judge_saved(found.store, saved),
        faults=faults,
        places=MARK_PLACES,
        kinds=MARK_KINDS,
        marks=_typed_marks() if request.form else _stored_marks(saved.document),
        interest=request.form.get("interest", ""),
        leave=request.form.get("leave"),
    )
    return page, (422 if faults else 200)


def _issue(inspection: Any) -> bytes:
    """Check what was filled in, pack the card, and only then keep the marks."""
    found = settings()
    interest = request.form.get("interest", "")
    missing = [_LEAVE] if request.form.get("leave") != "y" else []
    missing += [_INTEREST] if interest not in INTEREST_WORDS else []
    if missing:
        raise AnswerError(*missing)
    marks = [_mark(number, typed) for number, typed in enumerate(_typed_marks(), 1)]
    claim = {"marks": [mark for mark in marks if mark]}
    saved = found.store.book.get(inspection)
    reference = found.store.library.get(saved.reference_hash)
    judged = desk.judge_sheet(reference, {**saved.document, **claim})
    data = desk.make_card(judged, interest=interest, now=found.now())
    desk.amend_claim(found.store, saved, claim, now=found.now())
    return data


def mark_words(mark: Mark) -> str:
    """Return an identifying mark in words."""
    size = f", {mark.mm:g} mm" if mark.mm else ""
    return f"{MARK_KINDS[mark.kind]}{size}: {MARK_PLACES[mark.place]}"


@pages.get("/c/<text>")
def show(text: str) -> Reply:
    """Show a card; everything on the page comes from the code, the reference and the rules."""
    found = settings()
    read = desk.read_card(found.store, text)
    drawn = symbol(card_url(found.base_url, data_of(text)))
    return render_template(
        "cards/card.html",
        card=read.card.head,
        judged=read.judged,
        chart=lifelines(read.judged),
        symbol=drawn,
        path=svg_path(drawn),
        domain=urlsplit(found.base_url).netloc,
        mark_words=mark_words,
        answer_words=answer_words,
    )
