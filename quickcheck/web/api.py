"""What devices send and ask for, as JSON: documents, photos, which book this is.

Every reply is JSON, errors too. A document counts as saved only by a reply that says so, and that
is sent only after the commit.
"""

from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, jsonify, request, url_for

from quickcheck import desk
from quickcheck.card import card_url
from quickcheck.errors import Fault, SendingError, shown
from quickcheck.store import Outcome, Saved, Sent, is_hash
from quickcheck.web import devices
from quickcheck.web.context import inspection_id, settings
from quickcheck.web.errors import as_json
from quickcheck.web.messages import read_message, read_seal_message

pages = Blueprint("api", __name__, url_prefix="/api")
_PAGE: Final = 100
_JSON: Final = "application/json"


@pages.before_request
def know_the_device() -> None:
    """Refuse what no outbox of ours sent; note who asks and what it tells of itself."""
    if request.method == "PUT" and request.headers.get("X-Outbox") != "1":
        # A form on another site can't set a header of its own.
        raise SendingError.of(
            "X-Outbox",
            expected="1",
            came=shown(request.headers.get("X-Outbox", "")),
            remedy="Send it by the app. Nothing was kept.",
        )
    if request.method != "HEAD":
        devices.note()


def _standing() -> dict[str, Any]:
    """Return which book this is; a mark that the device saw may bring a new epoch."""
    found = settings()
    now = found.now()
    standing = found.store.server.compare(request.headers.get("X-Mark", ""), now)
    return {"epoch": standing.epoch, "commits": standing.commits, "mark": standing.mark}


def _told(saved: Saved) -> dict[str, Any]:
    return {"uuid": str(saved.id), "revision": saved.revision, "sha256": saved.sha256}


@pages.get("/epoch")
def epoch() -> Response:
    """Say which book this is and what time it is here."""
    return jsonify({**_standing(), "time": settings().now().isoformat()})


@pages.get("/book")
def book() -> Response:
    """List what is here, the last opened first, so that a device can fetch or offer again."""
    before = request.args.get("before")
    found = settings().store.book.list(_PAGE, inspection_id(before) if before else None)
    listed = [
        {
            **_told(saved),
            "reference": saved.reference_hash,
            "name": saved.name,
            "opened": saved.opened.isoformat(),
            "saved": saved.saved.isoformat(),
        }
        for saved in found
    ]
    following = str(found[-1].id) if len(found) == _PAGE else None
    return jsonify({**_standing(), "inspections": listed, "before": following})


@pages.get("/inspections/<inspection>")
def get(inspection: str) -> Response:
    """Give a document back as it stands."""
    store = settings().store
    saved = store.book.get(inspection_id(inspection))
    told = {
        **_told(saved),
        **_standing(),
        "reference": saved.reference_hash,
        "document": saved.document,
        "missing_photos": store.photos.missing(saved.id),
        "two_versions": saved.id in store.book.undecided(),
    }
    return jsonify(told)


@pages.put("/inspections/<inspection>")
def put(inspection: str) -> Response:
    """Take a whole document; the same again gives the same receipt."""
    if request.mimetype != _JSON:
        return _wrong_type(_JSON)
    number = inspection_id(inspection)
    message = read_message(request.get_data())
    sent = Sent(message.document, message.base, message.sent, devices.meet().id)
    found = settings()
    receipt = desk.receive(
        found.store, number, sent, edition_hash=message.edition_hash, now=found.now()
    )
    return _reply(number, receipt)


def _reply(inspection: UUID, receipt: desk.Receipt) -> Response:
    received = receipt.received
    current, saved = received.current, received.saved
    if received.outcome is Outcome.PARKED or current is None:
        return _parked(inspection, receipt)
    if saved is None:
        return _late(current, received.missing)
    told = {
        **_told(saved),
        **_standing(),
        "saved": saved.saved.isoformat(),
        "verdict": receipt.judged.verdict.as_json() if receipt.judged else None,
        "missing": received.missing,
    }
    response = jsonify(told)
    response.status_code = 201 if saved.revision == 1 else 200
    return response


def _late(current: Saved, missing: tuple[str, ...]) -> Response:
    fault = Fault(
        f"inspection {current.id}",
        "a document written on what is there now",
        "one written on something older",
        "Somebody saved in between. Both are kept: open the versions and choose.",
    )
    more = {
        **_told(current),
        **_standing(),
        "error": "conflict",
        "kept": True,
        "versions": url_for("versions.show", inspection=current.id),
        "missing": missing,
    }
    return as_json(409, (fault,), **more)


def _parked(inspection: UUID, receipt: desk.Receipt) -> Response:
    current = receipt.received.current
    more = {
        "uuid": str(inspection),
        "revision": current.revision if current else 0,
        "sha256": current.sha256 if current else None,
        **_standing(),
        "error": receipt.cause,
        "kept": True,
        "versions": url_for("versions.show", inspection=inspection),
        "again": receipt.cause == "edition" and current is None,
    }
    return as_json(424 if receipt.cause == "edition" else 422, receipt.faults, **more)


@pages.put("/inspections/<inspection>/photos/<name>")
def put_photo(inspection: str, name: str) -> Response:
    """Take a photo, named by the hash of its bytes; the same again is no other photo."""
    if not is_hash(name):
        raise SendingError.of(
            "photo",
            expected="the SHA-256 of its bytes, 64 small hex digits",
            came=shown(name),
            remedy="Name it by its hash. Nothing was kept.",
        )
    if request.mimetype == _JSON or request.mimetype.startswith("text/"):
        return _wrong_type("image/jpeg, image/png or image/webp")
    found, number = settings(), inspection_id(inspection)
    content = request.get_data()
    missing = desk.keep_photo(found.store, number, name, content=content, now=found.now())
    return jsonify({"uuid": str(number), "sha256": name, "missing": missing, **_standing()})


@pages.put("/inspections/<inspection>/card")
def put_card(inspection: str) -> Response:
    """Judge the answers of an unsealed card again and seal that; the same again gives the same."""
    if request.mimetype != _JSON:
        return _wrong_type(_JSON)
    found, number = settings(), inspection_id(inspection)
    message = read_seal_message(request.get_data())
    signer = desk.signer_needed(found.store, found.keys)
    data = desk.seal_again(found.store, signer, message.card, now=found.now(), inspection=number)
    told = {
        "uuid": str(number),
        "card": message.card,
        "address": card_url(found.base_url, data),
        "issuer": found.store.keys.get(signer.id).issuer,
    }
    return jsonify(told)


def _wrong_type(expected: str) -> Response:
    fault = Fault("Content-Type", expected, shown(request.mimetype), "Nothing was kept.")
    return as_json(415, (fault,))
