"""Whatever a request says of where it is going, codes lead to the address that was set up."""

from dataclasses import replace
from pathlib import Path

import pytest

from quickcheck.desk import Doors, Lan, Proxy, Tls
from quickcheck.web.context import Settings
from quickcheck.web.guard import HTTPS_ONLY
from tests.web.kit import Site
from tests.web.test_card import make

BASE = "https://cards.example"
EVIL = "evil.example"
HOSTS = [
    EVIL,
    f"{EVIL}:443",
    f"cards.example.{EVIL}",
    f"{EVIL}/cards.example",
    f"cards.example@{EVIL}",
    f"cards.example, {EVIL}",
    f"localhost.{EVIL}",
    f"xcards.example.{EVIL}",
]
HEADERS = [
    {"X-Forwarded-Host": EVIL},
    {"Forwarded": f"host={EVIL};proto=https"},
    {"X-Original-URL": f"https://{EVIL}/", "X-Rewrite-URL": f"https://{EVIL}/"},
    {"X-Forwarded-Server": EVIL, "X-HTTP-Host-Override": EVIL, "X-Host": EVIL},
]


@pytest.fixture(name="shown")
def _shown(site: Site) -> tuple[Site, str]:
    """Return a site that was set up for an address, and the path of a card on it."""
    found = site.app.extensions["quickcheck"]
    assert isinstance(found, Settings)
    hosts = Doors(proxy=Proxy(1), base_url=BASE).hosts
    site.app.extensions["quickcheck"] = replace(found, base_url=BASE, hosts=hosts)
    site.app.config["TRUSTED_HOSTS"] = list(hosts)
    return site, f"/c/{make(site)}"


def test_hostile_hosts(shown: tuple[Site, str]) -> None:
    """Eight names that are not ours get nothing, whatever they look like."""
    site, path = shown
    for host in HOSTS:
        got = site.client.get(path, base_url="https://cards.example", headers={"Host": host})
        assert got.status_code == 400, host
        assert f"//{EVIL}" not in got.text
        assert "Strict-Transport-Security" in got.headers, host


def test_hostile_headers(shown: tuple[Site, str]) -> None:
    """Four ways to name another server change not a byte of a card, its code and its links."""
    site, path = shown
    plain = site.client.get(path, base_url=BASE)
    assert "cards.example" in plain.text
    for headers in HEADERS:
        got = site.client.get(path, base_url=BASE, headers=headers)
        assert (got.status_code, got.text) == (200, plain.text)
        assert EVIL not in str(got.headers)


@pytest.mark.parametrize(
    ("base_url", "is_told"),
    [
        (BASE, True),
        ("http://cards.example", False),
        ("https://localhost:8443", False),
        ("https://127.0.0.1:8443", False),
    ],
)
def test_https_only(shown: tuple[Site, str], base_url: str, is_told: bool) -> None:
    """A browser is told to come by https alone where it did, and never to this very machine."""
    site, path = shown
    for each in (path, "/nowhere"):
        headers = site.client.get(each, base_url=base_url).headers
        assert headers.get("Strict-Transport-Security") == (HTTPS_ONLY if is_told else None)


def test_hosts_of_doors() -> None:
    """A server answers to the names it was given: base URL, certificate, address; IPv6 in brackets."""
    files = ("server.crt", "server.key")
    tls = Tls(*map(Path, files), ("laptop.local", "*.show.example", "fd00::5"))
    doors = Doors(lan=Lan("192.168.1.20", 8443, tls), base_url="https://Cards.example")
    assert doors.hosts[2:] == (
        "cards.example",
        "192.168.1.20",
        "laptop.local",
        ".show.example",
        "[fd00::5]",
    )
    assert doors.lan
    assert doors.lan.urls == ("https://laptop.local:8443", "https://[fd00::5]:8443")
    assert Doors(lan=Lan("192.168.1.20", 8080)).home == "http://192.168.1.20:8080"
    assert Doors().hosts == ("localhost", "127.0.0.1")


def test_tls_ends_once() -> None:
    """A door with TLS of its own and a proxy that ends TLS are not opened together."""
    tls = Tls(*map(Path, ("a", "b")), ("laptop.local",))
    with pytest.raises(ValueError, match="not at both"):
        Doors(lan=Lan("192.168.1.20", 8443, tls), proxy=Proxy(1))
