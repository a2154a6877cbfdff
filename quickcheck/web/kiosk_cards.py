"""Cards at a kiosk: under an address that means nothing in the next visit.

A card's own address holds the card, and a browser keeps addresses in its history. So a kiosk shows
cards of the present visit only, each under a short name; which card has which name is in a cookie
of the visit, for an unsealed card is kept nowhere else.
"""

from hashlib import sha256
from typing import Final

from flask import Flask, Response, abort, g, request

from quickcheck.web import turns
from quickcheck.web.context import who

_MOST: Final = 8  # cards of one visit, some 250 digits each: a cookie holds 4 kB


def _known() -> list[str]:
    kept = request.cookies.get(turns.cookie_name("cards"), "").split(".")
    return [each for each in kept if each.isascii() and each.isdigit()]


def _name(digits: str) -> str:
    visit = who().visit
    return sha256(f"{visit} {digits}".encode()).hexdigest()[:16] if visit else digits


def named(digits: str) -> str:
    """Return the text under which a card is shown to whoever asks: at a kiosk not its digits."""
    if who().visit is None:
        return digits
    before = [each for each in g.get("cards", _known()) if each != digits]
    g.cards = [*before, digits][-_MOST:]
    return _name(digits)


def digits_of(text: str) -> str:
    """Return the digits of a card that is asked for; at a kiosk, 404 for any but this visit's."""
    if who().visit is None:
        return text
    found = next((digits for digits in _known() if _name(digits) == text), "")
    if not found:
        abort(404, "A kiosk shows the cards that were made in this visit. Open others on a phone.")
    return found


def _keep(response: Response) -> Response:
    if (cards := g.get("cards")) and cards != _known():
        turns.put_cookie(response, "cards", ".".join(cards))
    return response


def init_app(app: Flask) -> None:
    """Keep the names for as long as the visit lasts."""
    app.after_request(_keep)
    app.jinja_env.globals["card_text"] = named
