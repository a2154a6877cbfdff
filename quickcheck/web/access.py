"""Who may enter where: one table of all endpoints. What is not in it, nobody enters.

It holds where an organizer's secret was set. Before that the book is open: one person's, on one
machine. Whose inspections somebody sees, the store's scope says (`context.settings`).
"""

import logging
from collections.abc import Callable, Mapping
from contextlib import suppress
from enum import IntEnum
from typing import Final

from flask import Flask, Response, abort, make_response, render_template, request

from quickcheck.errors import Fault, StoreError
from quickcheck.store import Role
from quickcheck.web.context import has_organizer, who
from quickcheck.web.errors import as_json

_log = logging.getLogger(__name__)


class Level(IntEnum):
    """What somebody must be, each more than the one before."""

    ANYBODY = 0  # buyers, and phones that are not paired yet
    DEVICE = 1  # whatever was paired, kiosks too
    DEALER = 2  # a dealer's phone or a station of the organizer's
    ORGANIZER = 3  # unlocked by the passphrase, or by the PIN at a station


def _all(level: Level, names: str) -> dict[str, Level]:
    return dict.fromkeys(names.split(), level)


ENTRANCES: Final[Mapping[str, Level]] = {
    **_all(Level.ANYBODY, "asset offline.worker offline.manifest offline.device_pack"),
    **_all(
        Level.ANYBODY, "offline.start offline.book offline.missing offline.read offline.later_pack"
    ),
    **_all(Level.ANYBODY, "cards.show cards.paper cards.face cards.picture"),
    **_all(Level.ANYBODY, "issuer.keys issuer.keys_as_json issuer.recalls issuer.recalls_as_json"),
    **_all(Level.ANYBODY, "pairing.ask pairing.confirm pairing.pair"),
    **_all(Level.ANYBODY, "organizer.show organizer.unlock health.show stations.live"),
    **_all(Level.DEVICE, "start.home start.begin reading.show"),
    **_all(Level.DEVICE, "inspect.show inspect.answer inspect.undo inspect.veil inspect.claim"),
    **_all(Level.DEVICE, "inspect.verdict making.make making.index making.withdraw"),
    **_all(Level.DEVICE, "versions.show versions.bring_back versions.photo"),
    **_all(Level.DEVICE, "api.epoch api.get api.put api.put_photo api.put_card"),
    **_all(Level.DEVICE, "references.index references.show references.picture references.schema"),
    **_all(Level.DEVICE, "offline.model offline.pack offline.shell_claim offline.shell_inspection"),
    **_all(Level.DEVICE, "handover.hand_over handover.here"),
    **_all(Level.DEVICE, "offline.shell_verdict offline.shell_card organizer.lock"),
    **_all(Level.DEALER, "book.index api.book cards.seal scan.show scan.text scan.picture"),
    **_all(Level.ORGANIZER, "organizer.change devices.index devices.rename devices.revoke"),
    **_all(Level.ORGANIZER, "devices.offer devices.begin_book devices.name_book"),
    **_all(Level.DEALER, "papers.show papers.say papers.withdraw papers.undo"),
    **_all(Level.ORGANIZER, "stations.index stations.finish stations.export"),
    **_all(Level.ORGANIZER, "writing.write writing.begin writing.check writing.keep"),
    **_all(Level.ORGANIZER, "writing.add writing.bring writing.picture"),
    **_all(Level.ORGANIZER, "comparing.show comparing.before_it_is_kept learning.begin"),
    **_all(Level.ORGANIZER, "learning.put learning.show learning.start learning.stop"),
    **_all(Level.ORGANIZER, "learning.download learning.report learning.keep"),
}


def level() -> Level:
    """Return what the sender of this request is."""
    found = who()
    if found.unlocked or not has_organizer():
        return Level.ORGANIZER
    if found.role is None:
        return Level.ANYBODY
    return Level.DEVICE if found.role is Role.KIOSK else Level.DEALER


def is_organizer() -> bool:
    """Whether the sender has the organizer's rights; where there is no organizer, everybody has."""
    return level() is Level.ORGANIZER


def may(endpoint: str) -> bool:
    """Whether the sender may enter there, for templates that offer the way."""
    wanted = ENTRANCES.get(endpoint)
    return not has_organizer() or (wanted is not None and level() >= wanted)


def shows_book() -> bool:
    """Whether a page should offer the way to the book: not at a kiosk, which has none."""
    with suppress(StoreError):  # a page that says so is laid out as well
        return who().role is None or may("book.index")
    return True


def _not_paired() -> Response:
    """Ask for the code; to a device's script say that the same may be sent again after it."""
    fault = Fault(
        "device",
        "one that was paired with a book here",
        "another, or one whose pairing ran out or was revoked",
        "Pair it on the page /pair. What is on it stays there, and is sent then.",
    )
    if request.path.startswith("/api/"):
        response = as_json(401, (fault,), pair="/pair")
    else:
        response = make_response(render_template("access/pair.html", turned_away=True), 401)
    response.headers["WWW-Authenticate"] = 'Code realm="quickcheck"'
    return response


def guarded() -> Response | None:
    """Turn away who may not enter: 401 for who is not known, or as if nothing were there."""
    endpoint = request.endpoint
    if endpoint is None or may(endpoint):
        return None
    device = who().device
    _log.info("%s was turned away at %s", device.id if device else "nobody known", endpoint)
    if endpoint not in ENTRANCES or level() is not Level.ANYBODY:
        abort(404)
    return _not_paired()


def init_app(app: Flask) -> None:
    """Stand before every view."""
    check: Callable[[], Response | None] = guarded
    app.before_request(check)
    app.jinja_env.globals.update(may=may, who=who, shows_book=shows_book)
