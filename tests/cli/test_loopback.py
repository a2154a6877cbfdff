"""A server that was only started is there for this machine, and for nobody else on the network."""

import socket
import sys
from pathlib import Path

import pytest

from tests.kit import Server, free_port, write_reference

pytestmark = pytest.mark.browser  # a server in a process of its own


def addresses() -> list[str]:
    """Return addresses of this machine at which a server for everybody would answer.

    The second of the loopback network stands for them: it is answered by whoever listens
    everywhere, and never by whoever listens at 127.0.0.1. Nothing is sent to the other one.
    """
    found = ["127.0.0.2"] if sys.platform == "linux" else []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # RFC 5737: nobody's
            found.append(asked.getsockname()[0])
        except OSError:
            pass  # off any network
    return [each for each in found if each not in ("127.0.0.1", "0.0.0.0")]  # noqa: S104


def answers(address: str, port: int) -> bool:
    """Whether somebody takes a connection there."""
    try:
        socket.create_connection((address, port), timeout=3).close()
    except OSError:
        return False
    return True


def test_a_default_start_is_for_this_machine(tmp_path: Path) -> None:
    """`serve` without options is reached at 127.0.0.1 and at no other address."""
    write_reference(tmp_path)
    with Server(tmp_path, command="serve") as server:
        assert server.get("/").status == 200
        assert answers("127.0.0.1", server.port)
        for address in addresses():
            assert not answers(address, server.port), address


def test_a_server_for_everybody_would_be_found() -> None:
    """The control: what listens everywhere is reached at the very addresses that are tried."""
    port = free_port()
    with socket.create_server(("0.0.0.0", port)):  # noqa: S104
        assert [each for each in addresses() if not answers(each, port)] == []
    assert not answers("127.0.0.1", port)
