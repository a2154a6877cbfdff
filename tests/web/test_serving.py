"""The doors: TLS for phones, slow phones beside others, what is believed of a proxy."""

import socket
import ssl
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
    load_pem_private_key,
)

from quickcheck.errors import StoreError
from quickcheck.web.relay import MOST, context_of
from tests.web.doors import SOON, Echo, certified, echo

REQUEST = b"GET / HTTP/1.1\r\nHost: localhost\r\n"
EVIL = "evil.example"
HOSTILE = [
    {"X-Forwarded-Host": EVIL},
    {"X-Forwarded-Host": f"localhost, {EVIL}"},
    {"X-Forwarded-Proto": "https"},
    {"X-Forwarded-Proto": "javascript"},
    {"X-Forwarded-Proto": "https, http"},
    {"X-Forwarded-For": "10.9.8.7"},
    {"X-Forwarded-For": f"{EVIL}, 10.9.8.7"},
    {"X-Forwarded-Port": "666"},
    {"X-Forwarded-Prefix": "//evil.example"},
    {"X-Forwarded-By": EVIL},
    {"Forwarded": f"for=10.9.8.7;host={EVIL};proto=https"},
    {"Forwarded": f'host="{EVIL}"', "X-Forwarded-Host": EVIL, "X-Forwarded-Proto": "https"},
]


@pytest.fixture(scope="module", name="door")
def _door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Echo]:
    """Open a door with TLS, and the one on this machine."""
    with echo(tls=certified(tmp_path_factory.mktemp("tls"))) as found:
        yield found


def test_by_both_doors(door: Echo) -> None:
    """What comes by the door with TLS is told to be https, what comes by the other is not."""
    assert [door.ask(tls=tls)[1]["wsgi.url_scheme"] for tls in (True, False)] == ["https", "http"]


def test_large_both_ways(door: Echo) -> None:
    """A photo's worth of bytes comes through the relay whole."""
    status, told = door.ask(tls=True, body=b"x" * 12_000_000)
    assert (status, told["bytes"]) == (200, 12_000_000)


def test_kept_alive(door: Echo) -> None:
    """A phone may ask again over the same connection."""
    line = door.line(tls=True)
    for _ in range(3):
        line.request("GET", "/")
        assert line.getresponse().read().startswith(b"{")
    line.close()


@pytest.mark.parametrize(
    ("version", "is_taken"),
    [
        (ssl.TLSVersion.TLSv1_2, True),
        (ssl.TLSVersion.TLSv1_3, True),
        (ssl.TLSVersion.TLSv1_1, False),
    ],
)
@pytest.mark.filterwarnings("ignore:ssl.TLSVersion.TLSv1_1 is deprecated")
def test_versions(door: Echo, version: ssl.TLSVersion, is_taken: bool) -> None:
    """TLS 1.2 and 1.3 are spoken, and nothing older."""
    context = door.context()
    context.set_ciphers("ALL:@SECLEVEL=0")
    context.minimum_version = context.maximum_version = version
    with socket.create_connection(("127.0.0.1", door.tls_port), SOON) as raw:
        if is_taken:
            with context.wrap_socket(raw, server_hostname="localhost") as line:
                assert line.version() == version.name.replace("v1_", "v1.")
        else:
            with pytest.raises(ssl.SSLError):
                context.wrap_socket(raw, server_hostname="localhost")


def test_plain_at_the_door_with_tls(door: Echo) -> None:
    """Who speaks plain http there gets no page, and the next one is served."""
    with socket.create_connection(("127.0.0.1", door.tls_port), SOON) as line:
        line.sendall(REQUEST + b"\r\n")
        with suppress(ConnectionResetError):
            assert b"200" not in line.recv(1000)
    assert door.ask(tls=True)[0] == 200


def get(door: Echo, source: str) -> bool:
    """Whether a phone at this address gets its page soon."""
    with door.sealed(source) as line:
        line.sendall(REQUEST + b"Connection: close\r\n\r\n")
        return line.recv(100).startswith(b"HTTP/1.1 200")


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a machine has one 127.0.0.1")
def test_phones_are_not_this_machine(door: Echo) -> None:
    """What comes through the relay is told with the phone's own address, whatever it claims."""
    for source in ("127.0.0.7", "127.0.0.8"):
        with door.sealed(source) as line:
            line.sendall(REQUEST + b"X-Forwarded-For: 127.0.0.1\r\nConnection: close\r\n\r\n")
            told = b"".join(iter(lambda: line.recv(4000), b""))
        assert f'"REMOTE_ADDR": "{source}"'.encode() in told


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a machine has one 127.0.0.1")
def test_slow_phones_hold_up_nobody(door: Echo) -> None:
    """Ninety that never end their handshake, header or body, and 25 phones are served at once."""
    with ExitStack() as slow:
        for _ in range(30):
            silent = socket.create_connection(("127.0.0.1", door.tls_port), SOON, ("127.0.0.2", 0))
            slow.enter_context(silent)
            slow.enter_context(door.sealed("127.0.0.3")).sendall(REQUEST)
            begun = REQUEST + b"Content-Length: 100000\r\n\r\nx"
            slow.enter_context(door.sealed("127.0.0.4")).sendall(begun)
        phones = [f"127.0.1.{number}" for number in range(1, 26)]
        with ThreadPoolExecutor(25) as pool:
            assert all(pool.map(lambda phone: get(door, phone), phones))


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a machine has one 127.0.0.1")
def test_one_phone_can_not_take_all(door: Echo) -> None:
    """Of a phone that opens connection after connection the 41st is cut; others get theirs."""
    with ExitStack() as many:
        lines = [many.enter_context(door.sealed("127.0.0.5")) for _ in range(41)]
        lines[-1].settimeout(SOON)
        try:
            lines[-1].sendall(REQUEST + b"\r\n")
            assert lines[-1].recv(100) == b""
        except OSError:
            pass  # cut before it could even ask
        assert get(door, "127.0.0.6")
    assert MOST > 41


def test_gone_in_the_middle(door: Echo) -> None:
    """Phones that vanish while they send or read leave the door open."""
    for _ in range(5):
        line = door.sealed()
        line.sendall(REQUEST + b"Content-Length: 100000\r\n\r\n" + b"x" * 5000)
        line.close()
    assert door.ask(tls=True)[0] == 200


def test_no_pair(tmp_path: Path) -> None:
    """Two files that don't belong together, or a key with a password, are refused with words."""
    one, other = certified(tmp_path / "one"), certified(tmp_path / "other")
    with pytest.raises(StoreError, match="Name the two files that belong together"):
        context_of(one.certificate, other.private_key)
    with pytest.raises(StoreError, match="belong together"):
        context_of(one.private_key, one.private_key)
    key = load_pem_private_key(one.private_key.read_bytes(), None)
    locked = BestAvailableEncryption(b"a password")
    one.private_key.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, locked))
    with pytest.raises(StoreError, match="the key has a password"):
        context_of(one.certificate, one.private_key)


@pytest.mark.parametrize("headers", HOSTILE, ids=str)
def test_without_a_proxy_nothing_is_believed(door: Echo, headers: dict[str, str]) -> None:
    """Not one of the headers that proxies set changes anything, by any door."""
    for tls in (False, True):
        status, told = door.ask(headers, tls=tls)
        assert (status, told["REMOTE_ADDR"]) == (200, "127.0.0.1")
        assert told["wsgi.url_scheme"] == ("https" if tls else "http")


@pytest.fixture(scope="module", name="two_hops")
def _two_hops() -> Iterator[Echo]:
    with echo({"proxy": [2, "127.0.0.1"]}) as found:
        yield found


@pytest.mark.parametrize(
    ("headers", "address", "scheme"),
    [
        ({}, "127.0.0.1", "http"),
        ({"X-Forwarded-For": "192.0.2.7, 198.51.100.2"}, "192.0.2.7", "http"),
        ({"X-Forwarded-For": "10.9.8.7, 192.0.2.7, 198.51.100.2"}, "192.0.2.7", "http"),
        ({"X-Forwarded-Proto": "https"}, "127.0.0.1", "https"),
        ({"X-Forwarded-Host": EVIL, "X-Forwarded-Port": "666"}, "127.0.0.1", "http"),
        ({"Forwarded": f"for=10.9.8.7;host={EVIL};proto=https"}, "127.0.0.1", "http"),
    ],
)
def test_behind_two_proxies(
    two_hops: Echo, headers: dict[str, str], address: str, scheme: str
) -> None:
    """As many entries as were told are believed, from the right; of other headers none."""
    status, told = two_hops.ask({"Host": "cards.example", **headers})
    assert (status, told["REMOTE_ADDR"], told["wsgi.url_scheme"]) == (200, address, scheme)
    assert told["HTTP_HOST"] == "cards.example"


@pytest.mark.parametrize("proto", ["javascript", "https, http", "ftp"])
def test_a_scheme_that_is_none(two_hops: Echo, proto: str) -> None:
    """A proxy that passes nonsense on is told so."""
    assert two_hops.ask({"X-Forwarded-Proto": proto})[0] == 400


def test_proxy_elsewhere() -> None:
    """What does not come from the proxy's own address is believed as little as anybody's."""
    with echo({"proxy": [1, "192.0.2.1"]}) as door:
        _, told = door.ask({"X-Forwarded-Proto": "https", "X-Forwarded-For": "10.9.8.7"})
    assert (told["wsgi.url_scheme"], told["REMOTE_ADDR"]) == ("http", "127.0.0.1")


def test_plain_on_the_network() -> None:
    """A plain door to the network is one port more, and says http."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with echo({"lan": ["127.0.0.1", port]}) as door:
        other = Echo(port)
        assert other.ask()[1]["wsgi.url_scheme"] == door.ask()[1]["wsgi.url_scheme"] == "http"


def test_threads_end(tmp_path: Path) -> None:
    """A relay that can't have its port leaves no thread behind."""
    from quickcheck.web.relay import Relay  # noqa: PLC0415

    files = certified(tmp_path)
    context = context_of(files.certificate, files.private_key)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(OSError, match="in use"), Relay(taken.getsockname(), 1, context):
            pass
    assert "tls" not in [thread.name for thread in threading.enumerate()]
