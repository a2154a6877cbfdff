"""What a device has a receipt for outlives a server that is killed, cut short or sent half a body."""

import http.client
import json
import random
import socket
import threading
import time
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from quickcheck.reference import read_reference_text
from quickcheck.store import open_store
from tests import kit
from tests.kit import Server, write_reference
from tests.web.sending import OUTBOX, message

pytestmark = pytest.mark.browser
EDITION = read_reference_text(kit.REFERENCE).hash


def serve(folder: Path) -> Server:
    """Return a server with the small reference, not yet started."""
    write_reference(folder)
    return Server(folder, command="serve")


def put(server: Server, inspection: object, body: dict[str, Any]) -> dict[str, Any]:
    """Send a message and return the receipt."""
    connection = http.client.HTTPConnection("localhost", server.port, timeout=20)
    headers = {**OUTBOX, "Origin": server.url, "Content-Type": "application/json"}
    try:
        path = f"/api/inspections/{inspection}"
        connection.request("PUT", path, json.dumps(body), headers)
        told: dict[str, Any] = json.loads(connection.getresponse().read())
    finally:
        connection.close()
    return told


def write_until_it_dies(server: Server, receipts: list[tuple[object, int, str]]) -> None:
    """Open inspections and go on with each until the server is gone; note every receipt."""
    try:
        while True:
            inspection, base = uuid4(), 0
            for n in range(3):
                told = put(server, inspection, message(kit.document(n=n), EDITION, base=base))
                receipts.append((inspection, told["revision"], told["sha256"]))
                base = told["revision"]
    except (OSError, http.client.HTTPException, ValueError):
        return


@pytest.mark.parametrize("round_", range(3))
def test_killed_while_four_devices_send(tmp_path: Path, round_: int) -> None:
    """After kill -9 every receipt is in the book, once; what had none can be sent again."""
    server = serve(tmp_path).start()
    receipts: list[tuple[object, int, str]] = []
    threads = [
        threading.Thread(target=write_until_it_dies, args=(server, receipts)) for _ in range(4)
    ]
    try:
        for thread in threads:
            thread.start()
        time.sleep(random.Random(round_).uniform(0.5, 1.0))
    finally:
        server.kill()
    for thread in threads:
        thread.join()
    assert receipts
    with open_store(tmp_path / "book.sqlite3") as store:
        for inspection, revision, sha256 in receipts:
            kept = [(e.number, e.sha256) for e in store.book.history(inspection)]  # type: ignore[arg-type]
            assert kept.count((revision, sha256)) == 1
        assert store.check() == ()
        assert store.health()["late"] == 0
    with server:
        inspection, revision, _ = receipts[-1]
        again = message(kit.document(n=revision - 1), EDITION, base=revision - 1)
        assert put(server, inspection, again)["revision"] == revision


def test_half_a_body(tmp_path: Path) -> None:
    """A connection that breaks off in the middle of a body leaves nothing, and no worker stuck."""
    body = json.dumps(message(kit.document(), EDITION)).encode()
    inspection = uuid4()
    lines = [
        f"PUT /api/inspections/{inspection} HTTP/1.1",
        "Host: localhost",
        "Content-Type: application/json",
        f"Content-Length: {len(body)}",
        *(f"{name}: {value}" for name, value in OUTBOX.items()),
    ]
    head = "\r\n".join([*lines, "", ""]).encode()
    with serve(tmp_path) as server:
        for at in (0, 1, len(body) // 2, len(body) - 1):
            with socket.create_connection(("localhost", server.port), timeout=10) as half:
                half.sendall(head + body[:at])
        assert server.get(f"/api/inspections/{inspection}").status == 404
        assert put(server, inspection, json.loads(body))["revision"] == 1
