"""Through which doors a server is reached: this machine, a local network, a proxy in front of it.

The first is always open. The others are chosen, one at most, by whoever set an organizer's secret.
"""

import ipaddress
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import SplitResult, urlsplit

from quickcheck.errors import SetupError, shown

LOOPBACK: Final = ("localhost", "127.0.0.1")
LOCAL_PORT: Final = 8000


@dataclass(frozen=True, slots=True)
class Tls:
    """The files that make a network door https."""

    certificate: Path  # PEM, the server's own first
    private_key: Path  # PEM
    names: tuple[str, ...]  # what the certificate is for


@dataclass(frozen=True, slots=True)
class Lan:
    """A door to the local network; without ``tls`` everybody in the hall may read along."""

    address: str
    port: int
    tls: Tls | None = None

    @property
    def urls(self) -> tuple[str, ...]:
        """The addresses to type on a phone: by name where there is a certificate for it."""
        scheme, names = ("https", self.tls.names) if self.tls else ("http", ())
        known = [name for name in names if not name.startswith("*.")] or [self.address]
        return tuple(f"{scheme}://{_host(name)}:{self.port}" for name in known)


@dataclass(frozen=True, slots=True)
class Proxy:
    """A proxy that ends TLS in front of this server.

    ``hops`` proxies stand between a browser and us; of what X-Forwarded-For says only the last
    ``hops`` entries are believed, and only when the request comes from ``address``.
    """

    hops: int
    address: str = "127.0.0.1"


@dataclass(frozen=True, slots=True)
class Doors:
    """All doors; ``base_url`` is what codes lead to, "" for the first address of these doors."""

    port: int = LOCAL_PORT
    lan: Lan | None = None
    proxy: Proxy | None = None
    base_url: str = ""

    def __post_init__(self) -> None:
        # A phone's request reaches us from our own relay, as a proxy's would: one of the two.
        if self.proxy and self.lan and self.lan.tls:
            raise ValueError("TLS ends at the proxy or here, not at both")

    @property
    def is_open(self) -> bool:
        """Whether other machines can reach this server."""
        return bool(self.lan or self.proxy)

    @property
    def here(self) -> str:
        """The address on this very machine, where every door leads to the same book."""
        return f"http://localhost:{self.port}"

    @property
    def home(self) -> str:
        """What the code on a card leads to."""
        return self.base_url or (self.lan.urls[0] if self.lan else self.here)

    @property
    def hosts(self) -> tuple[str, ...]:
        """The names that a request may be sent to; any other is refused."""
        named = [_hostname(self.home)]
        if self.lan:
            named += [self.lan.address, *(self.lan.tls.names if self.lan.tls else ())]
        # A certificate's *.show.example is written .show.example there.
        return tuple(
            dict.fromkeys([*LOOPBACK, *(_host(each).lstrip("*") for each in named if each)])
        )


def _host(name: str) -> str:
    """Return a name or an address as it stands in an address: IPv6 in brackets."""
    return f"[{name}]" if ":" in name else name


def _hostname(url: str) -> str:
    return urlsplit(url).hostname or ""


def checked_base_url(text: str) -> str:
    """Return an address that codes may lead to, without a slash at its end; SetupError if it is none."""
    parts = _split(text.strip())
    if parts is None or parts.scheme not in ("http", "https") or not parts.hostname:
        raise _no_base(text, "an address such as https://cards.example")
    if parts.path.strip("/") or parts.query or parts.fragment or parts.username is not None:
        raise _no_base(text, "an address without a path, a name or a question")
    return f"{parts.scheme}://{parts.netloc.lower()}"


def _split(text: str) -> SplitResult | None:
    if not text.isascii() or not text.isprintable() or any(char in text for char in " \"'<>\\"):
        return None
    try:
        parts = urlsplit(text)
        _ = parts.port  # read only here, and refused where it is none
    except ValueError:
        return None
    return parts


def _no_base(text: str, expected: str) -> SetupError:
    return SetupError.of(
        "base URL",
        expected=expected,
        came=shown(text),
        remedy="It stands in every code, so write the address that buyers can open.",
    )


def words_on_base_url(url: str) -> str:
    """Return what whoever names this address should know; "" where nothing is amiss."""
    parts = urlsplit(url)
    if parts.hostname in LOOPBACK:
        return "Codes with this address open on this machine only, not on a buyer's phone."
    words = []
    if parts.scheme == "http":
        words.append(
            "Plain http: everybody in the hall may read along, phones can't work offline there, "
            "and no camera opens on the page."
        )
    if is_private(parts.hostname or ""):
        words.append("Only whoever is on the show's own network can open this address.")
    return " ".join(words)


def is_private(host: str) -> bool:
    """Whether an address is one of a local network, as far as its look tells."""
    try:
        return ipaddress.ip_address(host).is_private
    except ValueError:
        return host.endswith((".local", ".lan", ".internal", ".home.arpa")) or "." not in host
