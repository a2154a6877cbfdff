"""The doors in a process of their own, and clients to knock at them."""

import http.client
import json
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from quickcheck.store import TlsFiles
from tests.kit import free_port

SOON = 8.0  # seconds: less than the relay lets anybody take for a handshake


@dataclass(frozen=True)
class Echo:
    """A running echo server; the doors that it has not are 0."""

    port: int
    tls_port: int = 0
    files: TlsFiles | None = None

    def context(self) -> ssl.SSLContext:
        """Return what a phone that trusts the authority has."""
        assert self.files
        return ssl.create_default_context(cafile=str(self.files.authority))

    def sealed(self, source: str = "127.0.0.1") -> ssl.SSLSocket:
        """Return a connection to the door with TLS, from an address of this machine."""
        raw = socket.create_connection(("127.0.0.1", self.tls_port), SOON, (source, 0))
        return self.context().wrap_socket(raw, server_hostname="localhost")

    def line(self, *, tls: bool = False) -> http.client.HTTPConnection:
        """Return a line to one of the doors."""
        if tls:
            port = self.tls_port
            return http.client.HTTPSConnection(
                "localhost", port, timeout=60, context=self.context()
            )
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)

    def ask(
        self, headers: Mapping[str, str] | None = None, *, tls: bool = False, body: bytes = b""
    ) -> tuple[int, Any]:
        """Send one request; return its status, and what the server was told."""
        line = self.line(tls=tls)
        try:
            line.request("POST" if body else "GET", "/", body or None, dict(headers or {}))
            got = line.getresponse()
            text = got.read()
            told = json.loads(text) if got.headers.get_content_subtype() == "json" else text
            return got.status, told
        finally:
            line.close()


@contextmanager
def echo(said: Mapping[str, Any] | None = None, *, tls: TlsFiles | None = None) -> Iterator[Echo]:
    """Run an echo server with the doors of ``said``, and one with TLS where there are files."""
    port, tls_port = free_port(), free_port() if tls else 0
    given = {"port": port, **(said or {})}
    if tls:
        given["lan"] = ["127.0.0.1", tls_port, str(tls.certificate), str(tls.private_key)]
    words = [sys.executable, "-m", "tests.web.echo_server", json.dumps(given)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout
            assert process.stdout.readline() == "open\n"
            yield Echo(port, tls_port, tls)
        finally:
            process.terminate()


def certified(folder: Path, *names: str) -> TlsFiles:
    """Return a certificate for these names, or for localhost, in a folder."""
    files = TlsFiles(folder)
    files.make(names or ("localhost", "127.0.0.1"), datetime.now(UTC))
    return files
