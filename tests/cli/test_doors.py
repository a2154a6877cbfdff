"""The options of `serve` and `kiosk` that open a server to others."""

import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from quickcheck.cli import doors as options
from quickcheck.desk import Doors, Lan, Proxy
from quickcheck.errors import SetupError
from quickcheck.store import TlsFiles, open_store
from tests.cli.kit import printed_json, run
from tests.cli.test_serving import NotingServer

SECRET = ("horse copper lantern sleet", "480217")


class Noting(NotingServer):
    """Notes the doors alone."""

    doors: Doors

    def __call__(self, *_given: Any, doors: Doors, **more: Any) -> None:
        """Note them."""
        more["started"]()
        self.doors = doors


@pytest.fixture(name="secret")
def _secret(data: Path) -> None:
    with open_store(data / "book.sqlite3") as store:
        store.access.set_up(*SECRET, datetime.now(UTC))


def served(*words: str) -> tuple[Doors, str]:
    """Return the doors that `serve` opened, and what it said."""
    server = Noting()
    result = run("serve", *words, server=server)
    assert result.exit_code == 0, result.output
    return server.doors, result.output


@pytest.mark.parametrize(
    "words",
    [("--lan", "127.0.0.1", "--plain"), ("--proxy", "1", "--base-url", "https://cards.example")],
)
def test_without_a_secret(words: tuple[str, ...]) -> None:
    """Nothing is opened to others before there is an organizer's secret."""
    result = run("serve", *words, server=Noting())
    assert result.exit_code == SetupError.exit_code
    assert "quickcheck setup" in result.stderr
    assert result.stdout == ""


@pytest.mark.usefixtures("secret")
def test_plain() -> None:
    """A plain door says its address, and honestly what phones won't do there."""
    doors, said = served("--lan", "127.0.0.1", "--plain")
    assert doors.lan == Lan("127.0.0.1", 8080)
    assert "On phones: http://127.0.0.1:8080" in said
    assert "nothing works offline there" in said
    assert "no camera" in said


@pytest.mark.usefixtures("secret")
def test_tls(data: Path) -> None:
    """With certificates of our own no file has to be named; those named go before."""
    TlsFiles(data / "tls").make(["laptop.local"], datetime.now(UTC))
    doors, said = served("--lan", "127.0.0.1", "--lan-port", "9443")
    assert doors.lan
    assert doors.lan.tls
    assert doors.lan.tls.certificate == data / "tls" / "server.crt"
    assert "On phones: https://laptop.local:9443" in said
    other = TlsFiles(data / "other")
    other.make(["stand.local"], datetime.now(UTC))
    pair = ("--certificate", str(other.certificate), "--private-key", str(other.private_key))
    told = printed_json(run("serve", "--lan", "127.0.0.1", *pair, "--json", server=Noting()))
    assert told["phones"] == ["https://stand.local:8443"]
    assert told["codes"] == "https://stand.local:8443"


@pytest.mark.usefixtures("secret")
def test_tls_without_files() -> None:
    """Without any certificate it says where to get one, and what plain would mean."""
    result = run("serve", "--lan", "127.0.0.1", server=Noting())
    assert result.exit_code == SetupError.exit_code
    assert "quickcheck tls make NAME. Or take --plain" in result.stderr


@pytest.mark.usefixtures("secret")
@pytest.mark.parametrize(
    ("made", "says"), [(-400, "one that ended on"), (-390, "The certificate ends on"), (5, "clock")]
)
def test_time_of_certificates(data: Path, made: int, says: str) -> None:
    """One that is over, or not yet good, opens nothing; one that ends soon is told."""
    TlsFiles(data / "tls").make(["laptop.local"], datetime.now(UTC) + timedelta(days=made))
    result = run("serve", "--lan", "127.0.0.1", server=Noting())
    assert says in result.stderr
    assert result.exit_code == (0 if made == -390 else SetupError.exit_code)


@pytest.mark.usefixtures("secret")
def test_key_for_everybody(data: Path) -> None:
    """A key that others can read is told."""
    files = TlsFiles(data / "tls")
    files.make(["laptop.local"], datetime.now(UTC))
    files.private_key.chmod(0o644)
    assert "chmod 600" in served("--lan", "127.0.0.1")[1]


@pytest.mark.usefixtures("secret")
def test_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hops and the proxy's address come from options or the environment, and are repeated."""
    base = ("--base-url", "https://cards.example/")
    doors, said = served("--proxy", "2", *base)
    assert doors.proxy == Proxy(2)
    assert doors.home == "https://cards.example"
    assert doors.hosts == ("localhost", "127.0.0.1", "cards.example")
    assert "and nothing else" in said
    monkeypatch.setenv("QUICKCHECK_PROXY", "1")
    monkeypatch.setenv("QUICKCHECK_PROXY_AT", "172.17.0.1")
    assert served("--lan", "0.0.0.0", "--plain", *base)[0].proxy == Proxy(1, "172.17.0.1")  # noqa: S104


@pytest.mark.usefixtures("secret")
@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--plain",), "are for --lan"),
        (("--lan-port", "9000"), "are for --lan"),
        (("--lan", "127.0.0.1", "--certificate", __file__), "go together"),
        (
            ("--lan", "127.0.0.1", "--plain", "--certificate", __file__, "--private-key", __file__),
            "not both",
        ),
        (("--lan", "127.0.0.1", "--proxy", "1"), "needs --plain"),
        (("--proxy", "1"), "needs --base-url"),
        (("--proxy", "0"), "--proxy"),
        (("--lan", "laptop", "--plain"), "is no address"),
        (("--lan", "0.0.0.0", "--plain"), "not all of them"),  # noqa: S104
    ],
)
def test_options_that_do_not_go_together(words: tuple[str, ...], says: str) -> None:
    """They are refused as a fault of the command line, with what they need."""
    result = run("serve", *words, server=Noting())
    assert result.exit_code == 2
    assert says in result.stderr


@pytest.mark.usefixtures("secret")
def test_base_url_of_the_show() -> None:
    """What was set up is what codes lead to, unless another is named."""
    fair = ("--show", "Harbour Fair", "--opens", "2026-04-11", "--closes", "2026-04-12")
    run("setup", "--yes", *fair, "--base-url", "https://cards.example")
    assert served()[0].home == "https://cards.example"
    assert served("--base-url", "http://10.0.0.7")[0].home == "http://10.0.0.7"


@pytest.mark.parametrize(
    "url",
    [
        "cards.example",
        "ftp://cards.example",
        "https://",
        "https://cards.example/path",
        "https://me@cards.example",
        "https://cards.example?x",
        "https://cards.example#x",
        "https://cards.example:port",
        "https://cards .example",
        "https://[::1",
        "https://cards.example\\@evil.example",
        "",
    ],
)
def test_base_urls_that_are_none(url: str) -> None:
    """A base URL is scheme, name and maybe port, and nothing else."""
    if url:
        result = run("serve", "--base-url", url, server=Noting())
        assert result.exit_code == SetupError.exit_code
        assert "base URL" in result.stderr
    with pytest.raises(SetupError, match="base URL"):
        options.checked_base_url(url)


def test_own_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """The address is asked of the system without sending anything; off any network, words."""

    class Probe:
        """A socket that may not send."""

        def __init__(self, *kind: int) -> None:
            assert kind[1] == socket.SOCK_DGRAM

        def __enter__(self) -> "Probe":
            return self

        def __exit__(self, *error: object) -> None: ...

        def connect(self, _address: tuple[str, int]) -> None:
            """Choose a way there."""
            if not self.way:
                raise OSError("Network is unreachable")

        def getsockname(self) -> tuple[str, int]:
            """Say which of our addresses that way begins at."""
            return ("192.168.1.20", 4711)

        way = True

    monkeypatch.setattr(options.socket, "socket", Probe)
    assert options.own_address() == "192.168.1.20"
    Probe.way = False
    with pytest.raises(SetupError, match="Name the address of this machine"):
        options.own_address()


@pytest.mark.usefixtures("secret")
def test_lan_finds_its_address(monkeypatch: pytest.MonkeyPatch) -> None:
    """`--lan` without an address takes the one that this machine has."""
    monkeypatch.setattr(options, "own_address", lambda: "192.168.1.20")
    doors, said = served("--plain", "--lan")
    assert doors.lan == Lan("192.168.1.20", 8080)
    assert "Only whoever is on the show's own network" in said
