"""The program calls nobody: not while it serves, whatever is asked, and not by any library it imports."""

import ast
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Never

import pytest

import quickcheck
from quickcheck.reference import Reference
from quickcheck.store import Role
from tests.postgres import ON_POSTGRESQL
from tests.web.showing import Show, showing
from tests.web.test_who_may_see import asked, rules

PACKAGE = Path(quickcheck.__file__).resolve().parent
CLIENTS = {
    *("http.client", "urllib.request", "urllib3", "requests", "httpx", "aiohttp", "websockets"),
    *("ftplib", "smtplib", "poplib", "imaplib", "telnetlib", "xmlrpc", "webbrowser", "paramiko"),
    *("socket", "asyncio", "ssl", "socketserver"),
}
ALLOWED = {
    ("cli/keeping_open.py", "http.client"): "asks the kiosk's own browser on this machine",
    ("cli/kiosk.py", "socket"): "looks for a port on this machine",
    ("cli/doors.py", "socket"): "asks the system for this machine's address; nothing is sent",
    ("web/serving.py", "socket"): "listens",
    ("web/relay.py", "asyncio"): "listens, and goes on to this very machine",
    ("web/relay.py", "ssl"): "ends TLS",
}
"""What touches the network at all, and what for."""


@pytest.fixture(name="show")
def _show(tmp_path: Path, reference: Reference) -> Iterator[Show]:
    with showing(tmp_path, reference) as show:
        yield show


def imported() -> set[tuple[str, str]]:
    """Return which module of ours imports which of CLIENTS."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if not any(name.partition(".")[0] in text for name in CLIENTS):
            continue  # most: the rest is looked at word by word
        for node in ast.walk(ast.parse(text)):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or "", *(f"{node.module}.{each.name}" for each in node.names)]
            inside = path.relative_to(PACKAGE).as_posix()
            found |= {(inside, name) for name in names if name in CLIENTS}
    return found


def test_who_touches_the_network() -> None:
    """Six modules do, each to listen or to speak with this very machine; no other library of the kind."""
    assert imported() == set(ALLOWED)


@pytest.mark.skipif(ON_POSTGRESQL, reason="there the book itself is at the other end of a socket")
def test_no_request_makes_a_connection(show: Show, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every route, asked as the organizer and as nobody, by every method: no name is looked up."""
    tried: list[Any] = []

    def refuse(*given: Any, **_: Any) -> Never:
        tried.append(given)
        raise OSError("no network in this test")

    show.let_in("spare", Role.DEALER, show.books["B"])
    for name in ("connect", "connect_ex", "sendto", "bind"):
        monkeypatch.setattr(socket.socket, name, refuse)
    for name in ("getaddrinfo", "gethostbyname", "create_connection", "getfqdn"):
        monkeypatch.setattr(socket, name, refuse)
    with pytest.raises(OSError, match="no network"):
        socket.create_connection(("evil.example", 80))
    tried.clear()
    show.unlock("organizer")
    for rule, method in rules(show):
        for who in ("organizer", "nobody"):
            assert asked(show, who, rule, method, show.inspection).status_code < 500
    assert tried == []
