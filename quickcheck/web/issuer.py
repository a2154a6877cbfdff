"""What the issuer publishes: the public keys, and the cards that were taken back."""

from flask import Blueprint, Response, jsonify, render_template

from quickcheck import desk
from quickcheck.card import fingerprint
from quickcheck.card.key_list import keys_json
from quickcheck.web.context import settings

pages = Blueprint("issuer", __name__)


@pages.get("/keys")
def keys() -> str:
    """Show every key that was ever in use here, with its fingerprint, state and dates."""
    known = settings().store.keys.list()
    return render_template("issuer/keys.html", keys=known, fingerprint=fingerprint)


@pages.get("/keys.json")
def keys_as_json() -> Response:
    """Give the keys as `card verify --keys` reads them."""
    return jsonify(keys_json(settings().store.keys.list()))


@pages.get("/recalls")
def recalls() -> str:
    """Show which cards were withdrawn or corrected, and which keys were revoked."""
    found = settings()
    issuer = desk.issuer_here(found.store, found.keys)
    listed = found.store.cards.recall_list(found.now())
    return render_template("issuer/recalls.html", listed=listed, issuer=issuer)


@pages.get("/recalls.json")
def recalls_as_json() -> Response:
    """Give the signed list of this moment; NotFoundError where no key is in use to sign it."""
    found = settings()
    signer = desk.signer_needed(found.store, found.keys)
    text = desk.signed_recalls(found.store, signer, found.now())
    return Response(text, mimetype="application/json")
