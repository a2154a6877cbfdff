"""Whose turn it is at a kiosk that was just paired, and at one where the organizer is."""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

import pytest
from flask.testing import FlaskClient

from quickcheck.store import THIS_BOOK, Role
from tests.web.kit import HERE, Site

NOW = datetime(2026, 4, 11, 9, tzinfo=UTC)
WORDS = "horse copper lantern sleet"
CLAIM = {"reference": "loom-one", "year": "1953", "part": "early", "access": "open"}
DOCUMENT = {"Sec-Fetch-Dest": "document"}


@pytest.fixture(name="kiosk")
def _kiosk(site: Site) -> FlaskClient:
    """Set the site up, its clock standing, and return a browser that is not paired yet."""
    site.store.access.set_up(WORDS, "480217", NOW)
    settings = site.app.extensions["quickcheck"]
    site.app.extensions["quickcheck"] = replace(settings, now=lambda: NOW)
    return site.app.test_client()


def pair(site: Site, client: FlaskClient, role: Role) -> str:
    """Pair a browser by hand; return the cookies that it was given."""
    code = site.store.access.offer(role, THIS_BOOK, now=NOW)
    reply = client.post("/pair", data={"code": code}, headers=HERE)
    assert reply.status_code == 303
    return " ".join(reply.headers.getlist("Set-Cookie"))


def test_a_turn_begins_with_pairing(site: Site, kiosk: FlaskClient) -> None:
    """Who pairs a kiosk by hand is there already: its page is shown, until the browser ends."""
    assert "turn=" in pair(site, kiosk, Role.KIOSK)
    start = kiosk.get("/", headers=DOCUMENT).text
    assert 'data-visit="' in start
    assert "data-over" not in start
    kiosk.delete_cookie("turn")
    assert 'data-over="1"' in kiosk.get("/", headers=DOCUMENT).text


def test_no_turn_but_at_a_kiosk(site: Site, kiosk: FlaskClient) -> None:
    """A dealer's browser is told of no turn, even where it was a kiosk's until now."""
    assert "turn=" not in pair(site, kiosk, Role.DEALER)
    pair(site, kiosk, Role.KIOSK)
    assert "turn=" not in pair(site, kiosk, Role.DEALER)


def test_an_organizer_discards_nothing(site: Site, kiosk: FlaskClient) -> None:
    """Unlocked at a kiosk one sees everybody's inspections: nothing is asked, and all are kept."""
    pair(site, kiosk, Role.DEALER)
    path = kiosk.post("/", data=CLAIM | {"serial_text": "QX4471"}, headers=HERE).location
    pair(site, kiosk, Role.KIOSK)
    assert kiosk.get(path).status_code == 404
    kiosk.post("/organizer/unlock", data={"passphrase": WORDS}, headers=HERE)
    assert kiosk.get(path).status_code == 200
    script = HERE | {"Accept": "application/json"}
    reply = kiosk.post("/hand-over", data={"keep": "n"}, headers=script)
    assert reply.get_json().keys() == {"visit"}
    saved = site.store.book.get(UUID(path.rpartition("/")[2]))
    assert saved.document["serial_text"] == "QX4471"
    assert kiosk.get(path).status_code == 404
