"""What a buyer opens: a card's page, the same for printing, its picture.

Everything on it comes from the code, the edition and what is known of its seal. It needs no script,
and makes nobody a device.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final
from urllib.parse import urlsplit
from uuid import UUID

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from quickcheck import desk
from quickcheck.card import (
    MODULE_MM,
    QUIET,
    SealState,
    card_url,
    digits,
    fingerprint,
    seal_words,
    svg_path,
    symbol,
)
from quickcheck.errors import Fault
from quickcheck.reference import Kind
from quickcheck.web import devices, kiosk_cards
from quickcheck.web.card_picture import draw
from quickcheck.web.context import settings
from quickcheck.web.lifelines import answer_words
from quickcheck.web.making import LEAVE

pages = Blueprint("cards", __name__)
_MOST_DATES: Final = 12  # of other cards for the serial, told one by one


@dataclass(frozen=True, slots=True)
class Paper:
    """A small size that a card is printed on, in millimetres."""

    words: str
    width: float
    height: float


PAPERS: Final = {
    "card": Paper("Credit card", 85.6, 54.0),  # ISO/IEC 7810, ID-1
    "a6": Paper("A6", 105.0, 148.0),  # ISO 216
    "label": Paper("Label of 62 mm", 62.0, 140.0),
}


def _render(shown: desk.ShownCard, template: str, **more: Any) -> str:
    found = settings()
    drawn = symbol(card_url(found.base_url, shown.data))
    return render_template(
        template,
        shown=shown,
        front=shown.front,
        judged=shown.judged,
        state=shown.seal.state,
        stands=shown.seal.stands,
        key=shown.seal.key,
        seal_words=seal_words(shown.seal),
        fingerprint=fingerprint,
        unsealed=shown.seal.state is SealState.UNSEALED,
        symbol=drawn,
        module=MODULE_MM,
        side=(drawn.size + 2 * QUIET) * MODULE_MM,
        path=svg_path(drawn),
        domain=urlsplit(found.base_url).netloc,
        text=kiosk_cards.named(digits(shown.data)),
        answer_words=answer_words,
        finish=_finish(shown.judged),
        **more,
    )


def _page(shown: desk.ShownCard, *, faults: Sequence[Fault] = (), paper: bool = False) -> str:
    reads = devices.known()  # a station goes on to the next card, a buyer does not
    more = {
        "most_dates": _MOST_DATES,
        "issuer": _who_may_seal(shown) if devices.vouches() else "",
        "reads": reads,
        "inspection": _made_from(shown) if reads else None,
        "papers": PAPERS,
    }
    return _render(shown, "cards/card.html", faults=faults, paper=paper, **more)


def _made_from(shown: desk.ShownCard) -> UUID | None:
    """Return the inspection that a card of this book was made from."""
    card = shown.seal.card
    return settings().store.cards.inspection_of(card) if card else None


def _who_may_seal(shown: desk.ShownCard) -> str:
    """Return in whose name a device of the book may have this card sealed; "" where that can't be."""
    if shown.seal.state is not SealState.UNSEALED:
        return ""
    found = settings()
    return desk.issuer_here(found.store, found.keys)


def _finish(judged: desk.Judged | None) -> str:
    """Return what was seen of the finish, which a buyer can match at a glance."""
    if judged is None:
        return ""
    answers = judged.sheet.answers
    return ", ".join(
        answer_words(point, answers[point.id])
        for point in judged.reference.points
        if point.area == "finish"
        and point.kind is Kind.PICK
        and point.id in answers
        and answers[point.id].seen
    )


def _read(text: str) -> desk.ShownCard:
    return desk.read_card(settings().store, kiosk_cards.digits_of(text))


@pages.get("/c/<text>")
def show(text: str) -> str:
    """Show a card."""
    return _page(_read(text))


@pages.get("/c/<text>/print")
def paper(text: str) -> str:
    """Show the same in black on white."""
    return _page(_read(text), paper=True)


@pages.get("/c/<text>/print/<size>")
def face(text: str, size: str) -> str:
    """Show the card on a small size of paper, as large as it will be."""
    paper, shown = PAPERS.get(size), _read(text)
    if paper is None or shown.front is None:
        abort(404, "There is no such size, or nothing of this card is repeated.")
    return _render(shown, "cards/face.html", paper=paper, size=size, papers=PAPERS)


@pages.get("/c/<text>/card.png")
def picture(text: str) -> Response:
    """Draw the card as a picture that can be passed on."""
    shown = _read(text)
    if shown.front is None:
        abort(404, "There is no picture of a card whose text may be somebody else’s.")
    url = card_url(settings().base_url, shown.data)
    buffer = BytesIO()
    draw(shown, url).save(buffer, "PNG", optimize=True)
    return Response(buffer.getvalue(), mimetype="image/png")


@pages.post("/c/<text>/seal")
def seal(text: str) -> str | AnyResponse | tuple[str, int]:
    """Judge an unsealed card again and seal what comes of it."""
    if not devices.vouches():
        abort(403, "Only a device of the book may have a card sealed.")
    found = settings()
    if request.form.get("leave") != "y":
        return _page(_read(text), faults=(LEAVE,)), 422
    signer = desk.signer_needed(found.store, found.keys)
    data = desk.seal_again(found.store, signer, text, now=found.now())
    return redirect(url_for("cards.show", text=digits(data)), code=303)


@pages.after_request
def keep_out_of_searches(response: Any) -> Any:
    """Ask search engines to pass by, pictures as well."""
    response.headers["X-Robots-Tag"] = "noindex"
    return response
