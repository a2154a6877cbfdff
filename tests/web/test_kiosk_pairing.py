"""A kiosk's browser is paired as it starts; nobody else is by merely opening an address."""

from datetime import UTC, datetime

import pytest
from flask.testing import FlaskClient

from quickcheck.store import Role
from tests.web.kit import Site

NOW = datetime(2026, 4, 11, 9, tzinfo=UTC)
START = {"Sec-Fetch-Site": "none", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}


@pytest.fixture(name="code")
def _code(site: Site) -> str:
    """Set the site up, and return a code for a kiosk, valid by the clock of the site."""
    site.store.access.set_up("horse copper lantern sleet", "480217", NOW)
    now = site.app.extensions["quickcheck"].now()
    book = site.store.access.books()[0].id
    return site.store.access.offer(Role.KIOSK, book, name="Kiosk here", now=now)


def opened(client: FlaskClient, code: str, *, address: str = "127.0.0.1", **headers: str) -> int:
    """Open the address of a code as a browser does that is started with it; return the status."""
    more = {name.replace("_", "-"): value for name, value in headers.items()}
    got = client.get(
        f"/pair/{code}?here", headers=START | more, environ_overrides={"REMOTE_ADDR": address}
    )
    return got.status_code


def test_started_here(site: Site, code: str) -> None:
    """It is let in at once; started again with a fresh code it goes on as what it is."""
    client = site.app.test_client()
    assert client.get("/").status_code == 401
    assert opened(client, code) == 303
    assert client.get("/").status_code == 200
    (device,) = site.store.access.devices()
    assert (device.role, device.name) == (Role.KIOSK, "Kiosk here")
    now = site.app.extensions["quickcheck"].now()
    again = site.store.access.offer(Role.KIOSK, device.book, name="Kiosk here", now=now)
    assert opened(client, again) == 303
    assert len(site.store.access.devices()) == 1


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-origin"},
        {"Sec_Fetch_Mode": "no-cors"},
        {"Sec_Fetch_Dest": "image"},
        {"X_Forwarded_For": "192.0.2.7"},
        {"Forwarded": "for=192.0.2.7"},
        {"address": "192.168.1.30"},
    ],
    ids=str,
)
def test_not_started_here(site: Site, code: str, headers: dict[str, str]) -> None:
    """A link, an embedded picture, a phone, and what was handed on get the button and no more."""
    assert opened(site.app.test_client(), code, **headers) == 200
    assert site.store.access.devices() == ()


def test_without_the_word(site: Site, code: str) -> None:
    """The address as it stands in a symbol asks first, on this machine too."""
    assert site.app.test_client().get(f"/pair/{code}", headers=START).status_code == 200
    assert site.store.access.devices() == ()


def test_used_up(site: Site, code: str) -> None:
    """A code that was used lets no second browser in."""
    assert opened(site.app.test_client(), code) == 303
    assert opened(site.app.test_client(), code) == 404
