"""Control arms, which must lose: a test of losses that can't see one proves nothing."""

import json
import socket
from collections import Counter
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from itertools import count
from threading import Thread
from uuid import uuid4

import pytest

from tests.faults import figures
from tests.faults.ledger import Kept, Ledger, hash_of
from tests.faults.phone import Phone
from tests.faults.proxy import PASS, Fault, Proxy

pytestmark = pytest.mark.browser


class Naive(BaseHTTPRequestHandler):
    """What is built without thinking of lost replies: each request makes a new row."""

    rows: list[dict[str, object]]

    def do_PUT(self) -> None:  # http.server asks for this name
        """Keep it as something new, and say so."""
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        self.rows.append(body["document"])
        said = {"uuid": self.path[-36:], "revision": 1, "sha256": body["sha256"]}
        content = json.dumps(said).encode()
        self.send_response(201)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(name="naive")
def _naive() -> Iterator[tuple[int, list[dict[str, object]]]]:
    rows: list[dict[str, object]] = []
    handler = type("Handler", (Naive,), {"rows": rows})
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_address[1], rows
        server.shutdown()


def test_naive_server_doubles(
    naive: tuple[int, list[dict[str, object]]], request: pytest.FixtureRequest
) -> None:
    """The phone, the network and the ledger find what a server does that makes a row a request."""
    port, rows = naive
    ledger, faults = Ledger(), figures.size(30, 300)
    with Proxy(port) as proxy:
        numbers = count()
        proxy.plan = lambda _: Fault("drop-reply") if next(numbers) % 2 == 0 else PASS
        phone = Phone(proxy.port, ledger)
        for _ in range(faults):
            one = phone.begin()
            assert [phone.send(one), phone.send(one)] == ["unreachable", "sent"]
    hashes = {line.sha256: line.inspection for line in ledger.lines}
    book: dict[str, Kept] = {
        one: Kept({1: digest}, Counter(hash_of(row) for row in rows if hash_of(row) == digest), {})
        for digest, one in hashes.items()
    }
    account = ledger.settle(book)
    text = figures.line("T5 control, naive server", faults, account, "as it must")
    print(text)
    figures.keep(request, text)
    assert account.lost == 0
    assert account.doubled == faults


def test_ledger_finds_a_loss() -> None:
    """A receipt of something that is nowhere, or is another text, counts as lost."""
    ledger, one, two = Ledger(), str(uuid4()), str(uuid4())
    ledger.note(one, "a", 1)
    ledger.note(two, "b", 1)
    ledger.note(two, "c")
    kept = {two: Kept({1: "x"}, Counter(["x"]), {})}
    assert ledger.settle(kept).lost == 3
    assert ledger.settle(kept, [{two: "c"}]).lost == 2


def test_dead_upstream_is_no_reply() -> None:
    """With nobody behind it the network gives nothing that a phone could take for a receipt."""
    with socket.socket() as unused:
        unused.bind(("127.0.0.1", 0))
        with Proxy(unused.getsockname()[1]) as proxy:
            phone = Phone(proxy.port, Ledger())
            assert phone.send(phone.begin()) == "unreachable"
