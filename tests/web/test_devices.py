"""Devices: a cookie with the first page, and what they tell of themselves."""

from datetime import UTC, datetime, timedelta
from http.cookies import SimpleCookie
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from quickcheck.errors import StoreError
from quickcheck.reference import Reference
from quickcheck.web.assets import build_hash
from tests.web import issuing
from tests.web.kit import Site
from tests.web.sending import OUTBOX, send
from tests.web.test_card import make


def fresh(site: Site) -> FlaskClient:
    """Return a browser that was never here."""
    return site.app.test_client()


def test_the_first_page_brings_the_cookie(site: Site) -> None:
    """It is random, kept as a hash, read by no script, sent from no other site, short-lived."""
    client = fresh(site)
    cookie = SimpleCookie(client.get("/book").headers["Set-Cookie"])["device"]
    assert len(cookie.value) >= 43
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/")
    assert (cookie["max-age"], cookie["secure"]) == ("43200", "")
    assert site.store.devices.find(cookie.value)
    assert "Set-Cookie" not in client.get("/").headers


def test_over_https(site: Site) -> None:
    """There it is bound to the host and never sent in the clear."""
    response = fresh(site).get("/book", base_url="https://localhost")
    cookie = SimpleCookie(response.headers["Set-Cookie"])["__Host-device"]
    assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == (True, True, "Lax")
    assert cookie["domain"] == ""


def test_who_is_no_device(site: Site) -> None:
    """A buyer with a card, a script, a picture, an error, and who comes from another site."""
    card = f"/c/{make(site)}"
    for path in (card, "/nowhere", f"/s/{build_hash()}/css/app.css", "/health?json"):
        assert "Set-Cookie" not in fresh(site).get(path).headers, path
    for headers in ({"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Dest": "empty"}):
        assert "Set-Cookie" not in fresh(site).get("/book", headers=headers).headers, headers


def test_a_device_without_a_cookie_can_send(site: Site) -> None:
    """An outbox whose cookie ran out loses nothing: it is welcomed anew with its receipt."""
    assert "device=" in send(site).headers["Set-Cookie"]
    assert site.history(site.store.book.list()[0].id)[0].device == site.store.devices.list()[0].id
    assert "Set-Cookie" not in send(site).headers


def test_a_cookie_of_another_book(site: Site) -> None:
    """A token that was never given out here is none."""
    client = fresh(site)
    client.set_cookie("device", "x" * 43)
    assert "device=" in client.get("/api/epoch").headers["Set-Cookie"]


def test_a_full_disk_keeps_nobody_from_reading(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a device can't be noted the page comes all the same."""

    def full(_: datetime) -> None:
        raise StoreError.of("book", expected="room", came="none", remedy="Make room.")

    monkeypatch.setattr(site.store.devices, "welcome", full)
    response = fresh(site).get("/book")
    assert response.status_code == 200
    assert "Set-Cookie" not in response.headers


@pytest.mark.parametrize("form", ["iso", "no zone", "milliseconds"])
def test_what_it_tells(site: Site, form: str) -> None:
    """How many wait and how wrong its clock is, in any of the forms that a script has at hand."""
    ahead = datetime(2026, 4, 11, 12, 0, tzinfo=UTC) + timedelta(seconds=90)
    clock = {
        "iso": ahead.isoformat().replace("+00:00", "Z"),
        "no zone": ahead.replace(tzinfo=None).isoformat(),
        "milliseconds": str(int(ahead.timestamp() * 1000)),
    }[form]
    site.client.get("/api/epoch", headers={**OUTBOX, "X-Clock": clock, "X-Unsent": "4"})
    (device,) = site.store.devices.list()
    assert device.unsent == 4
    assert device.skew is not None
    assert device.told is not None
    assert abs(device.skew - (ahead - device.told).total_seconds()) < 120


@pytest.mark.parametrize("value", ["", "x", "-1", "1" * 400, "٣", "9999-99-99T00:00"])
def test_nonsense_that_it_tells(site: Site, value: str) -> None:
    """What can't be read is as if it were not said."""
    headers = {"X-Clock": value, "X-Unsent": value}
    environ = {f"HTTP_{k.upper().replace('-', '_')}": v.encode().decode("latin-1")
               for k, v in headers.items()}  # fmt: skip
    assert site.client.get("/api/epoch", environ_overrides=environ).status_code == 200
    (device,) = site.store.devices.list()
    assert (device.unsent, device.skew) == (None, None)


def test_what_a_buyer_opens_makes_nobody_a_device(tmp_path: Path, reference: Reference) -> None:
    """No page of a card, of keys or of recalls brings a cookie, whatever page is added there."""
    with issuing.issuing(tmp_path, reference) as site:
        text = issuing.make(site, issuing.answered(site))
        rules = [
            rule
            for rule in site.app.url_map.iter_rules()
            if rule.endpoint.partition(".")[0] in {"cards", "issuer"} and "GET" in rule.methods
        ]
        assert len(rules) >= 8
        for rule in rules:
            path = rule.rule.replace("<text>", text).replace("<size>", "a6")
            page = site.app.test_client().get(path)
            assert page.status_code == 200, path
            assert "Set-Cookie" not in page.headers, path
        assert "Set-Cookie" in site.app.test_client().get("/book").headers
